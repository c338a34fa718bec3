"""Dried, calcined, retorted: what heat drove off is not metal, and never missing."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.driven_off import DrivenOff
from goldroom.custody.figures import latest_mass
from goldroom.custody.state import State
from goldroom.statements.drying import (
    MaterialCalcined,
    MaterialDried,
    MaterialRetorted,
)
from goldroom.statements.limits import LimitSet
from goldroom.statements.smelt import ChargeMadeUp
from tests.goldroom import cell_story as story
from tests.goldroom import story as lot_story
from tests.goldroom.cell_story import before, upto
from tests.goldroom.room import codes, noticed, reading, refused, removed, say
from tests.goldroom.story import add_item, crossings, in_vessel, item, last_stay

GUARDS = (("p-sefu", "security"), ("p-ines", "metallurgist"))
LATER = "2026-10-09T18:00:00+02:00"
RETORTED: dict[str, Any] = {
    "item": "SLU-1",
    "calcine": "CAL-1",
    "gross": reading("5500.0", "g", "BB1"),
    "vessel": "TR1",
    "start_c": "80",
    "end_c": "620",
    "retort": "RT1",
    "condenser_checked": True,
    "mercury": reading("540.0", "g", "BB1"),
}
CHARGED: dict[str, Any] = {
    "charge": "CHG-1",
    "furnace": "F1",
    "crucible": "K7",
    "crucible_uses": 0,
    "sources": [{"item": "SLU-1"}],
}


def driven(state: State, entry: str) -> DrivenOff:
    found = state.get(DrivenOff, f"{entry}/001")
    assert found is not None
    return found


def mass_of(state: State, name: str) -> tuple[str, Decimal]:
    found = latest_mass(state, name)
    assert found is not None
    return found.wanted_for, found.dry_g


# --- dried -------------------------------------------------------------------


def test_dried_sludge_keeps_its_id_and_gets_a_dry_mass():
    state = upto("dried")
    assert mass_of(state, "SLU-1") == ("sludge", Decimal("4000.000"))
    assert item(state, "SLU-1").status == "held"
    assert in_vessel(state, "TR1") == ("SLU-1",)
    assert last_stay(state, "SLU-1").act == "material.dried"


def test_what_was_driven_off_is_kept_and_never_read_as_metal_missing():
    state = upto("anodes_dried")
    assert driven(state, story.entry_of("dried")).driven_off_g == Decimal("3500")
    by_hand = driven(state, story.entry_of("anodes_dried"))
    assert (by_hand.before_g, by_hand.driven_off_g) == (Decimal(2400), Decimal(1400))
    assert (by_hand.mercury_g, by_hand.becomes) == (None, "")
    assert codes(state) == []


def test_concentrate_dried_is_weighed_beside_the_tables_figure():
    state = lot_story.upto("table")
    said = {
        "item": "CON-1", "gross": reading("29.6", "kg", "PS1"), "vessel": "D2",
        "start_c": "105", "end_c": "110", "oven": "OV1",
        "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
    }  # fmt: skip
    say(state, MaterialDried, said, at=LATER)
    assert mass_of(state, "CON-1") == ("dried", Decimal("11400.000"))
    assert codes(state) == []


@pytest.mark.parametrize(
    ("gross_kg", "found"),
    [
        pytest.param("29.4", [], id="within 3 % of what its moisture said"),
        pytest.param("29.3", ["dry_mass_differs"], id="more than 3 % less"),
        pytest.param("30.1", ["dry_mass_differs"], id="more than 3 % more"),
    ],
)
def test_a_dry_mass_that_its_moisture_did_not_say_is_noticed(gross_kg, found):
    """12.5 kg wet at 8.0 % moisture: 11.5 kg dry was reckoned with."""
    state = lot_story.upto("table")
    say(
        state,
        MaterialDried,
        {
            "item": "CON-1", "gross": reading(gross_kg, "kg", "PS1"), "vessel": "D2",
            "start_c": "105", "end_c": "110", "oven": "OV1",
            "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
        },
        at=LATER,
    )  # fmt: skip
    assert codes(state) == found


def test_the_sites_own_limit_judges_a_dry_mass():
    state = lot_story.upto("table")
    limit = {"limit": "transfer_dry_drop_percent", "value": "10", "unit": "%",
             "reason": "damp season"}  # fmt: skip
    say(state, LimitSet, limit, at=LATER, people=GUARDS)
    said = {
        "item": "CON-1", "gross": reading("29.2", "kg", "PS1"), "vessel": "D2",
        "start_c": "105", "end_c": "110", "oven": "OV1",
        "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
    }  # fmt: skip
    say(state, MaterialDried, said, at=LATER)
    assert codes(state) == []


@pytest.mark.parametrize(
    ("grams", "found"),
    [
        pytest.param("6100.0", [], id="as dry as before"),
        pytest.param("6050.0", [], id="drier"),
        pytest.param("6100.1", ["item_gained_mass"], id="heavier than before"),
    ],
)
def test_dried_twice_with_more_mass_is_noticed(grams: str, found: list[str]):
    state = upto("dried")
    again = story.values("dried", gross=reading(grams, "g", "BB1"))
    say(state, MaterialDried, again, at=LATER)
    assert codes(state) == found
    assert mass_of(state, "SLU-1")[1] == Decimal(grams) - 2100


DRIED = story.values("dried")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"item": "SLU-9"}, "unknown_item", id="unknown"),
        pytest.param({"item": "SOL-3"}, "wrong_sort", id="a solution"),
        pytest.param({"item": "CL-1"}, "wrong_sort", id="a load"),
        pytest.param({"oven": "BB1"}, "wrong_sort", id="a balance for an oven"),
        pytest.param({"oven": "OV9"}, "unknown_instrument", id="no such oven"),
        pytest.param({"vessel": "RT1"}, "tare_missing", id="no known tare"),
        pytest.param({"vessel": "H1"}, "vessel_sealed", id="into a sealed vessel"),
        pytest.param(
            {"gross": reading("9.7", "kg", "PS1")},
            "dry_heavier_than_wet",
            id="dry heavier than the wet mass on record",
        ),
        pytest.param(
            {"wet_gross": reading("6099.9", "g", "BB1")},
            "dry_heavier_than_wet",
            id="dry heavier than wet as said",
        ),
        pytest.param(
            {"wet_tare": reading("2100.0", "g", "BB1")}, "bad_field", id="tare alone"
        ),
        pytest.param({"end_c": "1600"}, "bad_field", id="hotter than any oven"),
    ],
)
def test_drying_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("dried"), "dried", changed) == code


def test_what_was_poured_is_not_dried_again():
    assert story.refused(upto("calcined"), "dried", {}) == "item_consumed"


def test_drying_reads_aloud():
    state = before("dried")
    assert story.tell(state, "dried").sentence() == (
        "SLU-1 was dried in OV1 from 110 to 180 °C: 6100.0 g gross after, in TR1."
        " What went is water, not metal."
    )
    assert story.tell(state, "anodes_dried").sentence() == (
        "SLU-2 was dried in OV1 from 110 to 180 °C: 4400.0 g gross before and 3000.0 g"
        " gross after, in TR2. What went is water, not metal."
    )


# --- calcined ----------------------------------------------------------------


def test_a_calcine_takes_the_place_of_what_it_was_made_from():
    state = upto("calcined")
    calcine = item(state, "CAL-1")
    assert item(state, "SLU-1").status == "consumed"
    assert (calcine.sort, calcine.step, calcine.source) == ("calcine", "smelt", "mixed")
    assert calcine.parents == ("SLU-1",)
    assert crossings(state, "CAL-1") == [("smelt", "smelt", "smelt")]
    assert in_vessel(state, "TR1") == ("CAL-1",)
    assert mass_of(state, "CAL-1") == ("calcine", Decimal("3600.000"))
    off = driven(state, story.entry_of("calcined"))
    assert (off.becomes, off.before_g, off.after_g) == ("CAL-1", None, Decimal(3600))
    assert codes(state) == []


def test_wet_sludge_may_be_calcined_at_once():
    state = upto("closed")
    said = story.tell(state, "calcined", wet_gross=reading("9.6", "kg", "PS1"))
    assert isinstance(said, MaterialCalcined)
    off = driven(state, story.entry_of("calcined"))
    assert off.driven_off_g == Decimal(3900)
    assert codes(state) == []


def test_a_calcine_heavier_than_what_it_was_made_from_is_noticed():
    state = before("calcined")
    story.tell(state, "calcined", gross=reading("6100.1", "g", "BB1"))
    (found,) = noticed(state)
    assert (found.code, found.item) == ("item_gained_mass", "CAL-1")
    assert found.expected == "at most 4000.000 g, as before"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"furnace": "OV1"}, None, id="in an oven"),
        pytest.param({"furnace": "TR1"}, "wrong_sort", id="a tray for a furnace"),
        pytest.param({"furnace": "BB1"}, "wrong_sort", id="a balance for a furnace"),
        pytest.param({"furnace": "F9"}, "unknown_instrument", id="no such furnace"),
        pytest.param({"item": "SOL-2"}, "wrong_sort", id="a solution"),
        pytest.param({"item": "CL-2"}, "wrong_sort", id="a load"),
        pytest.param({"calcine": "SLU-2"}, "item_id_used", id="a used id"),
        pytest.param({"driven_off": None}, "bad_field", id="no word of what went"),
    ],
)
def test_calcining_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("calcined"), "calcined", changed) == code


def test_calcining_reads_aloud():
    assert story.tell(before("calcined"), "calcined").sentence() == (
        "SLU-1 was calcined in F1 from 200 to 650 °C and is calcine CAL-1: 5700.0 g"
        " gross after, in TR1. What went: water and sulphur, not metal."
    )


# --- retorted ----------------------------------------------------------------


def test_mercury_recovered_is_a_mass_of_its_own_and_no_item():
    state = upto("dried")
    wet = {**RETORTED, "wet_gross": reading("6100.0", "g", "BB1")}
    said = say(state, MaterialRetorted, wet, at=LATER, entry="entry-retort")
    off = driven(state, "entry-retort")
    assert (off.mercury_g, off.driven_off_g) == (Decimal("540.0"), Decimal("600.0"))
    assert item(state, "CAL-1").sort == "calcine"
    assert mass_of(state, "CAL-1") == ("calcine", Decimal("3400.000"))
    assert codes(state) == []
    assert said.sentence() == (
        "SLU-1 was retorted in RT1 (condenser checked) from 80 to 620 °C and is"
        " calcine CAL-1: 6100.0 g gross before and 5500.0 g gross after, in TR1; 540.0"
        " g of mercury recovered."
    )


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        pytest.param({"mercury": reading("600.0", "g", "BB1")}, [], id="all that went"),
        pytest.param(
            {"mercury": reading("600.1", "g", "BB1")},
            ["mercury_over_driven_off"],
            id="more than went",
        ),
        pytest.param(
            {"condenser_checked": False}, ["condenser_not_checked"], id="condenser"
        ),
    ],
)
def test_retorting_is_noticed(changed: dict[str, Any], found: list[str]):
    state = upto("dried")
    wet = {**RETORTED, "wet_gross": reading("6100.0", "g", "BB1"), **changed}
    say(state, MaterialRetorted, wet, at=LATER)
    assert codes(state) == found


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"retort": "TR2"}, "wrong_sort", id="a tray for a retort"),
        pytest.param({"retort": "RT9"}, "unknown_vessel", id="no such retort"),
        pytest.param({"calcine": "SLU-2"}, "item_id_used", id="a used id"),
        pytest.param({"item": "SOL-3"}, "wrong_sort", id="a solution"),
        pytest.param(
            {"wet_gross": reading("5499.9", "g", "BB1")},
            "dry_heavier_than_wet",
            id="heavier after",
        ),
        pytest.param(
            {"mercury": reading("540.05", "g", "BB1")},
            "more_digits_than_instrument",
            id="mercury to a digit no balance showed",
        ),
        pytest.param({"mercury": None}, "bad_field", id="mercury not weighed"),
    ],
)
def test_retorting_is_refused(changed: dict[str, Any], code: str | None):
    said = {n: v for n, v in {**RETORTED, **changed}.items() if v is not None}
    assert refused(upto("dried"), MaterialRetorted, said, at=LATER) == code


def test_a_condenser_nobody_checked_reads_aloud():
    state = upto("dried")
    unchecked = {**RETORTED, "condenser_checked": False}
    said = say(state, MaterialRetorted, unchecked, at=LATER)
    assert "retorted in RT1 (condenser not checked)" in said.sentence()


# --- into a charge -----------------------------------------------------------


@pytest.mark.source("HSE, molten metals safety alerts: no water under molten metal")
@pytest.mark.parametrize(
    ("stage", "source", "code"),
    [
        pytest.param("closed", {"item": "SLU-1"}, "not_dried", id="weighed wet only"),
        pytest.param("dried", {"item": "SLU-1"}, None, id="dried"),
        pytest.param("dried", {"item": "SLU-2"}, "not_dried", id="another, still wet"),
        pytest.param(
            "closed",
            {"item": "SLU-1", "dry_gross": reading("4000.0", "g", "BB1")},
            None,
            id="weighed dry for the charge",
        ),
        pytest.param("calcined", {"item": "CAL-1"}, None, id="calcined"),
    ],
)
def test_wet_sludge_is_not_charged(stage: str, source: Any, code: str | None):
    state = upto(stage)
    said = {**CHARGED, "sources": [source]}
    assert refused(state, ChargeMadeUp, said, at="2026-10-10T16:00:00+02:00") == code
    assert codes(state) == []


@pytest.mark.parametrize(
    "sort", ["solution", "cell_load", "leach_batch", "residue", "load", "flush"]
)
def test_what_is_never_charged_is_refused(sort: str):
    state = upto("dried")
    add_item(state, "X-1", sort, step="leach")
    said = {**CHARGED, "sources": [{"item": "X-1"}]}
    assert refused(state, ChargeMadeUp, said, at=LATER) == "wrong_sort"


def test_sludge_dried_and_weighed_again_for_its_charge_shows_a_drop():
    state = upto("dried")
    source = {"item": "SLU-1", "dry_gross": reading("3879.0", "g", "BB1")}
    say(state, ChargeMadeUp, {**CHARGED, "sources": [source]}, at=LATER)
    assert codes(state) == ["item_lost_mass"]
