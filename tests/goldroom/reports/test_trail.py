"""An item's way back to its flushes and forward to its melt, hand by hand."""

import dataclasses
import re

import pytest
from django.db import connection

from goldroom.errors import UnknownItem
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import SeveralBars, Trail, TrailItem, trail
from goldroom.reports.trail_words import text_of
from tests import front_door
from tests.goldroom import small_mine


def text(ledger_id: int, item: str) -> str:
    return text_of(trail(ledger_id, item), site_clock(ledger_id))


def by_id(found: Trail) -> dict[str, TrailItem]:
    return {each.item: each for each in (*found.back, found.item, *found.forward)}


def test_bar_leads_back_to_every_flush_and_forward_to_its_melt(told):
    found = trail(told, "BAR-1")
    assert sorted(found.flushes) == sorted(small_mine.FLUSHES)
    assert found.melts == ("MELT-1",)
    assert [each.item for each in found.back if each.sort != "flush"] == [
        "LD-1",
        "LD-2",
        "LOT-1",
        "CON-1",
        "CH-1",
    ]
    assert [each.shipment for each in found.shipments] == ["SHP-1"]


def test_bar_is_found_by_its_stamped_number(told):
    assert trail(told, "KR-0102").item.item == "BAR-2"


def test_number_stamped_on_two_bars_is_refused_with_both(told):
    run = "UPDATE goldroom_row SET value = replace(value, 'KR-0102', 'KR-0101')"
    with connection.cursor() as cursor:
        cursor.execute(f"{run} WHERE record = 'item' AND key = 'BAR-2'")
    with pytest.raises(SeveralBars, match=r"BAR-1 to 2\. Name one"):
        trail(told, "KR-0101")


@pytest.mark.parametrize("item", ["%", "_", "", '"', "casting 1 of CH-1", "\N{BELL}"])
def test_odd_text_is_an_unknown_item(told, item):
    with pytest.raises(UnknownItem):
        trail(told, item)


def test_unknown_item_is_refused_with_advice(told):
    with pytest.raises(UnknownItem, match="Check the label"):
        trail(told, "BAR-9")


def test_every_stay_names_place_seals_hands_and_entry(told):
    found = by_id(trail(told, "BAR-1"))
    stays = [
        (stay.act, stay.place, stay.vessel, stay.seals) for stay in found["BAR-1"].stays
    ]
    assert stays[0] == ("Charge poured", "gold_room", "", ())
    assert ("Placed in the vault", "vault", "S1", ("S-0008",)) in stays
    assert ("Handed over", "vault", "B1", ("S-0009",)) in stays
    for each in found.values():
        assert each.stays, each.item
        for stay in each.stays:
            assert stay.hands
            assert stay.entry
            assert stay.seq is not None
            assert stay.place or stay.act == "Handed over"


def test_load_stays_under_the_hoppers_seals_until_it_is_emptied(told):
    load = by_id(trail(told, "LD-1"))["LD-1"]
    first, *_, last = load.stays
    assert (first.vessel, first.seals) == ("H1", ("S-0001", "S-0002"))
    assert last.act == "Hopper emptied"


def test_hands_are_all_who_signed_on_the_way(told):
    assert trail(told, "BAR-1").hands == ("p-amara", "p-leith", "p-sefu")


def test_flush_leads_forward_to_everything_its_metal_may_be_in(told):
    found = trail(told, "U2-1-22")
    assert found.back == ()
    assert {each.item for each in found.forward if each.is_direct} == {
        "LD-1", "LOT-1", "CON-1", "MID-1", "TLS-1", "CH-1",
        "BAR-1", "BAR-2", "SLG-1", "DIP-1", "MELT-1",
    }  # fmt: skip


def test_opening_stock_is_no_source_of_a_bar_it_never_joined(told):
    assert "SLG-0" not in by_id(trail(told, "BAR-1"))
    assert trail(told, "SLG-0").back == ()


