"""A hopper emptied: loads become a lot, a heel stays, the next load rises from there.

Two loads of 210 kg dry lie in H1. The lot weighs 500 kg wet at 16 % moisture, which is
420 kg dry.
"""

from decimal import Decimal

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import (
    Crossing,
    Estimate,
    Flush,
    Item,
    Seal,
    Stay,
    Vessel,
)
from goldroom.statements.emptying import HopperEmptied
from goldroom.statements.hopper import HopperOpened, HopperWeighed
from goldroom.statements.record import RecordCorrected
from goldroom.statements.seals import SealFitted
from tests.goldroom.room import codes, fitted, noticed, reading, refused, removed, say
from tests.goldroom.room import room as empty_room
from tests.goldroom.statements.test_hopper import OTHERS, load, sheet, two_loads

EMPTIED = {
    "hopper": "H1",
    "lot": "lot-1",
    "seals_removed": [removed("drain", "S-0002")],
    "into": "D1",
    "gross": reading("518.5", "kg", "PS1"),
    "moisture": {"percent": "16", "oven": "OV1"},
    "lot_seals": [fitted("lid", "S-0011")],
    "seals_fitted": [fitted("drain", "S-0012")],
}
HEEL = {
    "item": "heel-1",
    "dry_kg": "8",
    "dry_u_kg": "2",
    "gold_g": "90",
    "gold_u_g": "30",
    "silver_g": "11",
    "silver_u_g": "4",
    "method": "looked at, a tenth of a load",
}
AFTER = {"mark": "M1", "gross": reading("1856.0", "kg", "LC1")}


def emptied(**more):
    return {**EMPTIED, **more}


def without(*names: str):
    return {name: value for name, value in EMPTIED.items() if name not in names}


def test_all_loads_become_the_lot_and_are_used_up():
    state = two_loads()
    said = say(state, HopperEmptied, EMPTIED, entry="entry-E1")
    lot = state.get(Item, "lot-1")
    assert (lot.parents, lot.step, lot.place) == (("L1", "L2"), "table", "gold_room")
    crossing = state.get(Crossing, "lot-1/1")
    assert (crossing.from_step, crossing.to_step) == ("hopper", "table")
    item = state.get(Item, "L1")
    assert (item.status, item.used_by, item.held_until, item.children) == (
        "consumed",
        "entry-E1",
        "2026-10-05T04:10:00Z",
        ("lot-1",),
    )
    hopper = state.get(Vessel, "H1")
    assert (hopper.contents, hopper.last_level, hopper.is_open) == ((), None, False)
    assert hopper.points[1].seal == "S-0012"
    assert state.get(Vessel, "D1").contents == ("lot-1",)
    assert state.get(Seal, "S-0002").status == "removed"
    assert state.get(Stay, "lot-1/0001").seals == ("S-0011",)
    assert codes(state) == []
    assert said.sentence() == (
        "Hopper H1 was emptied into D1 as lot lot-1; seals taken off: S-0002 on drain"
        " (no tamper signs). The lot weighed 518.5 kg gross (tare as registered), at 16"
        " % moisture, sealed S-0011 on lid. The hopper was sealed, S-0012 on drain."
    )


def test_the_lots_own_mass_is_net_of_tare_and_dry():
    state = two_loads()
    say(state, HopperEmptied, EMPTIED, entry="entry-E1")
    mass = latest_mass(state, "lot-1")
    assert (mass.net_g, mass.dry_g, mass.wanted_for) == (500_000, 420_000, "lot")
    assert (mass.moisture_percent, mass.moisture_id, mass.oven) == (
        Decimal(16),
        "entry-E1.moisture",
        "OV1",
    )


def test_a_tare_read_at_the_time_counts_before_the_registered_one():
    state = two_loads()
    said = say(state, HopperEmptied, emptied(tare=reading("18.3", "kg", "PS1")))
    assert latest_mass(state, "lot-1").net_g == 500_200
    assert "18.3 kg tare" in said.sentence()


@pytest.mark.parametrize(
    ("situation", "percent", "expected"),
    [
        ("all there", "16", []),
        ("2.4 % less: let pass", "18", []),
        ("4.8 % less", "20", ["item_lost_mass"]),
    ],
)
def test_dry_mass_that_does_not_come_out_is_noticed(situation, percent, expected):
    state = two_loads()
    moisture = {"percent": percent, "oven": "OV1"}
    say(state, HopperEmptied, emptied(moisture=moisture))
    assert codes(state) == expected, situation
    if expected:
        assert noticed(state)[0].item == "lot-1"


