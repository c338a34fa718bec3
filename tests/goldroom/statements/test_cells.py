"""Cells run, opened and closed: what joins a load, what leaves it, what is noticed."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.figures import WET
from goldroom.custody.records import Assay, Mass, Vessel, Volume
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.statements.cells import CellsClosed, CellsRun
from goldroom.statements.limits import LimitSet
from tests.goldroom import cell_story as story
from tests.goldroom.cell_story import add_solution, barren, before, cell_room, upto
from tests.goldroom.room import codes, fitted, noticed, removed, say, vessel
from tests.goldroom.story import add_item, crossings, in_vessel, item, last_stay

GUARDS = (("p-sefu", "security"), ("p-ines", "metallurgist"))
FIRST = story.values("first_run")


def run_of(state: State, stage: str, version: int = 1) -> CellRun:
    found = state.get(CellRun, f"{story.entry_of(stage)}/{version:03d}")
    assert found is not None
    return found


# --- a run -------------------------------------------------------------------


def test_the_first_run_begins_the_load_and_takes_the_solution_up():
    state = upto("first_run")
    load, solution = item(state, "CL-1"), item(state, "SOL-1")
    assert (load.sort, load.step, load.status) == (
        "cell_load",
        "electrowinning",
        "held",
    )
    assert load.parents == ("SOL-1",)
    assert load.drawn == ("BRN-1",)
    assert (solution.status, solution.children) == ("consumed", ("CL-1",))
    assert in_vessel(state, "EC1") == ("CL-1",)
    assert in_vessel(state, "TK1") == ("SOL-2", "SOL-3")
    assert crossings(state, "CL-1") == [
        ("electrowinning", "electrowinning", "electrowinning")
    ]
    assert last_stay(state, "CL-1").seals == ("S-0041",)


def test_later_runs_join_the_load_that_is_in_the_cell():
    state = upto("second_run")
    assert item(state, "CL-1").parents == ("SOL-1", "SOL-2")
    assert item(state, "CL-1").source == "mixed"
    assert item(state, "BRN-1").source == "gravity"
    assert item(state, "BRN-2").source == "mixed"
    known = state.get(CellLoad, "CL-1")
    assert known is not None
    assert known.runs == (story.entry_of("first_run"), story.entry_of("second_run"))
    assert known.status == "open"


def test_barren_solution_is_drawn_off_and_leaves_for_the_mill_with_its_sample_kept():
    state = upto("first_run")
    assert item(state, "BRN-1").status == "left"
    assert crossings(state, "BRN-1") == [
        ("electrowinning", "electrowinning", "electrowinning"),
        ("electrowinning", "", "mill"),
    ]
    sample = item(state, "BRN-1-1")
    assert (sample.drawn_from, sample.status, sample.step) == (
        "BRN-1",
        "held",
        "electrowinning",
    )
    volume = state.get(Volume, "BRN-1-1/001")
    assert volume is not None
    assert volume.litres == Decimal("0.1")


def test_barren_kept_for_a_leach_passes_to_the_leach_in_its_tank():
    state = upto("second_run")
    assert crossings(state, "BRN-2") == [("electrowinning", "leach", "leach")]
    assert in_vessel(state, "TK2") == ("BRN-2",)


def test_barren_kept_for_another_run_stays_with_the_cells_and_may_be_run_again():
    state = upto("third_run")
    assert item(state, "BRN-3").step == "electrowinning"
    add_solution(state, "SOL-4", "500", "300", "20")
    say(
        state,
        CellsRun,
        {
            "cell": "EC1",
            "solutions": ["BRN-3", "SOL-4"],
            "started_at": "2026-10-10T15:00:00+02:00",
            "ended_at": "2026-10-10T20:00:00+02:00",
            "charge_ah": "2500",
            "barren": barren("BRN-4", "1500", "3", "1"),
        },
        at="2026-10-10T20:00:00+02:00",
    )
    assert item(state, "CL-2").parents == ("HL-1", "SOL-3", "BRN-3", "SOL-4")
    assert codes(state) == []


def test_the_rooms_reading_of_the_barren_is_provisional_if_a_sample_was_drawn():
    state = upto("second_run")
    found, unsampled = state.get(Assay, "BRN-1/001"), state.get(Assay, "BRN-2/001")
    assert found is not None
    assert unsampled is not None
    assert (found.unit, found.gold, found.silver) == ("mg_l", Decimal(4), Decimal(1))
    assert (found.standing, found.method) == ("provisional", "room_reading")
    assert unsampled.standing == "final"


def test_ampere_hours_are_the_meters_or_worked_out_from_the_amperes():
    state = upto("second_run")
    first, second = run_of(state, "first_run"), run_of(state, "second_run")
    assert (first.charge_ah, first.charge_by) == (Decimal("5050.000"), "amperes")
    assert (second.charge_ah, second.charge_by) == (Decimal(5400), "meter")
    assert (first.litres_in, first.litres_out) == (Decimal(3000), Decimal(2950))


def test_a_heel_on_the_cathodes_joins_the_next_load():
    state = upto("third_run")
    heel = item(state, "HL-1")
    assert (heel.status, heel.children) == ("consumed", ("CL-2",))
    assert item(state, "CL-2").parents == ("HL-1", "SOL-3")
    assert item(state, "CL-2").source == "mixed"
    assert in_vessel(state, "EC1") == ("CL-2",)


def test_what_the_cells_held_as_the_ledger_began_joins_the_first_load():
    state = before("first_run")
    add_item(state, "HL-0", "heel", step="electrowinning", vessel_id="EC1")
    story.tell(state, "first_run")
    assert item(state, "CL-1").parents == ("HL-0", "SOL-1")


def test_a_sealed_tank_is_opened_to_be_emptied_and_sealed_again():
    state = before("first_run")
    tank = state.get(Vessel, "TK1")
    assert tank is not None
    points = tuple(replace(each, seal="S-0012") for each in tank.points)
    state.put(replace(tank, points=points, is_open=False))
    assert story.refused(state, "first_run", {}) == "vessel_sealed"
    said = story.tell(
        state,
        "first_run",
        opened=[{"vessel": "TK1", "seals_removed": [removed("hatch", "S-0012")]}],
        closed=[{"vessel": "TK1", "seals_fitted": [fitted("hatch", "S-0013")]}],
    )
    assert said.sentence().endswith(
        " TK1 was opened: S-0012 on hatch (no tamper signs). TK1 was sealed: S-0013 on"
        " hatch."
    )


READ = FIRST["readings"]
REFUSED_RUNS = [
    pytest.param({}, None, id="as it was"),
    pytest.param({"cell": "TK1"}, "wrong_sort", id="a tank for a cell"),
    pytest.param({"cell": "EC9"}, "unknown_vessel", id="no such cell"),
    pytest.param({"load": None}, "bad_field", id="first run without a load's id"),
    pytest.param({"load": "SOL-1"}, "item_id_used", id="load with a used id"),
    pytest.param({"load": "BRN-1"}, "item_id_used", id="load and barren alike"),
    pytest.param({"solutions": ["SOL-9"]}, "unknown_item", id="unknown solution"),
    pytest.param({"solutions": []}, "bad_field", id="no solution"),
    pytest.param({"solutions": ["LOT-1"]}, "wrong_sort", id="a lot for a solution"),
    pytest.param({"barren": None}, "bad_field", id="no barren solution"),
    pytest.param(
        {"barren": {**FIRST["barren"], "volume_l": None}}, "bad_field", id="no volume"
    ),
    pytest.param(
        {"barren": {**FIRST["barren"], "volume_l": "0.05"}},
        "bad_field",
        id="samples are more than the barren",
    ),
    pytest.param(
        {"barren": barren("SOL-2", "2950", "4", "1")}, "item_id_used", id="barren's id"
    ),
    pytest.param(
        {"barren": barren("BRN-1", "2950", "4", "1", goes_to="leach")},
        "bad_field",
        id="kept in no tank",
    ),
    pytest.param(
        {"barren": barren("BRN-1", "2950", "4", "1", goes_to="leach", tank="D1")},
        "wrong_sort",
        id="kept in a drum",
    ),
    pytest.param(
        {"barren": barren("BRN-1", "2950", "4", "1", goes_to="leach", tank="TK8")},
        "vessel_sealed",
        id="into a sealed tank",
    ),
    pytest.param(
        {"ended_at": "2026-10-05T21:00:00+02:00"}, "bad_field", id="ended before start"
    ),
    pytest.param(
        {"ended_at": "2026-10-06T09:00:00+02:00"}, "bad_field", id="not over yet"
    ),
    pytest.param({"readings": READ[::-1]}, "bad_field", id="readings out of order"),
    pytest.param({"readings": None}, "bad_field", id="nothing tells of the current"),
    pytest.param(
        {"readings": [{**READ[0], "amperes": None}]}, "bad_field", id="volts alone"
    ),
]


@pytest.mark.parametrize(("changed", "code"), REFUSED_RUNS)
def test_run_is_refused(changed: dict[str, Any], code: str | None):
    state = before("first_run")
    add_item(state, "LOT-1", "lot", step="table", dry_kg="10")
    state.put(vessel("TK8", "tank", "gold_room", {"hatch": "S-0012"}))
    changed = {
        name: {n: v for n, v in value.items() if v is not None}
        if isinstance(value, dict)
        else value
        for name, value in changed.items()
    }
    assert story.refused(state, "first_run", changed) == code


def test_a_solution_used_already_is_refused():
    changed = {"solutions": ["SOL-1"]}
    assert story.refused(before("second_run"), "second_run", changed) == "item_consumed"


def test_a_run_names_no_other_load_than_the_one_in_the_cell():
    state = before("second_run")
    assert story.refused(state, "second_run", {"load": "CL-9"}) == "not_in_this_state"
    assert story.refused(state, "second_run", {"load": "CL-1"}) is None


def test_a_cell_standing_open_is_not_run():
    state = upto("opened")
    changed = {"started_at": "2026-10-08T07:10:00+02:00", "solutions": ["SOL-3"]}
    with pytest.raises(NotInThisState, match="stands open, with no seal on lid"):
        story.tell(state, "second_run", **changed)
    opened = [{"vessel": "EC1", "seals_removed": [removed("lid", "S-0041")]}]
    assert (
        story.refused(before("second_run"), "second_run", {"opened": opened})
        == "not_in_this_state"
    )


def test_a_cell_that_nothing_can_be_sealed_on_is_refused():
    state = before("first_run")
    state.put(vessel("EC2", "cell", "gold_room", {}))
    assert story.refused(state, "first_run", {"cell": "EC2"}) == "bad_field"


def test_a_barren_above_usual_is_noticed_by_the_sites_own_limit():
    high = barren("BRN-1", "2950", "20.1", "1")
    state = before("first_run")
    story.tell(state, "first_run", barren=high)
    assert codes(state) == ["barren_above_usual"]
    state = before("first_run")
    say(
        state,
        LimitSet,
        {"limit": "barren_mg_l_max", "value": "25", "unit": "mg/L",
         "reason": "warm solution"},
        at="2026-10-05T07:00:00+02:00",
        people=GUARDS,
    )  # fmt: skip
    story.tell(state, "first_run", barren=high)
    assert codes(state) == []


@pytest.mark.parametrize(
    ("litres", "found"),
    [
        pytest.param("2850", [], id="5 % less"),
        pytest.param("2849", ["solution_volume_differs"], id="over 5 % less"),
        pytest.param("3151", ["solution_volume_differs"], id="over 5 % more"),
    ],
)
def test_a_volume_that_changed_in_the_cell_is_noticed(litres: str, found: list[str]):
    state = before("first_run")
    story.tell(state, "first_run", barren=barren("BRN-1", litres, "4", "1"))
    assert codes(state) == found


# 1788.2 g of gold and 207.05 g of silver were plated by solution: 294.7683 Ah.
@pytest.mark.source("Faraday's law; CODATA and IUPAC atomic weights, worked by hand")
@pytest.mark.parametrize(
    ("charge_ah", "found"),
    [
        pytest.param("294.77", [], id="all the current it took"),
        pytest.param("294.76", ["plated_over_faraday"], id="more than the current"),
    ],
)
def test_more_plated_than_the_current_can_plate_is_noticed(charge_ah, found):
    state = before("first_run")
    story.tell(state, "first_run", charge_ah=charge_ah)
    assert codes(state) == found


def test_a_solution_nobody_assayed_counts_as_the_cell_read_it():
    """598 mg/L read at 3000 L, 4 mg/L barren at 2950 L: 1782.2 g, 242.51 Ah."""
    for charge_ah, found in (("242.6", []), ("242.4", ["plated_over_faraday"])):
        state = before("first_run")
        state.put(replace(item(state, "SOL-1"), assays=0))
        story.tell(state, "first_run", charge_ah=charge_ah)
        assert codes(state) == found


def test_runs_read_aloud():
    state = before("first_run")
    assert story.tell(state, "first_run").sentence() == (
        "Cell EC1 was run on SOL-1, as load CL-1 from 2026-10-05 22:00 to 2026-10-06"
        " 08:00: 5050 Ah from the amperes read, 3 readings taken. Barren solution"
        " out: BRN-1, 2950 L, read as 4 mg/L gold and 1 mg/L silver, to the mill,"
        " sample BRN-1-1 of 100 mL taken by Leith Orban."
    )
    assert story.tell(state, "second_run").sentence() == (
        "Cell EC1 was run on SOL-2 from 2026-10-06 21:00 to 2026-10-07 08:00: 5400 Ah"
        " by the meter. Barren solution out: BRN-2, 1980 L, read as 5 mg/L gold and 2"
        " mg/L silver, into TK2 for the next leach."
    )


# --- opened and closed -------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"cell": "H1"}, "wrong_sort", id="a hopper"),
        pytest.param({"reason": "repair"}, "bad_field", id="a repair without permit"),
        pytest.param(
            {"seals_removed": [removed("door", "S-0041")]},
            "unknown_seal_point",
            id="no such point",
        ),
        pytest.param({"seals_removed": None}, "bad_field", id="no seal seen"),
    ],
)
def test_opening_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("opened"), "opened", changed) == code


def test_a_cell_open_already_is_not_opened_again():
    assert story.refused(upto("opened"), "opened", {}) == "not_in_this_state"


def test_a_cell_opened_for_repair_is_always_noticed():
    state = before("opened")
    said = story.tell(
        state,
        "opened",
        reason="repair",
        permit="P-77",
        present="two fitters of the plant",
    )
    (found,) = noticed(state)
    assert (found.code, found.level, found.item) == ("cell_opened", "notice", "EC1")
    assert found.message == "EC1 was opened for repair with load CL-1 in it"
    assert said.sentence() == (
        "Cell EC1 was opened for repair under permit P-77; seals taken off: S-0041 on"
        " lid (no tamper signs); present: two fitters of the plant."
    )


def test_a_wrong_seal_on_the_cell_is_accepted_and_noticed():
    state = before("opened")
    story.tell(state, "opened", seals_removed=[removed("lid", "S-0099")])
    assert codes(state) == ["seal_unknown"]


def test_the_load_stays_in_the_open_cell_under_no_seal():
    state = upto("opened")
    assert last_stay(state, "CL-1").seals == ()
    assert item(state, "CL-1").status == "held"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"cell": "TK1"}, "wrong_sort", id="a tank"),
        pytest.param(
            {"seals_fitted": [fitted("lid", "S-0099")]}, "seal_never_issued", id="seal"
        ),
    ],
)
def test_closing_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("closed"), "closed", changed) == code


def test_a_cell_is_closed_once_and_wholly():
    assert story.refused(upto("closed"), "closed", {}) == "not_in_this_state"
    state = before("closed")
    state.put(vessel("EC2", "cell", "gold_room", {"lid": "", "drain": ""}))
    with pytest.raises(NotInThisState, match="drain of EC2 would stay bare"):
        say(
            state,
            CellsClosed,
            {"cell": "EC2", "seals_fitted": [fitted("lid", "S-0010")]},
            at="2026-10-08T10:00:00+02:00",
        )


def test_opening_and_closing_read_aloud():
    state = before("opened")
    assert story.tell(state, "opened").sentence() == (
        "Cell EC1 was opened for cleanup; seals taken off: S-0041 on lid (no tamper"
        " signs)."
    )
    story.tell(state, "cleaned")
    assert story.tell(state, "closed").sentence() == (
        "Cell EC1 was closed and sealed, S-0010 on lid. Found: one cathode lead"
        " renewed."
    )


# --- the cleanup -------------------------------------------------------------


def test_the_load_ends_as_sludge_held_by_the_smelt():
    state = upto("cleaned")
    load = item(state, "CL-1")
    assert load.status == "consumed"
    assert load.drawn == ("BRN-1", "BRN-2", "WW-1")
    sludge = item(state, "SLU-1")
    assert (sludge.sort, sludge.step, sludge.source) == ("sludge", "smelt", "mixed")
    assert sludge.parents == ("CL-1",)
    assert sludge.label == "cathode sludge of CL-1"
    assert item(state, "SLU-2").label == "anode sludge of CL-1"
    assert crossings(state, "SLU-1") == [("electrowinning", "smelt", "smelt")]
    assert in_vessel(state, "TR1") == ("SLU-1",)


def test_sludge_weighed_wet_says_nothing_of_its_dry_mass():
    found = upto("cleaned").get(Mass, "SLU-1/001")
    assert found is not None
    assert (found.wanted_for, found.net_g) == (WET, Decimal("7500.000"))


def test_wash_water_is_drawn_off_the_load_before_it_ends():
    state = upto("cleaned")
    assert item(state, "WW-1").drawn_from == "CL-1"
    assert crossings(state, "WW-1")[-1] == ("electrowinning", "", "mill")


def test_what_is_left_on_the_cathodes_is_a_heel_in_the_cell():
    state = upto("cleaned")
    heel = item(state, "HL-1")
    assert (heel.sort, heel.step, heel.estimates) == ("heel", "electrowinning", 1)
    assert in_vessel(state, "EC1") == ("HL-1",)
    known = state.get(CellLoad, "CL-1")
    assert known is not None
    assert (known.status, known.heel, known.cathodes) == ("cleaned", "HL-1", 12)
    assert known.sludges == ("SLU-1", "SLU-2")


def test_opening_cleaning_and_sealing_may_be_one_statement():
    state = before("opened")
    story.tell(
        state,
        "cleaned",
        opened=[{"vessel": "EC1", "seals_removed": [removed("lid", "S-0041")]}],
        closed=[{"vessel": "EC1", "seals_fitted": [fitted("lid", "S-0010")]}],
    )
    assert item(state, "CL-1").status == "consumed"
    assert last_stay(state, "HL-1").seals == ("S-0010",)
    assert story.refused(state, "third_run", {}) is None


CLEAN = story.values("cleaned")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"cell": "TK1"}, "wrong_sort", id="a tank"),
        pytest.param({"load": "CL-7"}, "not_in_this_state", id="another load"),
        pytest.param({"sludges": []}, "bad_field", id="no sludge"),
        pytest.param(
            {"sludges": [{**CLEAN["sludges"][0], "item": "SOL-1"}]},
            "item_id_used",
            id="a used id",
        ),
        pytest.param(
            {"sludges": [CLEAN["sludges"][0]] * 2}, "item_id_used", id="one id twice"
        ),
        pytest.param(
            {"sludges": [{**CLEAN["sludges"][0], "vessel": "EC1"}]},
            "wrong_sort",
            id="sludge into the cell",
        ),
        pytest.param(
            {"sludges": [{**CLEAN["sludges"][0], "vessel": "H1"}]},
            "vessel_sealed",
            id="sludge into a sealed vessel",
        ),
        pytest.param(
            {"sludges": [{**CLEAN["sludges"][0], "vessel": "RT1"}]},
            "tare_missing",
            id="weighed in a vessel of no known tare",
        ),
        pytest.param(
            {"heel": {**CLEAN["heel"], "gold_u_g": "0"}},
            "out_of_range",
            id="an exact estimate",
        ),
        pytest.param(
            {"heel": {**CLEAN["heel"], "item": "SLU-1"}}, "item_id_used", id="heel's id"
        ),
        pytest.param(
            {"wash_water": barren("WW-1", "200", "2", "0", goes_to="cells")},
            "bad_field",
            id="wash water in no tank",
        ),
    ],
)
def test_cleanup_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("cleaned"), "cleaned", changed) == code


def test_sludge_does_not_come_out_of_a_cell_that_nobody_opened():
    assert story.refused(before("opened"), "cleaned", {}) == "cell_not_opened"


def test_a_cell_without_a_load_is_not_cleaned():
    state = cell_room()
    story.tell(state, "opened")
    assert story.refused(state, "cleaned", {}) == "not_in_this_state"
    assert story.refused(upto("cleaned"), "cleaned", {}) == "not_in_this_state"


def test_cleanup_reads_aloud():
    state = before("cleaned")
    assert story.tell(state, "cleaned").sentence() == (
        "Cell EC1 was cleaned, 12 cathodes washed: load CL-1 gave cathode sludge SLU-1"
        " (9.6 kg gross, wet, in TR1) and anode sludge SLU-2 (4.5 kg gross, wet, in"
        " TR2). Wash water: WW-1, 200 L, read as 2 mg/L gold and 0.1 mg/L silver, to"
        " the mill. A heel HL-1 was left on the cathodes, thought to hold 30 g of gold"
        " (± 10) and 4 g of silver (± 2): cathodes weighed clean and as they are."
    )
