"""Samples of the lot's story: taken, split, handed on, used, given back. Invented.

Each function gives what one statement says; `S-...` seals are the story's unused ones.
"""

from typing import Any

from goldroom.custody.state import State
from goldroom.statements.sample_moves import SampleMoved, SampleReturned
from goldroom.statements.sample_uses import SampleConsumed
from goldroom.statements.samples import SampleSplit, SampleTaken
from tests.goldroom import story
from tests.goldroom.room import reading, removed, say

TAKEN_AT = "2026-10-05T07:00:00+02:00"
SPLIT_AT = "2026-10-06T15:00:00+02:00"
MOVED_AT = "2026-10-06T16:30:00+02:00"
USED_AT = "2026-10-07T09:00:00+02:00"
BACK_AT = "2026-10-07T15:00:00+02:00"


def grams(digits: str) -> dict[str, Any]:
    """Return a reading of the bench balance."""
    return reading(digits, "g", "BB1")


def taken(**changed: Any) -> dict[str, Any]:
    """Return two spear samples of the sealed lot LOT-1."""
    values: dict[str, Any] = {
        "item": "LOT-1",
        "way": "spear",
        "opened": [{"vessel": "D1", "seals_removed": [removed("lid", "S-0003")]}],
        "samples": [
            {"item": "SP-1", "mass": grams("512.4")},
            {"item": "SP-2", "mass": grams("498.6"), "portion": "reserve",
             "seal": "S-0020"},
        ],
        "closed": [
            {"vessel": "D1", "seals_fitted": [{"point": "lid", "seal": "S-0019"}]}
        ],
    }  # fmt: skip
    return {**values, **changed}


def split(**changed: Any) -> dict[str, Any]:
    """Return the drillings DRL-1 (8.2 g) divided into three portions."""
    values: dict[str, Any] = {
        "sample": "DRL-1",
        "portions": [
            {"item": "P-1", "portion": "mine", "mass": grams("2.7")},
            {"item": "P-2", "portion": "refiner", "mass": grams("2.8")},
            {"item": "P-3", "portion": "umpire", "mass": grams("2.7"),
             "seal": "S-0021"},
        ],
    }  # fmt: skip
    return {**values, **changed}


def moved(**changed: Any) -> dict[str, Any]:
    """Return the mine's portion and the umpire's handed to the laboratory."""
    values: dict[str, Any] = {
        "samples": [
            {"item": "P-1"},
            {"item": "P-3", "seal_seen": seen("S-0021")},
        ],
        "to": "lab",
        "received_by": "p-noor",
    }
    return {**values, **changed}


def seen(seal: str, signs: str = "none") -> dict[str, str]:
    """Return an envelope's seal as seen."""
    return {"seal": seal, "tamper_signs": signs}


def cut(seal: str, signs: str = "none", *, remains_kept: bool = True) -> dict[str, Any]:
    """Return an envelope's seal as seen before cutting."""
    return {**seen(seal, signs), "remains_kept": remains_kept}


def used(**changed: Any) -> dict[str, Any]:
    """Return 1 g of the mine's portion used and 1.7 g left."""
    values: dict[str, Any] = {
        "laboratory": "lab",
        "used": [
            {"sample": "P-1", "used_g": "1.000",
             "left": {"item": "P-1L", "mass_g": "1.700"}},
        ],
    }  # fmt: skip
    return {**values, **changed}


def back(**changed: Any) -> dict[str, Any]:
    """Return the cornets of the mine's portion given back."""
    values: dict[str, Any] = {
        "place": "gold_room",
        "returned": [
            {"item": "COR-1", "what": "cornets", "of": ["P-1"], "mass": grams("0.8"),
             "gold_g": "0.799", "gold_u_g": "0.010"},
        ],
    }  # fmt: skip
    return {**values, **changed}


def drilled() -> State:
    """Return the story up to the drillings of BAR-1."""
    return story.upto("reweighed")


def told(state: State, upto: str = "back") -> State:
    """Say split, moved, used and back, up to one of them."""
    for name, kind, values, at, people in (
        ("split", SampleSplit, split(), SPLIT_AT, None),
        ("moved", SampleMoved, moved(), MOVED_AT, None),
        ("used", SampleConsumed, used(), USED_AT, story.CHEMISTS),
        ("back", SampleReturned, back(), BACK_AT, None),
    ):
        more: dict[str, Any] = {} if people is None else {"people": people}
        say(state, kind, values, at=at, entry=f"entry-of-{name}", **more)
        if name == upto:
            break
    return state


def lot_sampled() -> State:
    """Return the lot's room with two spear samples taken off it."""
    state = story.lot_room()
    say(state, SampleTaken, taken(), at=TAKEN_AT, entry="entry-of-taken")
    return state


def lot_sampled_and_drilled() -> State:
    """Return the whole story up to the drillings, its lot sampled first."""
    state = lot_sampled()
    for stage in story.STAGES:
        changed: dict[str, Any] = {}
        if stage == "table":
            rows = [removed("lid", "S-0019")]
            changed = {"opened": [{"vessel": "D1", "seals_removed": rows}]}
        story.tell(state, stage, **changed)
        if stage == "reweighed":
            break
    return state
