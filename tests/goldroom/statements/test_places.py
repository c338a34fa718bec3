"""Places, vessels and concentrators come into the register, or are refused."""

from decimal import Decimal

import pytest

from goldroom.custody.records import Concentrator, Place, Vessel
from goldroom.statements.places import (
    ConcentratorRegistered,
    PlaceRegistered,
    VesselRegistered,
)
from tests.goldroom.room import refused, room, say

PLACE = {"place": "store", "name": "Store", "sort": "store"}
HOPPER = {
    "vessel": "H2",
    "name": "Hopper 2",
    "sort": "hopper",
    "place": "hopper_bay",
    "tare_kg": "640",
    "points": ["lid", "drain"],
    "load_cells": "LC1",
    "marks": [{"mark": "M1", "volume_m3": "1.1"}],
    "solids_density_kg_m3": "4100",
}
DRUM = {"vessel": "D9", "name": "Drum 9", "sort": "drum", "place": "gold_room"}
FLUSHING = {
    "unit": "U9",
    "name": "Concentrator 9",
    "sort": "semi_continuous",
    "hopper": "H1",
    "counter_epoch": 1,
    "minimum_cycle_min": 20,
    "usual_flush_kg_min": "15",
    "usual_flush_kg_max": "60",
}
STREAMING = {
    "unit": "U9",
    "name": "Concentrator 9",
    "sort": "continuous",
    "counter_epoch": 1,
    "minimum_cycle_min": 0,
    "stage": "rougher",
    "feeds": "U1",
}


def test_a_place_is_registered_once():
    state = room()
    said = say(state, PlaceRegistered, PLACE)
    assert state.get(Place, "store") == Place(
        place_id="store", name="Store", sort="store"
    )
    assert said.sentence() == "Store was registered as place store (store)."
    assert refused(state, PlaceRegistered, PLACE) == "already_registered"


def test_a_hopper_is_registered_empty_with_bare_points():
    state = room()
    said = say(state, VesselRegistered, HOPPER)
    hopper = state.get(Vessel, "H2")
    assert hopper.is_open
    assert [(each.point, each.seal) for each in hopper.points] == [
        ("lid", ""),
        ("drain", ""),
    ]
    assert hopper.marks[0].volume_m3 == Decimal("1.1")
    assert (hopper.contents, hopper.last_level) == ((), None)
    assert said.sentence() == (
        "Hopper 2 was registered as hopper H2 in hopper_bay, sealed at lid, drain, on"
        " load cells LC1, mark M1 at 1.1 m3."
    )


def test_a_vessel_without_seal_points_never_counts_as_open():
    state = room()
    say(state, VesselRegistered, DRUM)
    assert not state.get(Vessel, "D9").is_open


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("a hopper with cells", HOPPER, None),
        ("a plain drum", DRUM, None),
        (
            "a hopper without cells",
            {key: HOPPER[key] for key in ("vessel", "name", "sort", "place", "marks")},
            None,
        ),
        ("an id in use", {**DRUM, "vessel": "D1"}, "already_registered"),
        ("an unknown place", {**DRUM, "place": "moon"}, "unknown_place"),
        ("a hopper without marks", {**HOPPER, "marks": None}, "bad_field"),
        (
            "cells nobody registered",
            {**HOPPER, "load_cells": "LC9"},
            "unknown_instrument",
        ),
        ("a platform scale for cells", {**HOPPER, "load_cells": "PS1"}, "wrong_sort"),
        ("cells without the tare", {**HOPPER, "tare_kg": None}, "bad_field"),
        (
            "cells without the density",
            {**HOPPER, "solids_density_kg_m3": None},
            "bad_field",
        ),
        (
            "solids lighter than water",
            {**HOPPER, "solids_density_kg_m3": "900"},
            "bad_field",
        ),
        ("a drum on load cells", {**DRUM, "load_cells": "LC1"}, "bad_field"),
        ("a drum with marks", {**DRUM, "marks": HOPPER["marks"]}, "bad_field"),
    ],
)
def test_vessel_is_registered_or_refused(situation, values, code):
    assert refused(room(), VesselRegistered, values) == code, situation


def test_a_unit_is_registered_with_nothing_counted():
    state = room()
    said = say(state, ConcentratorRegistered, FLUSHING)
    unit = state.get(Concentrator, "U9")
    assert (unit.hopper, unit.last_flush, unit.last_cycle) == ("H1", 0, 0)
    assert said.sentence() == (
        "Concentrator 9 was registered as semi-continuous unit U9, flushing into H1; a"
        " cycle takes at least 20 minutes."
    )


def test_a_continuous_unit_names_its_stage_and_what_it_feeds():
    state = room()
    said = say(state, ConcentratorRegistered, STREAMING)
    unit = state.get(Concentrator, "U9")
    assert (unit.stage, unit.feeds, unit.hopper) == ("rougher", "U1", "")
    assert said.sentence() == (
        "Concentrator 9 was registered as continuous rougher U9; it feeds U1 and is"
        " metered, not sealed."
    )


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("flushing into a hopper", FLUSHING, None),
        ("feeding another unit", STREAMING, None),
        ("feeding a place", {**STREAMING, "feeds": "mill"}, None),
        ("an id in use", {**FLUSHING, "unit": "U1"}, "already_registered"),
        ("flushing into nothing", {**FLUSHING, "hopper": None}, "bad_field"),
        ("flushing into a drum", {**FLUSHING, "hopper": "D1"}, "wrong_sort"),
        ("flushing into the unknown", {**FLUSHING, "hopper": "H7"}, "unknown_vessel"),
        ("flushing with a stage", {**FLUSHING, "stage": "rougher"}, "bad_field"),
        ("continuous without a stage", {**STREAMING, "stage": None}, "bad_field"),
        ("continuous feeding nothing", {**STREAMING, "feeds": None}, "bad_field"),
        ("continuous into a hopper", {**STREAMING, "hopper": "H1"}, "bad_field"),
        ("feeding the unknown", {**STREAMING, "feeds": "moon"}, "unknown_place"),
        ("a sort that does not exist", {**FLUSHING, "sort": "batch"}, "bad_field"),
    ],
)
def test_unit_is_registered_or_refused(situation, values, code):
    assert refused(room(), ConcentratorRegistered, values) == code, situation


def test_sort_of_a_vessel_reads_aloud_in_words():
    vessel = VesselRegistered(
        vessel="LV1", name="Leach vessel", sort="leach_vessel", place="room"
    )
    assert vessel.sentence().startswith("Leach vessel was registered as leach vessel L")
