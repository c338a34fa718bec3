"""The hopper: weighed at a mark, drained, opened, closed, its figures put right.

H1 holds 1.2 m3 below mark M1, weighs 650 kg empty, and its solids are 4200 kg/m3. With
m kg of dry solids it carries 650 + 1200 + m x 16/21 kg, so 210 kg of solids read
2010 kg, 420 kg read 2170 kg, and water alone 1850 kg.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Crossing, Flush, Item, Mark, Mass, Stay, Vessel
from goldroom.statements.cleanup import CleanupRecorded
from goldroom.statements.hopper import (
    HopperClosed,
    HopperDrawnOff,
    HopperOpened,
    HopperWeighed,
)
from goldroom.statements.instruments import InstrumentCheckWeighed
from goldroom.statements.record import RecordCorrected
from tests.goldroom.room import (
    AT,
    codes,
    fitted,
    noticed,
    reading,
    refused,
    removed,
    room,
    say,
    vessel,
)

OTHERS = (("p-jonas", "officer"), ("p-sefu", "security"))


def sheet(state, first: int, last: int, unit: str = "U1") -> None:
    row = {"unit": unit, "counter_epoch": 1, "first": first, "last": last}
    say(state, CleanupRecorded, {"hopper": "H1", "flushes": [row]})


def load(ident: str, gross_kg: str | None, **more):
    values = {"load": ident, "hopper": "H1", "mark": "M1"}
    if gross_kg is not None:
        values["gross"] = reading(gross_kg, "kg", "LC1")
    return {**values, **more}


def two_loads(second_at=AT):
    """Return a room with loads L1 (flushes 1 to 4) and L2 (5 to 8), 210 kg each."""
    state = room()
    sheet(state, 1, 4)
    say(state, HopperWeighed, load("L1", "2010.0"), entry="entry-L1")
    sheet(state, 5, 8)
    say(
        state,
        HopperWeighed,
        load("L2", "2170.0"),
        entry="entry-L2",
        at=second_at,
    )
    return state


def test_the_first_reading_makes_a_load_of_all_the_solids_in_the_hopper():
    state = room()
    sheet(state, 1, 4)
    said = say(state, HopperWeighed, load("L1", "2010.0"), entry="entry-L1")
    mass = latest_mass(state, "L1")
    assert (mass.dry_g, mass.wanted_for, mass.moisture_percent) == (
        210_000,
        "hopper_rise",
        None,
    )
    assert [(each.reading_id, each.coefficient, each.grams) for each in mass.terms] == [
        ("entry-L1.gross", Decimal("1.3125"), 2_010_000),
        ("tare.H1", Decimal("-1.3125"), 650_000),
        ("water.H1.M1", Decimal("-1.3125"), 1_200_000),
    ]
    assert mass.terms[0].calibration == "LC1-c1"
    assert codes(state) == []
    assert said.sentence() == (
        "Hopper H1 read 2010.0 kg gross at mark M1; what came in since the last reading"
        " is load L1."
    )


def test_the_flushes_since_the_last_reading_become_the_load():
    state = two_loads()
    item = state.get(Item, "L2")
    assert item.parents == ("U1-1-5", "U1-1-6", "U1-1-7", "U1-1-8")
    assert (item.step, item.status, item.place) == ("hopper", "held", "hopper_bay")
    crossing = state.get(Crossing, "L2/1")
    assert (crossing.from_step, crossing.to_step) == ("", "hopper")
    flush = state.get(Item, "U1-1-5")
    assert (flush.status, flush.used_by, flush.children) == (
        "consumed",
        "entry-L2",
        ("L2",),
    )
    assert state.get(Flush, "U1-1-5").load == "L2"
    hopper = state.get(Vessel, "H1")
    assert (hopper.pending_flushes, hopper.contents) == ((), ("L1", "L2"))


def test_two_loads_share_the_reading_between_them_with_opposite_signs():
    state = two_loads()
    first, second = latest_mass(state, "L1"), latest_mass(state, "L2")
    assert second.dry_g == 210_000
    assert [each.reading_id for each in second.terms] == [
        "entry-L2.gross",
        "entry-L1.gross",
    ]
    assert second.terms[1].coefficient == -first.terms[0].coefficient


@pytest.mark.parametrize(
    ("situation", "gross", "expected"),
    [
        ("the same", "2010.0", []),
        ("one division down", "2009.5", []),
        ("two divisions down, which is let pass", "2009.0", []),
        ("three divisions down", "2008.5", ["hopper_fell"]),
    ],
)
def test_a_fall_at_equal_level_is_noticed(situation, gross, expected):
    state = room()
    say(state, HopperWeighed, load("L1", "2010.0"))
    say(state, HopperWeighed, load("L2", gross))
    assert codes(state) == expected, situation


def test_a_fall_names_what_was_found_and_expected():
    state = room()
    say(state, HopperWeighed, load("L1", "2010.0"))
    say(state, HopperWeighed, load("L2", "2004.0"))
    fell = noticed(state)[0]
    assert (fell.level, fell.item) == ("exception", "H1")
    assert fell.found == "6.0 kg less at mark M1"
    assert fell.expected == "no fall beyond 1.0 kg since 2026-10-05T04:10:00Z"
    assert latest_mass(state, "L2").dry_g == -7_875


def test_a_lower_reading_at_another_mark_is_no_fall():
    state = room()
    hopper = state.get(Vessel, "H1")
    low = Mark(mark="M0", volume_m3=Decimal("1.0"))
    state.put(replace(hopper, marks=(*hopper.marks, low)))
    say(state, HopperWeighed, load("L1", "2010.0"))
    say(state, HopperWeighed, load("L2", "1810.0", mark="M0"))
    assert codes(state) == []
    assert latest_mass(state, "L2").dry_g == 0


@pytest.mark.parametrize(
    ("situation", "gross", "flushes", "expected"),
    [
        ("52.5 kg a flush", "2010.0", 4, []),
        ("105 kg a flush", "2010.0", 2, ["flush_unit_outside_usual"]),
        ("0.7 kg a flush", "1852.0", 4, ["flush_unit_outside_usual"]),
    ],
)
def test_a_load_outside_what_its_flushes_usually_bring_is_noticed(
    situation, gross, flushes, expected
):
    state = room()
    sheet(state, 1, flushes)
    say(state, HopperWeighed, load("L1", gross))
    assert codes(state) == expected, situation


def test_a_hopper_without_cells_is_measured_by_its_settled_solids():
    state = room()
    bare = vessel(
        "H2",
        "hopper",
        "hopper_bay",
        {"lid": "S-0040"},
        marks=(Mark(mark="M2", volume_m3=Decimal("0.1")),),
    )
    state.put(bare)
    values = {"load": "L1", "hopper": "H2", "mark": "M2", "settled_kg_m3": "2100"}
    said = say(state, HopperWeighed, values)
    mass = latest_mass(state, "L1")
    assert mass.dry_g == 210_000
    assert mass.terms[0].slope_u_relative == Decimal("0.02")
    assert said.sentence() == (
        "Hopper H2 held solids settled to 2100 kg/m3 at mark M2; what came in since the"
        " last reading is load L1."
    )


BY_SETTLING = {"settled_kg_m3": "2100"}


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("a rise", load("L3", "2200.0"), None),
        ("cells out of order, solids settled", load("L3", None, **BY_SETTLING), None),
        ("a load id used before", load("L1", "2200.0"), "item_id_used"),
        ("a mark it has not", load("L3", "2200.0", mark="M9"), "bad_field"),
        ("a drum", load("L3", "2200.0", hopper="D1"), "wrong_sort"),
        ("no such hopper", load("L3", "2200.0", hopper="H9"), "unknown_vessel"),
        ("between two divisions", load("L3", "2200.3"), "not_on_scale_division"),
        (
            "more digits than the cells",
            load("L3", "2200.25"),
            "more_digits_than_instrument",
        ),
        (
            "read on the platform scale",
            load("L3", None, gross=reading("220.0", "kg", "PS1")),
            "wrong_sort",
        ),
        (
            "in grams",
            load("L3", None, gross=reading("2200000", "g", "LC1")),
            "wrong_unit",
        ),
        ("a digit left out", load("L3", "220.0"), "not_a_pulp"),
        ("over capacity", load("L3", "3000.5"), "over_capacity"),
        (
            "both ways of reading",
            load("L3", "2200.0", settled_kg_m3="2100"),
            "bad_field",
        ),
        ("neither way", load("L3", None), "bad_field"),
        (
            "a bare ounce",
            load("L3", None, gross=reading("70000", "oz", "LC1")),
            "bare_ounce",
        ),
    ],
)
def test_weighing_is_taken_or_refused(situation, values, code):
    assert refused(two_loads(), HopperWeighed, values) == code, situation


@pytest.mark.parametrize(
    ("gross_kg", "code"),
    [("1850.0", None), ("1834.0", None), ("1833.0", "not_a_pulp")],
)
def test_an_empty_hopper_may_seem_lighter_than_water_as_far_as_its_cells_go(
    gross_kg, code
):
    """Water to M1 and the tare are 1850 kg; 0.3 % of it and 0.5 kg are u = 5.6 kg."""
    assert refused(room(), HopperWeighed, load("L1", gross_kg)) == code


def test_nobody_weighs_on_blocked_cells():
    state = two_loads()
    check = {
        "reading": reading("520.0", "kg", "LC1"),
        "certified_g": "500000",
        "weight": "CW-1",
    }
    say(state, InstrumentCheckWeighed, check)
    assert refused(state, HopperWeighed, load("L3", "2200.0")) == "instrument_blocked"


def test_cells_out_of_date_are_a_finding():
    state = room()
    say(state, HopperWeighed, load("L1", "2010.0"), at="2027-04-05T06:10:00+02:00")
    assert codes(state) == ["instrument_out_of_date"]


def corrected(gross_kg: str | None, entry: str = "entry-L1", **more):
    ident = entry.removeprefix("entry-")
    return {
        "entry": entry,
        "mode": "figures",
        "kind": "hopper.weighed",
        "values": load(ident, gross_kg, **more),
        "reason": "read again",
    }


def correct(state, values):
    return refused(
        state,
        RecordCorrected,
        values,
        people=OTHERS,
        corrects=values["entry"],
        entry="entry-C1",
        at="2026-10-06T09:00:00+02:00",
    )


def test_a_corrected_reading_changes_both_loads_that_share_it():
    state = two_loads("2026-10-05T18:10:00+02:00")
    assert correct(state, corrected("2018.0")) is None
    first, second = latest_mass(state, "L1"), latest_mass(state, "L2")
    assert (first.dry_g, second.dry_g) == (220_500, 199_500)
    assert (first.version, second.version) == (2, 2)
    assert first.terms[0].reading_id == second.terms[1].reading_id == "entry-L1.gross"
    assert state.get(Mass, "L1/001").dry_g == 210_000
    assert (first.at, second.at) == ("2026-10-05T04:10:00Z", "2026-10-05T16:10:00Z")
    assert (first.entry, first.known_at) == ("entry-C1", "2026-10-06T07:10:00Z")


def test_the_next_load_rises_from_the_corrected_reading():
    state = two_loads()
    assert correct(state, corrected("2162.0", "entry-L2")) is None
    assert state.get(Vessel, "H1").last_level.dry_g == 409_500
    say(state, HopperWeighed, load("L3", "2170.0"))
    assert latest_mass(state, "L3").dry_g == 10_500
    total = sum(latest_mass(state, each).dry_g for each in ("L1", "L2", "L3"))
    assert total == 420_000


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("another figure", corrected("2018.0"), None),
        ("a figure that cannot be", corrected("201.0"), "not_a_pulp"),
        ("another mark", corrected("2018.0", mark="M0"), "only_figures_change"),
        (
            "the other way of reading",
            corrected(None, **BY_SETTLING),
            "only_figures_change",
        ),
    ],
)
def test_only_the_figure_of_a_weighing_can_be_put_right(situation, values, code):
    assert correct(two_loads(), values) == code, situation


def test_a_weighing_is_taken_back_until_the_next_one_builds_on_it():
    void = {
        "entry": "entry-L1",
        "mode": "void",
        "kind": "hopper.weighed",
        "reason": "wrong hopper",
    }
    assert correct(two_loads(), void) == "cannot_void"
    state = two_loads()
    assert correct(state, {**void, "entry": "entry-L2"}) is None
    assert state.get(Item, "L2").status == "void"
    assert len(state.get(Vessel, "H1").pending_flushes) == 4
    assert state.get(Vessel, "H1").last_level.dry_g == 210_000
    assert state.get(Item, "U1-1-5").status == "held"


def test_water_drawn_off_is_said_and_changes_no_figure():
    state = two_loads()
    before = state.get(Vessel, "H1")
    values = {
        "hopper": "H1",
        "water_to": "the mill sump",
        "reason": "too full",
        "mark": "M1",
    }
    said = say(state, HopperDrawnOff, values)
    assert state.get(Vessel, "H1") == before
    item = state.get(Item, "L1")
    assert state.get(Stay, f"L1/{item.stays:04d}").act == "hopper.drawn_off"
    assert said.sentence() == (
        "Water was drawn off hopper H1 down to mark M1 to the mill sump: too full."
    )


OPENED = {
    "hopper": "H1",
    "reason": "blocked drain",
    "seals_removed": [removed("lid", "S-0001")],
}
CLOSED = {"hopper": "H1", "seals_fitted": [fitted("lid", "S-0003")]}


def test_a_hopper_is_opened_and_closed_and_its_load_stays_under_the_new_seals():
    state = two_loads()
    opened = say(state, HopperOpened, OPENED)
    assert state.get(Vessel, "H1").is_open
    stay = state.get(Stay, f"L1/{state.get(Item, 'L1').stays:04d}")
    assert stay.seals == ("S-0002",)
    closed = say(state, HopperClosed, CLOSED)
    assert not state.get(Vessel, "H1").is_open
    stay = state.get(Stay, f"L1/{state.get(Item, 'L1').stays:04d}")
    assert stay.seals == ("S-0003", "S-0002")
    assert opened.sentence() == (
        "Hopper H1 was opened (blocked drain); seals taken off: S-0001 on lid (no"
        " tamper signs)."
    )
    assert closed.sentence() == "Hopper H1 was closed and sealed, S-0003 on lid."


@pytest.mark.parametrize(
    ("situation", "is_open", "kind", "values", "code"),
    [
        ("open a sealed hopper", False, HopperOpened, OPENED, None),
        ("open an open one", True, HopperOpened, OPENED, "not_in_this_state"),
        ("open a drum", False, HopperOpened, {**OPENED, "hopper": "D1"}, "wrong_sort"),
        (
            "open without seals",
            False,
            HopperOpened,
            {**OPENED, "seals_removed": []},
            "bad_field",
        ),
        ("close an open one", True, HopperClosed, CLOSED, None),
        ("close a closed one", False, HopperClosed, CLOSED, "not_in_this_state"),
        (
            "close with a used seal",
            True,
            HopperClosed,
            {**CLOSED, "seals_fitted": [fitted("lid", "S-0001")]},
            "seal_already_used",
        ),
        (
            "close on the sealed point",
            True,
            HopperClosed,
            {**CLOSED, "seals_fitted": [fitted("drain", "S-0003")]},
            "seal_point_taken",
        ),
        (
            "drain a drum",
            False,
            HopperDrawnOff,
            {"hopper": "D1", "water_to": "sump", "reason": "full"},
            "wrong_sort",
        ),
        (
            "drain to a mark it has not",
            False,
            HopperDrawnOff,
            {"hopper": "H1", "water_to": "sump", "reason": "full", "mark": "M7"},
            "bad_field",
        ),
    ],
)
def test_opening_and_closing_are_taken_or_refused(
    situation, is_open, kind, values, code
):
    state = room()
    if is_open:
        say(state, HopperOpened, OPENED)
    assert refused(state, kind, values) == code, situation


def test_a_hopper_with_two_bare_points_is_closed_only_with_both():
    state = room()
    both = [removed("lid", "S-0001"), removed("drain", "S-0002")]
    say(state, HopperOpened, {**OPENED, "seals_removed": both})
    assert refused(state, HopperClosed, CLOSED) == "not_in_this_state"
    whole = [fitted("lid", "S-0003"), fitted("drain", "S-0004")]
    assert refused(state, HopperClosed, {**CLOSED, "seals_fitted": whole}) is None
