"""The smelt: sources held in the charge until the pour, castings and samples after."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from tests.goldroom import story
from tests.goldroom.room import codes, noticed, reading
from tests.goldroom.story import before, crossings, in_vessel, item, upto

SOURCE = story.values("charge")["sources"][0]


def test_sources_stay_held_by_the_smelt_in_the_charge():
    state = upto("charge")
    source, charge = item(state, "CON-1"), item(state, "CHG-1")
    assert (source.status, source.step, source.held_until) == ("in_charge", "smelt", "")
    assert source.used_by == story.entry_of("charge")
    assert (charge.step, charge.parents, charge.crossings) == ("", ("CON-1",), 0)
    assert in_vessel(state, "F1") == ("CON-1", "CHG-1")
    assert in_vessel(state, "D2") == ()


def test_dry_weighing_is_a_new_mass_of_the_source():
    newest = latest_mass(upto("charge"), "CON-1")
    assert newest is not None
    assert (newest.version, newest.dry_g) == (2, Decimal("11400.000"))
    assert newest.moisture_percent is None


def test_middlings_charged_cross_from_the_table_to_the_smelt():
    state = before("charge")
    story.add_item(state, "MID-7", "middlings", step="table")
    story.tell(state, "charge", sources=[SOURCE, {"item": "MID-7"}])
    assert crossings(state, "MID-7") == [("table", "smelt", "smelt")]
    assert item(state, "MID-7").step == "smelt"


def test_a_charge_of_gravity_and_other_metal_is_mixed():
    state = before("charge")
    story.add_item(state, "SLU-1", "sludge", step="smelt")
    state.put(replace(item(state, "SLU-1"), source="other"))
    story.tell(state, "charge", sources=[SOURCE, {"item": "SLU-1"}])
    assert item(state, "CHG-1").source == "mixed"


@pytest.mark.parametrize(
    ("dry_kg", "code"),
    [
        pytest.param("11.2", None, id="a drop within 3 %"),
        pytest.param("11.1", "item_lost_mass", id="a drop over 3 %"),
        pytest.param("11.9", "item_gained_mass", id="a gain over 3 %"),
    ],
)
def test_dry_mass_that_changed_is_noticed(dry_kg: str, code: str | None):
    state = before("charge")
    source = {"item": "CON-1", "dry_gross": reading(dry_kg, "kg", "PS1")}
    story.tell(state, "charge", sources=[source])
    assert codes(state) == ([code] if code else [])


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"charge": "CON-1"}, "item_id_used", id="id of a source"),
        pytest.param({"furnace": "T1"}, "wrong_sort", id="a table for a furnace"),
        pytest.param({"opened": None}, "vessel_sealed", id="drum not opened"),
        pytest.param({"sources": [{"item": "CON-9"}]}, "unknown_item", id="unknown"),
        pytest.param({"sources": [{"item": "LOT-1"}]}, "item_consumed", id="used up"),
        pytest.param({"sources": [{"item": "TAILS-1"}]}, "item_not_held", id="left"),
        pytest.param({"sources": [SOURCE, SOURCE]}, "bad_field", id="listed twice"),
        pytest.param(
            {"sources": [{"item": "CON-1", "dry_tare": reading("1.0", "kg", "PS1")}]},
            "bad_field",
            id="a tare without gross",
        ),
        pytest.param(
            {"fluxes": [{"flux": "borax", "mass_kg": "-1"}]}, "bad_field", id="flux < 0"
        ),
    ],
)
def test_charge_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("charge"), "charge", changed) == code


def test_a_source_already_in_a_charge_is_refused():
    state = upto("charge")
    changed = {"charge": "CHG-2", "opened": None}
    assert story.refused(state, "charge", changed) == "item_consumed"


def test_a_bar_is_not_charged_by_this_kind():
    state = upto("numbered")
    story.add_item(state, "CON-2", "concentrate", step="smelt")
    changed = {"charge": "CHG-2", "opened": None, "sources": [{"item": "BAR-1"}]}
    assert story.refused(state, "charge", changed) == "wrong_sort"


def test_the_pour_uses_up_the_sources_and_makes_castings_slag_and_samples():
    state = upto("pour")
    assert item(state, "CON-1").status == "consumed"
    assert item(state, "CON-1").held_until == "2026-10-06T07:00:00Z"
    assert item(state, "CHG-1").status == "consumed"
    assert item(state, "CHG-1").children == ("BAR-1", "BAR-2", "SLAG-1", "DIP-1")
    made = [item(state, name) for name in item(state, "CHG-1").children]
    assert [each.sort for each in made] == ["bar", "bar", "slag", "sample"]
    assert {(each.step, each.status, each.place) for each in made} == {
        ("smelt", "held", "gold_room")
    }
    assert crossings(state, "BAR-1") == [("smelt", "smelt", "smelt")]
    assert item(state, "BAR-2").label == "casting 2 of CHG-1"
    sample = latest_mass(state, "DIP-1")
    assert sample is not None
    assert sample.net_g == Decimal("12.400")
    assert in_vessel(state, "F1") == ()
    assert noticed(state) == []


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"charge": "CHG-9"}, "unknown_item", id="a charge nobody made up"),
        pytest.param({"charge": "CON-1"}, "wrong_sort", id="a source for a charge"),
        pytest.param({"place": "moon"}, "unknown_place", id="no such place"),
        pytest.param({"slag": "BAR-1"}, "item_id_used", id="slag with a bar's id"),
        pytest.param({"skull": "CON-1"}, "item_id_used", id="skull with a used id"),
        pytest.param(
            {"temperature_c": "2400"}, "bad_field", id="hotter than a furnace"
        ),
        pytest.param({"castings": []}, "bad_field", id="nothing cast"),
    ],
)
def test_pour_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("pour"), "pour", changed) == code


def test_a_charge_is_poured_once():
    state = upto("pour")
    assert story.refused(state, "pour", {}) == "item_consumed"


def test_charge_and_pour_read_aloud():
    state = before("charge")
    made_up = story.tell(state, "charge").sentence()
    assert made_up == (
        "Charge CHG-1 was made up from CON-1 (11.4 kg dry gross) with 4.5 kg of borax"
        " and 1.0 kg of silica, for furnace F1 in crucible K7 (used 3 times before)."
        " D2 was opened: S-0004 on lid (no tamper signs)."
    )
    assert story.tell(state, "pour").sentence() == (
        "Charge CHG-1 was poured at 1220 °C: BAR-1 into mould M1 and BAR-2 into mould"
        " M2, in this order, with slag SLAG-1 and dip sample DIP-1 of 12.4 g. They"
        " cool in gold_room."
    )
