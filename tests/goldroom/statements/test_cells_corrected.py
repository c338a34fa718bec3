"""Cells and heat: figures put right, and statements taken back."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.cells import CellRun
from goldroom.custody.driven_off import DrivenOff
from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Assay, Estimate, Noticed, Record, Said, Volume
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements import fold
from goldroom.statements.drying import MaterialRetorted
from goldroom.statements.fields import parse
from goldroom.statements.record import RecordCorrected
from tests.goldroom import cell_story as story
from tests.goldroom.cell_story import STAGES, barren, before, entry_of, upto
from tests.goldroom.room import act, codes, reading, say
from tests.goldroom.story import item

OTHERS = (("p-jonas", "officer"), ("p-sefu", "security"))
LATER = "2026-10-20T09:00:00+02:00"
VOIDED = [stage for stage in STAGES if stage != "assayed"]


def correct(
    state: State, entry: str, kind: str, mode: str, values: Any = None
) -> RecordCorrected:
    """Correct or void an entry."""
    said = parse(
        RecordCorrected,
        {"entry": entry, "mode": mode, "kind": kind, "reason": "misread.",
         **({"values": values} if mode == "figures" else {})},
    )  # fmt: skip
    done = replace(
        act(RecordCorrected, at=LATER, people=OTHERS, entry="entry-correction"),
        corrects_entry=entry,
    )
    fold.check(said, done, state)
    fold.fold(said, done, state)
    return said


def put_right(state: State, stage: str, **changed: Any) -> None:
    """Put the figures of a stage right."""
    kind = STAGES[stage][0].kind_name
    new = story.values(stage, **changed)
    correct(state, entry_of(stage), kind, "figures", new)


def take_back(state: State, stage: str) -> str | None:
    """Take a stage back; return the code with which that is refused, or None."""
    try:
        correct(state, entry_of(stage), STAGES[stage][0].kind_name, "void")
    except Refusal as refusal:
        return refusal.code
    return None


# --- figures -----------------------------------------------------------------


def test_a_runs_current_is_put_right_as_a_new_version():
    state = upto("second_run")
    put_right(state, "second_run", charge_ah="5450")
    found = state.get(CellRun, f"{entry_of('second_run')}/002")
    assert found is not None
    assert (found.charge_ah, found.load) == (Decimal(5450), "CL-1")
    assert (found.run, found.entry) == (entry_of("second_run"), "entry-correction")
    assert found.at == "2026-10-07T06:00:00Z"


def test_a_runs_current_is_put_right_after_the_cleanup_and_names_its_load_still():
    state = upto("third_run")
    amperes = [{**row, "amperes": "400"} for row in STAGES["first_run"][2]["readings"]]
    put_right(state, "first_run", readings=amperes)
    found = state.get(CellRun, f"{entry_of('first_run')}/002")
    assert found is not None
    assert (found.charge_ah, found.load) == (Decimal("4000.000"), "CL-1")


def test_barren_figures_put_right_keep_their_readings_own_ids():
    state = upto("second_run")
    samples = STAGES["first_run"][2]["barren"]["samples"]
    put_right(
        state, "first_run", barren=barren("BRN-1", "2940", "6", "1.5", samples=samples)
    )
    volume, assay = state.get(Volume, "BRN-1/002"), state.get(Assay, "BRN-1/002")
    assert volume is not None
    assert assay is not None
    assert (volume.litres, volume.volume_id) == (
        Decimal(2940),
        f"{entry_of('first_run')}.barren",
    )
    assert (assay.gold, assay.assay_id) == (
        Decimal(6),
        f"{entry_of('first_run')}.barren",
    )
    assert item(state, "BRN-1").status == "left"


def test_what_a_corrected_barren_shows_is_noticed_under_the_correction():
    state = upto("second_run")
    samples = STAGES["first_run"][2]["barren"]["samples"]
    put_right(
        state, "first_run", barren=barren("BRN-1", "2950", "40", "1", samples=samples)
    )
    found = state.get(Noticed, "entry-correction/01")
    assert found is not None
    assert found.code == "barren_above_usual"


def test_a_sludges_wet_mass_and_a_heel_are_put_right():
    state = upto("closed")
    sludges = [dict(row) for row in STAGES["cleaned"][2]["sludges"]]
    sludges[0]["gross"] = reading("9.9", "kg", "PS1")
    heel = {**STAGES["cleaned"][2]["heel"], "gold_g": "45", "gold_u_g": "9"}
    put_right(state, "cleaned", sludges=sludges, heel=heel)
    wet, heel_now = latest_mass(state, "SLU-1"), state.get(Estimate, "HL-1/002")
    assert wet is not None
    assert heel_now is not None
    assert (wet.net_g, wet.version) == (Decimal("7800.000"), 2)
    assert (heel_now.gold_g, heel_now.entry) == (Decimal(45), "entry-correction")


@pytest.mark.parametrize("stage", ["dried", "calcined"])
def test_a_mass_after_heat_is_put_right_with_what_was_driven_off(stage: str):
    state = upto("calcined")
    put_right(state, stage, gross=reading("5650.0", "g", "BB1"))
    off = state.get(DrivenOff, f"{entry_of(stage)}/002")
    assert off is not None
    assert (off.after_g, off.entry) == (Decimal("3550.0"), "entry-correction")
    weighed = latest_mass(state, "SLU-1" if stage == "dried" else "CAL-1")
    assert weighed is not None
    assert weighed.dry_g == Decimal("3550.000")


def test_mercury_put_right_is_held_against_what_was_driven_off():
    state = upto("dried")
    said = {
        "item": "SLU-1", "calcine": "CAL-1", "gross": reading("5500.0", "g", "BB1"),
        "wet_gross": reading("6100.0", "g", "BB1"), "vessel": "TR1", "start_c": "80",
        "end_c": "620", "retort": "RT1", "condenser_checked": True,
        "mercury": reading("540.0", "g", "BB1"),
    }  # fmt: skip
    say(state, MaterialRetorted, said, at="2026-10-09T18:00:00+02:00", entry="entry-rt")
    said["mercury"] = reading("640.0", "g", "BB1")
    correct(state, "entry-rt", "material.retorted", "figures", said)
    off = state.get(DrivenOff, "entry-rt/002")
    assert off is not None
    assert off.mercury_g == Decimal("640.0")
    assert codes(state) == ["mercury_over_driven_off"]


@pytest.mark.parametrize(
    ("stage", "changed", "code"),
    [
        pytest.param("first_run", {"solutions": ["SOL-2"]}, "only_figures_change"),
        pytest.param("first_run", {"load": "CL-9"}, "only_figures_change"),
        pytest.param("cleaned", {"cathodes": 11}, "only_figures_change"),
        pytest.param("dried", {"oven": "OV2"}, "only_figures_change"),
        pytest.param("dried", {"end_c": "200"}, "only_figures_change"),
        pytest.param("calcined", {"driven_off": "zinc"}, "only_figures_change"),
        pytest.param(
            "dried", {"gross": reading("9.7", "kg", "PS1")}, "dry_heavier_than_wet"
        ),
        pytest.param("opened", {}, "no_figures_to_correct"),
        pytest.param("closed", {}, "no_figures_to_correct"),
    ],
)
def test_more_than_figures_is_not_put_right(stage: str, changed: Any, code: str):
    state = upto("calcined")
    with pytest.raises(Refusal) as refused:
        put_right(state, stage, **changed)
    assert refused.value.code == code


# --- void --------------------------------------------------------------------


def kept(state: State) -> dict[tuple[str, str], Record]:
    """Return all records that a void must put back."""
    return {
        at: each
        for at, each in state.all_held().items()
        if not isinstance(each, Said | Noticed)
    }


@pytest.mark.parametrize("stage", VOIDED)
def test_a_void_puts_every_record_back_and_leaves_made_items_void(stage: str):
    state = before(stage)
    earlier = kept(state)
    story.tell(state, stage)
    assert kept(state) != earlier
    assert take_back(state, stage) is None
    now = kept(state)
    assert {at: now[at] for at in earlier} == earlier
    made = [each for at, each in now.items() if at not in earlier]
    assert {getattr(each, "status", "") for each in made} <= {"void"}


BUILT_ON = [
    ("first_run", "second_run"),
    ("second_run", "cleaned"),
    ("opened", "cleaned"),
    ("cleaned", "closed"),
    ("cleaned", "dried"),
    ("dried", "assayed"),
    ("closed", "third_run"),
]


@pytest.mark.parametrize(("stage", "later"), BUILT_ON)
def test_what_was_built_on_is_not_taken_back(stage: str, later: str):
    assert take_back(upto(later), stage) == "cannot_void"


def test_a_run_taken_back_is_said_again_with_another_load_id():
    state = upto("first_run")
    assert take_back(state, "first_run") is None
    assert item(state, "SOL-1").status == "held"
    assert story.refused(state, "first_run", {}) == "item_id_used"
    again = barren("BRN-1b", "2950", "4", "1")
    story.tell(state, "first_run", load="CL-1b", barren=again)
    assert item(state, "CL-1b").parents == ("SOL-1",)


def test_a_retorting_taken_back_gives_the_sludge_back():
    state = upto("dried")
    earlier = kept(state)
    said = {
        "item": "SLU-1", "calcine": "CAL-1", "gross": reading("5500.0", "g", "BB1"),
        "vessel": "TR1", "start_c": "80", "end_c": "620", "retort": "RT1",
        "condenser_checked": True, "mercury": reading("540.0", "g", "BB1"),
    }  # fmt: skip
    say(state, MaterialRetorted, said, at="2026-10-09T18:00:00+02:00", entry="entry-rt")
    correct(state, "entry-rt", "material.retorted", "void")
    now = kept(state)
    assert {at: now[at] for at in earlier} == earlier
    assert item(state, "CAL-1").status == "void"
