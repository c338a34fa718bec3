"""A trail's shares: where a bar's gold and silver came from, and how sure that is."""

import json
from typing import Any

import pytest
from django.core.management import call_command

from goldroom import commands
from goldroom.reports import origins
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import trail
from goldroom.reports.trail_words import text_of
from tests.goldroom import small_mine
from tests.goldroom.room import PAIR, removed
from tests.goldroom.room import reading as read_off
from tests.goldroom.small_mine import KEYS, saying

ESTIMATE = {
    "gold_g": "43", "gold_u_g": "6", "silver_g": "5", "silver_u_g": "2",
    "method": "from the last three strips",
}  # fmt: skip


def say(ledger_id: int, name: str, at: str, kind: str, **values: Any) -> None:
    commands.say(ledger_id, saying(name, at, kind, PAIR, **values), KEYS)


def receive(ledger_id: int, item: str, **more: Any) -> None:
    """Say that metal was received from elsewhere."""
    values: dict[str, Any] = {
        "item": item, "origin": "elution_sludge", "from_where": "the elution cell",
        "handed_over_name": "Pell Draven", "goes_to": "smelt", "place": "gold_room",
        "gross": read_off("212.4", "g", "BB1"), "condition": "dry", **more,
    }  # fmt: skip
    say(ledger_id, f"receive/{item}", "10-13 08:00", "other_metal.received", **values)


def pour(ledger_id: int, charge: str, at: str, bar: str, number: str, *sources: str):
    """Say a charge of these, its pour, and the numbering and assay of its bar."""
    opened = [{"vessel": "D2", "seals_removed": [removed("lid", "S-0007")]}]
    more = {"opened": opened} if "MID-1" in sources else {}
    say(ledger_id, charge, f"{at} 07:00", "charge.made_up", charge=charge,
        furnace="F1", crucible="K7", crucible_uses=4,
        sources=[{"item": each} for each in sources], **more)  # fmt: skip
    say(ledger_id, f"pour/{charge}", f"{at} 09:00", "charge.poured", charge=charge,
        place="gold_room", castings=[{"item": bar, "mould": "M1"}])  # fmt: skip
    commands.say(
        ledger_id, small_mine._numbered(bar, number, f"{at} 13:00", "80.0"), KEYS
    )
    result = small_mine.assayed(
        f"bars-{bar}", f"{at} 16:00", ([bar], "permille", "800.0", "110")
    )
    commands.say(ledger_id, result, KEYS)


def mixed(ledger_id: int) -> None:
    """Say a pour of opening slag, estimated elution sludge and middlings."""
    receive(ledger_id, "OM-3", estimate=ESTIMATE)
    pour(ledger_id, "CH-2", "10-14", "BAR-3", "KR-0103", "SLG-0", "OM-3", "MID-1")


def text(ledger_id: int, item: str) -> str:
    return text_of(trail(ledger_id, item), site_clock(ledger_id))


def percent(ledger_id: int, item: str) -> dict[str, float]:
    return {
        each.item: float(each.gold.percent)
        for each in trail(ledger_id, item).sources.each
        if each.gold is not None
    }


@pytest.mark.source("shares by hand: 14, 43 and 7.04 of 64.04 g of gold")
def test_every_origin_of_a_mixed_bar_has_its_share(told):
    mixed(told)
    sources = trail(told, "KR-0103").sources
    found = {each.group: each for each in sources.groups}
    assert float(found["opening stock"].gold.percent) == pytest.approx(
        100 * 14 / 64.04, abs=1e-5
    )
    assert float(found["other metal"].gold.percent) == pytest.approx(
        100 * 43 / 64.04, abs=1e-5
    )
    assert float(found["gravity"].gold.percent) == pytest.approx(
        100 * 7.04 / 64.04, abs=1e-5
    )
    assert [each.item for each in sources.each] == ["LD-1", "LD-2", "OM-3", "SLG-0"]
    assert sum(percent(told, "BAR-3").values()) == pytest.approx(100, abs=1e-5)


@pytest.mark.source("mass balance and identity preserved: terms of ISO 22095:2020")
def test_the_text_names_every_source_with_its_share_and_claims_no_more(told):
    mixed(told)
    said = text(told, "BAR-3")
    assert "Its metal by measured inputs, ± one standard uncertainty:" in said
    # by hand: u of 43, 14 and 7.04 g are 6, 4 and about 1.6 g; of the sludge's share
    # sqrt((0.329 x 6)^2 + (0.671 x 4)^2 + (0.671 x 1.6)^2) / 64.04
    assert "  gravity: gold 11.0 % ± 2.5 %, silver " in said
    assert ": 2 loads LD-1 to 2" in said
    assert "  other metal: OM-3, elution sludge: gold 67.1 % ± 5.4 %, silver " in said
    assert "  opening stock: SLG-0, slag: gold 21.9 % ± 5.3 %, silver " in said
    assert (
        "From the pour on this metal keeps its identity. Before the pour it was mixed:"
        " shares are by measured inputs (a site's mass balance, in the terms of ISO"
        " 22095), not by any mark on the metal." in said
    )


