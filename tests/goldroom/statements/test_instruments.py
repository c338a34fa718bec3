"""Instruments: registered, calibrated, checked, moved; blocked and free again."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from goldroom.custody.records import Instrument
from goldroom.statements.instruments import (
    InstrumentCalibrated,
    InstrumentCheckWeighed,
    InstrumentMoved,
    InstrumentRegistered,
)
from goldroom.statements.limits import LimitSet
from tests.goldroom.room import codes, noticed, reading, refused, room, say

SCALE = {
    "instrument": "PS2",
    "name": "Platform scale 2",
    "sort": "platform_scale",
    "place": "gold_room",
    "unit": "kg",
    "interval": "0.1",
    "capacity": "600",
}
OVEN = {
    "instrument": "OV2",
    "name": "Oven 2",
    "sort": "oven",
    "place": "gold_room",
}
CALIBRATION = {
    "instrument": "BU1",
    "calibration": "BU1-c2",
    "due": "2027-04-01",
    "certificate": "2026-118, an accredited laboratory",
    "reading_u_g": "0.15",
    "slope_u_relative": "0.00002",
    "place": "gold_room",
}
TABLE = Path(__file__).parents[3] / "fixtures" / "metal" / "oiml_r111_1_table1.csv"


def test_a_scale_is_registered_without_calibration():
    state = room()
    said = say(state, InstrumentRegistered, SCALE)
    scale = state.get(Instrument, "PS2")
    assert (scale.unit, scale.interval, scale.calibrations, scale.blocked) == (
        "kg",
        Decimal("0.1"),
        (),
        "",
    )
    assert said.sentence() == (
        "Platform scale 2 was registered as platform scale PS2 in gold_room, reading to"
        " 600 kg in steps of 0.1 kg."
    )


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("a scale", SCALE, None),
        ("an oven", OVEN, None),
        ("an id in use", {**SCALE, "instrument": "PS1"}, "already_registered"),
        ("an unknown place", {**SCALE, "place": "moon"}, "unknown_place"),
        ("a scale without its unit", {**SCALE, "unit": None}, "bad_field"),
        ("a scale without its step", {**SCALE, "interval": None}, "bad_field"),
        ("an oven that weighs", {**OVEN, "unit": "g"}, "bad_field"),
        ("a bare ounce", {**SCALE, "unit": "oz"}, "bad_field"),
    ],
)
def test_instrument_is_registered_or_refused(situation, values, code):
    assert refused(room(), InstrumentRegistered, values) == code, situation


def test_a_calibration_is_in_force_from_when_it_was_done():
    state = room()
    said = say(state, InstrumentCalibrated, CALIBRATION, at="2026-10-05T08:00:00+02:00")
    newest = state.get(Instrument, "BU1").calibrations[-1]
    assert newest.calibration_id == "BU1-c2"
    assert newest.from_at == "2026-10-05T06:00:00Z"
    assert newest.due_at == "2027-04-01T23:59:59Z"
    assert said.sentence() == (
        "BU1 was calibrated in gold_room (BU1-c2, certificate 2026-118, an accredited"
        " laboratory): a reading is good to 0.15 g and the slope to 0.00002 g/g, one"
        " standard uncertainty; due 2027-04-01."
    )


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("in order", {}, None),
        ("unknown instrument", {"instrument": "BU9"}, "unknown_instrument"),
        ("unknown place", {"place": "moon"}, "unknown_place"),
        ("a calibration id twice", {"calibration": "BU1-c1"}, "already_registered"),
        ("due before it was done", {"due": "2026-01-01"}, "bad_field"),
        ("a slope of a half", {"slope_u_relative": "0.5"}, "bad_field"),
    ],
)
def test_calibration_is_taken_or_refused(situation, change, code):
    values = {**CALIBRATION, **change}
    assert refused(room(), InstrumentCalibrated, values) == code, situation


def check(digits: str, instrument: str = "BU1", unit: str = "g", **more):
    return {"reading": reading(digits, unit, instrument), "weight": "CW-7", **more}


M1_20KG = {"nominal_g": "20000", "weight_class": "M1"}


@pytest.mark.source("OIML R 111-1:2004 Table 1, M1 at 20 kg: 1000 mg")
def test_a_check_weight_may_differ_by_its_class_and_one_division():
    """The weight may be 1 g off by its class, and the display one step of 0.1 g."""
    with TABLE.open(encoding="utf-8") as table:
        rows = [row for row in csv.reader(table) if row and not row[0].startswith("#")]
    limits = dict(zip(rows[0], next(r for r in rows if r[0] == "20000"), strict=True))
    allowed_mg = next(value for name, value in limits.items() if name.startswith("M1"))
    edge = Decimal(20000) + Decimal(allowed_mg) / 1000 + Decimal("0.1")
    at_edge = room()
    say(at_edge, InstrumentCheckWeighed, check(f"{edge:.1f}", **M1_20KG))
    assert codes(at_edge) == []
    beyond = room()
    one_more = f"{edge + Decimal('0.1'):.1f}"
    say(beyond, InstrumentCheckWeighed, check(one_more, **M1_20KG))
    assert codes(beyond) == ["check_weight_outside_limit"]


def test_a_failed_check_blocks_the_instrument_and_a_pass_frees_it():
    state = room()
    said = say(state, InstrumentCheckWeighed, check("19997.5", **M1_20KG))
    finding = noticed(state)[0]
    assert (finding.item, finding.level) == ("BU1", "exception")
    assert finding.found == "19997.5 g for 20000 g"
    assert finding.expected == "within 1.100 g"
    assert "-2.5 g" in state.get(Instrument, "BU1").blocked
    assert said.sentence() == (
        "Check weight CW-7 (20000 g, class M1) on BU1 read 19997.5 g."
    )
    say(state, InstrumentCheckWeighed, check("20000.1", **M1_20KG))
    assert state.get(Instrument, "BU1").blocked == ""


def test_a_certified_weight_leaves_only_the_display():
    state = room()
    said = say(state, InstrumentCheckWeighed, check("10000.4", certified_g="10000.32"))
    assert codes(state) == []
    assert "certified 10000.32 g" in said.sentence()
    say(state, InstrumentCheckWeighed, check("10000.5", certified_g="10000.32"))
    assert codes(state) == ["check_weight_outside_limit"]


def test_hopper_cells_are_let_pass_by_their_own_limit():
    """0.5 % of 500 kg is 2.5 kg: common practice, no source."""
    for digits, expected in (("502.5", []), ("503.0", ["check_weight_outside_limit"])):
        state = room()
        values = check(digits, "LC1", "kg", certified_g="500000")
        say(state, InstrumentCheckWeighed, values)
        assert codes(state) == expected


def test_the_site_may_set_the_limit():
    state = room()
    limit = {
        "limit": "check_weight_intervals",
        "value": "3",
        "unit": "intervals",
        "reason": "draughts in the dry season",
    }
    say(state, LimitSet, limit)
    say(state, InstrumentCheckWeighed, check("10000.3", certified_g="10000.0"))
    assert codes(state) == []


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("a nominal mass with its class", check("20000.0", **M1_20KG), None),
        ("a certified mass", check("20000.0", certified_g="20000"), None),
        ("neither", check("20000.0"), "bad_field"),
        ("both", check("20000.0", certified_g="20000", **M1_20KG), "bad_field"),
        ("a nominal mass alone", check("20000.0", nominal_g="20000"), "bad_field"),
        (
            "a class alone, beside a certificate",
            check("20000.0", certified_g="20000", weight_class="M1"),
            "bad_field",
        ),
        (
            "a nominal mass no table has",
            check("3000.0", nominal_g="3000", weight_class="M1"),
            "unknown_nominal_mass",
        ),
        (
            "more digits than the display",
            check("20000.05", **M1_20KG),
            "more_digits_than_instrument",
        ),
        ("another unit", check("20.0", unit="kg", **M1_20KG), "wrong_unit"),
        ("an oven", check("20.0", "OV1", **M1_20KG), "wrong_sort"),
        ("an unknown instrument", check("20.0", "XX", **M1_20KG), "unknown_instrument"),
    ],
)
def test_check_weighing_is_taken_or_refused(situation, values, code):
    assert refused(room(), InstrumentCheckWeighed, values) == code, situation


def test_an_instrument_moves_and_its_calibrations_keep_their_place():
    state = room()
    values = {"instrument": "BB1", "place": "lab", "reason": "new bench"}
    said = say(state, InstrumentMoved, values)
    balance = state.get(Instrument, "BB1")
    assert (balance.place, balance.calibrations[0].place) == ("lab", "gold_room")
    assert said.sentence() == "BB1 was moved to lab: new bench."


@pytest.mark.parametrize(
    ("situation", "instrument", "place", "code"),
    [
        ("to another place", "BB1", "lab", None),
        ("to where it stands", "BB1", "gold_room", "not_in_this_state"),
        ("to an unknown place", "BB1", "moon", "unknown_place"),
        ("an unknown instrument", "BB9", "lab", "unknown_instrument"),
    ],
)
def test_move_is_taken_or_refused(situation, instrument, place, code):
    values = {"instrument": instrument, "place": place, "reason": "works"}
    assert refused(room(), InstrumentMoved, values) == code, situation