def test_a_heel_stays_held_by_the_hopper_with_its_estimate():
    state = two_loads()
    said = say(state, HopperEmptied, emptied(heel=HEEL))
    heel = state.get(Item, "heel-1")
    assert (heel.sort, heel.step, heel.status) == ("heel", "hopper", "held")
    crossing = state.get(Crossing, "heel-1/1")
    assert (crossing.from_step, crossing.to_step) == ("hopper", "hopper")
    estimate = state.get(Estimate, "heel-1/001")
    assert (estimate.gold_g, estimate.gold_u_g) == (90, 30)
    assert state.get(Vessel, "H1").contents == ("heel-1",)
    assert "A heel heel-1 of about 8 kg was left, 90 g of gold by looked at" in (
        said.sentence()
    )


def test_the_next_load_leaves_the_estimated_heel_out():
    """210 kg of solids in the hopper, 8 kg of which are the heel."""
    state = two_loads()
    say(state, HopperEmptied, emptied(heel=HEEL), entry="entry-E1")
    say(state, HopperWeighed, load("L3", "2010.0"))
    mass = latest_mass(state, "L3")
    assert mass.dry_g == 202_000
    heel = next(each for each in mass.terms if each.reading_id == "entry-E1.heel.H1")
    assert (heel.coefficient, heel.reading_u_g) == (-1, 2_000)


def test_the_next_load_rises_from_the_hopper_read_after():
    state = two_loads()
    said = say(
        state, HopperEmptied, emptied(heel=HEEL, level_after=AFTER), entry="entry-E1"
    )
    say(state, HopperWeighed, load("L3", "2016.0"))
    mass = latest_mass(state, "L3")
    assert mass.dry_g == 210_000
    assert mass.terms[1].reading_id == "entry-E1.level_after.gross"
    assert said.sentence().endswith("Afterwards it read 1856.0 kg gross at mark M1.")


def test_heel_and_loads_all_become_the_next_lot():
    state = two_loads()
    say(state, HopperEmptied, emptied(heel=HEEL))
    sheet(state, 9, 12)
    say(state, HopperWeighed, load("L3", "2010.0"))
    again = emptied(
        lot="lot-2",
        into="D2",
        gross=reading("267.2", "kg", "PS1"),
        seals_removed=[removed("drain", "S-0012")],
        seals_fitted=[fitted("drain", "S-0013")],
        lot_seals=[fitted("lid", "S-0014")],
    )
    say(state, HopperEmptied, again)
    assert state.get(Item, "lot-2").parents == ("heel-1", "L3")
    assert state.get(Item, "heel-1").status == "consumed"


def test_flushes_never_weighed_come_in_with_the_lot():
    state = empty_room()
    sheet(state, 1, 4)
    say(state, HopperEmptied, EMPTIED)
    lot = state.get(Item, "lot-1")
    assert lot.parents == ("U1-1-1", "U1-1-2", "U1-1-3", "U1-1-4")
    crossing = state.get(Crossing, "lot-1/1")
    assert (crossing.from_step, crossing.to_step) == ("", "table")
    assert state.get(Flush, "U1-1-2").load == "lot-1"
    assert state.get(Vessel, "H1").pending_flushes == ()
    assert codes(state) == []


def test_flushes_since_the_last_reading_come_in_as_a_load_without_a_mass():
    state = two_loads()
    sheet(state, 9, 12)
    say(state, HopperEmptied, EMPTIED)
    assert state.get(Item, "lot-1").parents == ("L1", "L2", "lot-1.unweighed")
    late = state.get(Item, "lot-1.unweighed")
    assert late.parents == ("U1-1-9", "U1-1-10", "U1-1-11", "U1-1-12")
    assert (late.sort, late.status, late.masses) == ("load", "consumed", 0)
    crossing = state.get(Crossing, "lot-1.unweighed/1")
    assert (crossing.from_step, crossing.to_step) == ("", "hopper")
    assert state.get(Flush, "U1-1-9").load == "lot-1.unweighed"
    assert state.get(Item, "U1-1-9").children == ("lot-1.unweighed",)
    assert state.get(Vessel, "H1").contents == ()


def test_a_heel_of_flushes_never_weighed_comes_into_the_hopper():
    state = empty_room()
    sheet(state, 1, 4)
    say(state, HopperEmptied, emptied(heel=HEEL))
    crossing = state.get(Crossing, "heel-1/1")
    assert (crossing.from_step, crossing.to_step) == ("", "hopper")