def test_text_says_many_flushes_as_ranges_and_all_names(told):
    said = text(told, "BAR-1")
    assert "It comes from U1-1-11 to 18, U2-1-21 to 24 (12 flushes)." in said
    assert "U1-1-11 to 14, U2-1-21 to 24 (8 flushes): used up" in said
    assert "U1-1-15 to 18 (4 flushes): used up" in said
    assert "Bar BAR-1 (KR-0101): used up" in said
    assert "Amara Venn, Leith Orban and Sefu Marlow" in said
    assert "Safe S1, Vault, sealed S-0008" in said
    assert "Melt MELT-1" in said
    assert "  gravity: gold 100" in said
    assert max(len(line) for line in said.splitlines()) < 200


def test_text_claims_no_share_and_no_identity_before_the_pour(told):
    said = text(told, "LD-1")
    assert "keeps its identity" not in said
    assert "shares are not known" in said
    assert not re.search(r"\d %? ?of (?:the|its|it)\b", said)


def test_times_are_the_sites_wall_clock(told):
    said = text(told, "BAR-1")
    assert "2026-10-05 09:00  Charge poured" in said
    assert "Times are the site's (Africa/Johannesburg)." in said


def test_trail_as_json_holds_figures_as_text(told):
    plain = trail(told, "BAR-1").to_json()
    assert plain["melts"] == ["MELT-1"]
    assert plain["item"]["mass"]["net_g"] == "120.700"
    assert len(plain["flushes"]) == 12

    def floats(value):
        if isinstance(value, dict):
            return any(floats(each) for each in value.values())
        if isinstance(value, list):
            return any(floats(each) for each in value)
        return isinstance(value, float)

    assert not floats(plain)


def item(name: str, sort: str, *, parents: tuple[str, ...] = (), **more) -> TrailItem:
    plain = {
        "item": name, "label": "", "sort": sort, "status": "consumed",
        "source": "gravity", "is_direct": True, "parents": parents, "children": (),
        "made_at": "2026-10-01T04:00:00Z", "made_by": "e", "used_by": "", "stays": (),
        "mass": None, "assays": (), "estimate": None,
    }  # fmt: skip
    return TrailItem(**{**plain, **more})


def test_flushes_behind_a_return_are_told_apart_from_the_direct_ones(told):
    found = trail(told, "BAR-1")
    middlings = item("MID-0", "middlings", parents=("LOT-0",))
    behind = (
        item("U1-1-9", "flush", is_direct=False),
        item("LOT-0", "lot", parents=("U1-1-9",), is_direct=False),
    )
    mixed = dataclasses.replace(found, back=(*behind, middlings, *found.back))
    assert mixed.flushes_behind_returns == ("U1-1-9",)
    assert "U1-1-9" not in mixed.flushes
    said = text_of(mixed, site_clock(told))
    assert (
        "Also from what went round again: 1 middlings MID-0."
        " Behind them: U1-1-9 (1 flush)." in said
    )


def test_bars_mass_is_the_shipping_mass_though_an_older_one_was_put_right(fresh_db):
    room = front_door.told()
    numbered = next(each for each in room.said if each.kind == "bar.numbered")
    opened = [{"vessel": "S1", "seals_removed": [front_door.off("door", "S-0006")]}]
    room.say(
        "bar.reweighed",
        {"item": "BAR-1", "opened": opened, "first": front_door.g("167.6", "BU1")},
        at="2026-03-08T09:00:00+02:00",
    )
    mended = {**numbered.data, "first": front_door.g("167.9", "BU1")}
    room.say(
        "record.corrected",
        {"entry": numbered.entry_id, "mode": "figures", "kind": numbered.kind,
         "values": mended, "reason": "the display was misread"},
        (("p-lima", "laboratory"), ("p-okoro", "manager")),
        corrects=numbered.entry_id,
    )  # fmt: skip
    mass = trail(room.ledger_id, "BAR-1").item.mass
    assert str(mass.net_g.normalize()) == "167.6"