def test_the_command_prints_the_shares_as_text_and_as_figures(told, capsys):
    mixed(told)
    call_command("trail", "KR-0103")
    assert "OM-3, elution sludge: gold 67.1 % ± 5.4 %" in capsys.readouterr().out
    call_command("trail", "KR-0103", "--json")
    plain = json.loads(capsys.readouterr().out)
    (other,) = [each for each in plain["sources"]["each"] if each["item"] == "OM-3"]
    assert other["group"] == "other metal"
    assert other["what"] == "elution sludge"
    assert other["origins"] == ["OM-3"]
    assert other["gold"]["percent"] == "67.145534"
    assert plain["sources"]["provisional"] == []


def test_a_bar_melted_again_is_followed_through_to_its_first_sources(told):
    mixed(told)
    say(told, "CH-3", "10-15 07:00", "remelt.charged", charge="CH-3", furnace="F1",
        crucible="K8", crucible_uses=0, reason="not_homogeneous",
        bars=[{"item": "BAR-3", "stamped": "KR-0103"}])  # fmt: skip
    say(told, "pour/CH-3", "10-15 09:00", "charge.poured", charge="CH-3",
        place="gold_room", castings=[{"item": "BAR-4", "mould": "M1"}])  # fmt: skip
    assert trail(told, "BAR-4").sources == trail(told, "BAR-3").sources
    assert len(trail(told, "BAR-4").sources.each) == 4


def test_what_nobody_sampled_cannot_be_told_apart_and_the_trail_says_so(told):
    receive(told, "OM-4", origin="trap")
    pour(told, "CH-2", "10-14", "BAR-3", "KR-0103", "SLG-0", "OM-4")
    said = text(told, "BAR-3")
    assert "  cannot be told apart: CH-2, charge made of OM-4, SLG-0: gold 100" in said
    assert "(nobody measured other OM-4)" in said


def test_a_figure_still_to_come_is_read_off_the_whole_record(told):
    """The first sludge was assayed, so the second is taken for one like it."""
    receive(told, "OM-3", estimate=ESTIMATE)
    receive(told, "OM-4", sample="E-41", gross=read_off("424.8", "g", "BB1"))
    pour(told, "CH-2", "10-14", "BAR-3", "KR-0103", "SLG-0", "OM-4")
    sources = trail(told, "BAR-3").sources
    assert sources.provisional == ("OM-4",)
    # twice the first sludge's mass, so 86 g beside the slag's 14 g
    assert percent(told, "BAR-3")["OM-4"] == pytest.approx(86, abs=1e-5)
    assert "(resting on figures still to come: OM-4)" in text(told, "BAR-3")


def test_gravity_metal_that_came_round_the_hopper_is_a_group_of_its_own(told):
    receive(told, "OM-5", origin="gravity_circuit_cleanout", estimate=ESTIMATE)
    pour(told, "CH-2", "10-14", "BAR-3", "KR-0103", "SLG-0", "OM-5")
    groups = [each.group for each in trail(told, "BAR-3").sources.groups]
    assert groups == ["gravity, round the hopper", "opening stock"]


def test_sweepings_share_the_sources_of_the_pour_that_lost_them(told):
    mixed(told)
    say(told, "swept", "10-15 08:00", "sweepings.collected", item="SW-1",
        what="floor_sweepings", charges=["CH-2"], place="gold_room",
        gross=read_off("40.1", "g", "BB1"), estimate=ESTIMATE)  # fmt: skip
    assert percent(told, "SW-1") == percent(told, "BAR-3")


def test_an_origin_itself_has_no_shares(told):
    for name in ("LD-1", "SLG-0", "U1-1-11"):
        assert trail(told, name).sources == origins.NO_SOURCES
    assert "their shares are not known" in text(told, "LD-1")


def test_shares_are_those_of_the_whole_record_read_near_or_far(told, monkeypatch):
    mixed(told)
    near = trail(told, "BAR-3").sources
    monkeypatch.setattr(origins, "_is_known_alone", lambda *_: False)
    assert trail(told, "BAR-3").sources == near


def test_a_share_too_small_to_show_is_said_in_words():
    tiny = origins.Percent(
        percent="0.000004", u_percent="0.000001", shown="0.000", u_shown="0"
    )
    assert str(tiny) == "less than 0.001 %"