def test_a_hopper_opened_before_needs_no_more_seals_off():
    state = two_loads()
    drain = {
        "hopper": "H1",
        "reason": "to empty it",
        "seals_removed": [removed("drain", "S-0002")],
    }
    say(state, HopperOpened, drain)
    assert refused(state, HopperEmptied, without("seals_removed")) is None


def test_what_was_seen_on_the_seals_is_noticed():
    state = two_loads()
    seals = [removed("drain", "S-0020", tamper_signs="cut")]
    say(state, HopperEmptied, emptied(seals_removed=seals))
    assert codes(state) == ["seal_not_the_one_fitted", "seal_tampered"]


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it should be", EMPTIED, None),
        (
            "sealed, and no seal taken off",
            without("seals_removed", "seals_fitted"),
            "not_in_this_state",
        ),
        ("into the hopper itself", emptied(into="H1"), "wrong_sort"),
        ("into a vessel nobody registered", emptied(into="D9"), "unknown_vessel"),
        ("out of a drum", emptied(hopper="D2"), "wrong_sort"),
        ("a lot id used before", emptied(lot="L1"), "item_id_used"),
        (
            "a heel with the lot's id",
            emptied(heel={**HEEL, "item": "lot-1"}),
            "item_id_used",
        ),
        (
            "dried in a balance",
            emptied(moisture={"percent": "16", "oven": "BB1"}),
            "wrong_sort",
        ),
        (
            "more water than mass",
            emptied(moisture={"percent": "101", "oven": "OV1"}),
            "moisture_over_100",
        ),
        (
            "one seal on both vessels",
            emptied(lot_seals=[fitted("lid", "S-0012")]),
            "seal_already_used",
        ),
        (
            "a used seal on the lot",
            emptied(lot_seals=[fitted("lid", "S-0001")]),
            "seal_already_used",
        ),
        (
            "a seal on a point still sealed",
            emptied(seals_fitted=[fitted("lid", "S-0012")]),
            "seal_point_taken",
        ),
        (
            "tare above gross",
            emptied(tare=reading("520.0", "kg", "PS1")),
            "tare_over_gross",
        ),
        (
            "read after on the platform",
            emptied(level_after={**AFTER, "gross": reading("185.0", "kg", "PS1")}),
            "wrong_sort",
        ),
        (
            "read after at a mark it has not",
            emptied(level_after={**AFTER, "mark": "M9"}),
            "bad_field",
        ),
    ],
)
def test_emptying_is_taken_or_refused(situation, values, code):
    assert refused(two_loads(), HopperEmptied, values) == code, situation


def test_a_sealed_drum_takes_nothing():
    state = two_loads()
    say(state, SealFitted, {"vessel": "D1", "seals_fitted": [fitted("lid", "S-0030")]})
    assert refused(state, HopperEmptied, EMPTIED) == "not_in_this_state"


def test_an_empty_hopper_gives_no_lot():
    assert refused(empty_room(), HopperEmptied, EMPTIED) == "not_in_this_state"


def test_corrected_figures_give_the_lot_and_the_next_load_new_versions():
    state = two_loads()
    said = emptied(heel=HEEL, level_after=AFTER)
    say(state, HopperEmptied, said, entry="entry-E1")
    say(state, HopperWeighed, load("L3", "2016.0"))
    put_right = {
        **said,
        "moisture": {"percent": "15.5", "oven": "OV1"},
        "level_after": {**AFTER, "gross": reading("1852.0", "kg", "LC1")},
    }
    correction = {
        "entry": "entry-E1",
        "mode": "figures",
        "kind": "hopper.emptied",
        "values": put_right,
        "reason": "oven read again",
    }
    say(state, RecordCorrected, correction, people=OTHERS, corrects="entry-E1")
    assert latest_mass(state, "lot-1").dry_g == 422_500
    assert latest_mass(state, "lot-1").moisture_id == "entry-E1.moisture"
    assert latest_mass(state, "L3").dry_g == 215_250
    assert state.get(Item, "heel-1").estimates == 2


def test_an_emptying_is_taken_back_whole():
    state = two_loads()
    say(state, HopperEmptied, EMPTIED, entry="entry-E1")
    void = {
        "entry": "entry-E1",
        "mode": "void",
        "kind": "hopper.emptied",
        "reason": "wrong hopper",
    }
    say(state, RecordCorrected, void, people=OTHERS, corrects="entry-E1")
    assert state.get(Vessel, "H1").contents == ("L1", "L2")
    assert state.get(Vessel, "H1").points[1].seal == "S-0002"
    assert state.get(Seal, "S-0012").status == "issued"
    assert state.get(Item, "L1").status == "held"
    assert state.get(Item, "lot-1").status == "void"
