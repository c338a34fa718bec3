"""Laboratory worksheets for tests, in the story's room after the pour. All invented."""

from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from typing import Any

from goldroom.custody.records import Marker
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements import fold
from goldroom.statements.fields import parse
from goldroom.statements.fire_assay import FireAssayReported
from goldroom.statements.kind import Statement
from goldroom.statements.record import RecordCorrected
from goldroom.statements.results import replaced_marker
from goldroom.statements.screen_assay import ScreenAssayReported
from goldroom.statements.solution_assay import SolutionAssayReported
from tests.goldroom.room import act, say
from tests.goldroom.story import CHEMISTS, add_item, before, item

AT = "2026-10-12T10:00:00+02:00"
ENTRY = "entry-worksheet"
OTHERS = (("p-jonas", "officer"), ("p-sefu", "security"))

FIRE: dict[str, Any] = {
    "laboratory": "lab",
    "standing": "final",
    "sampler": "dip_ladle",
    "samples": [
        {
            "sample": "DIP-1",
            "items": ["BAR-1", "BAR-2", "DIP-1"],
            "unit": "permille",
            "portions": [
                {
                    "portion_mg": "250.12",
                    "cornet_mg": "210.86",
                    "bead_mg": "786.30",
                    "silver_added_mg": "550.00",
                },
                {
                    "portion_mg": "249.88",
                    "cornet_mg": "210.62",
                    "bead_mg": "786.00",
                    "silver_added_mg": "550.00",
                },
            ],
            "base": "38.1",
        }
    ],
    "proofs": [
        {
            "gold_taken_mg": "210.50",
            "gold_found_mg": "210.58",
            "silver_taken_mg": "580.00",
            "silver_found_mg": "575.60",
        },
        {
            "gold_taken_mg": "210.50",
            "gold_found_mg": "210.60",
            "silver_taken_mg": "580.00",
            "silver_found_mg": "575.40",
        },
    ],
}

SCREEN: dict[str, Any] = {
    "laboratory": "lab",
    "standing": "final",
    "sampler": "spear",
    "screen_um": 106,
    "samples": [
        {
            "sample": "SMP-1",
            "items": ["LOT-1"],
            "unit": "gpt",
            "sample_g": "1000.00",
            "coarse_g": "18.62",
            "coarse_gold": "1250",
            "coarse_silver": "200",
            "fines_g": "981.38",
            "fines": [
                {"gold": "8.40", "silver": "2.1"},
                {"gold": "8.44", "silver": "1.9"},
            ],
        }
    ],
}

SOLUTION: dict[str, Any] = {
    "laboratory": "lab",
    "method": "atomic_absorption",
    "standing": "final",
    "sampler": "tank_tap",
    "gold_blank_mg_l": "0.02",
    "gold_detection_mg_l": "0.03",
    "silver_blank_mg_l": "0.00",
    "silver_detection_mg_l": "0.02",
    "solutions": [
        {
            "items": ["PREG-1"],
            "readings": [
                {
                    "sample": "SMP-2",
                    "dilution": "100",
                    "gold_mg_l": "4.12",
                    "silver_mg_l": "0.61",
                },
                {
                    "sample": "SMP-3",
                    "dilution": "100",
                    "gold_mg_l": "4.08",
                    "silver_mg_l": "0.59",
                },
            ],
        }
    ],
}


def laboratory() -> State:
    """Return the story's room before its assays, with samples and solutions.

    SMP-1 is of the lot, SMP-2 and SMP-3 of the pregnant solution PREG-1, SMP-9 was
    replaced by SMP-1, SMP-0 was taken back.
    """
    state = before("assayed")
    for name in ("PREG-1", "BARREN-1"):
        add_item(state, name, "solution", step="electrowinning")
    for name, parent in (
        ("SMP-1", "LOT-1"),
        ("SMP-2", "PREG-1"),
        ("SMP-3", "PREG-1"),
        ("SMP-9", "LOT-1"),
        ("SMP-0", "LOT-1"),
    ):
        add_item(state, name, "sample", step="table")
        state.put(replace(item(state, name), drawn_from=parent, parents=(parent,)))
    state.put(replace(item(state, "SMP-0"), status="void"))
    state.put(Marker(name=replaced_marker("SMP-9"), value="SMP-1", entry="entry-7"))
    state.settle()
    return state


def changed(values: dict[str, Any], change: Callable[[Any], object]) -> dict[str, Any]:
    """Return a worksheet that a change was made to."""
    copy = deepcopy(values)
    change(copy)
    return copy


def report(
    state: State,
    values: dict[str, Any],
    kind: type[Statement] = FireAssayReported,
) -> Any:
    """Say a worksheet; return the statement. Raises its refusal."""
    return say(state, kind, values, at=AT, people=CHEMISTS, entry=ENTRY)


def code_of(values: dict[str, Any], kind: type[Statement]) -> tuple[str, str] | None:
    """Return the code and field with which a worksheet is refused; None if not."""
    try:
        report(laboratory(), values, kind)
    except Refusal as refusal:
        return refusal.code, refusal.field
    return None


def correct(
    state: State, kind: type[Statement], values: dict[str, Any] | None
) -> RecordCorrected:
    """Put a worksheet's figures right, or take it back without values."""
    said = parse(
        RecordCorrected,
        {
            "entry": ENTRY,
            "mode": "void" if values is None else "figures",
            "kind": kind.kind_name,
            "reason": "the cornets were mixed up.",
            **({} if values is None else {"values": values}),
        },
    )
    done = act(
        RecordCorrected,
        at="2026-10-20T09:00:00+02:00",
        people=OTHERS,
        entry="entry-correction",
        corrects=ENTRY,
    )
    fold.check(said, done, state)
    fold.fold(said, done, state)
    return said


WORKSHEETS: dict[type[Statement], dict[str, Any]] = {
    FireAssayReported: FIRE,
    ScreenAssayReported: SCREEN,
    SolutionAssayReported: SOLUTION,
}
