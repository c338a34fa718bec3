"""One cell's load from two solutions to dried sludge, its metal known. All invented.

`upto(stage)` gives a room in which everything up to that stage was said:

    first_run, second_run, opened, cleaned, closed, dried, anodes_dried, assayed,
    third_run, calcined

SOL-1 came by gravity, SOL-2 (eluate) did not. To the milligram:

    gold, g    1800 + 1000 put in - 11.8 - 9.9 barren - 0.4 wash water = 2777.9 called
    silver, g  210 + 120 put in - 2.95 - 3.96 barren - 0.02 wash water = 323.07 called

    gold, g    2720 cathodes + 20 anodes + 30 left behind = 2770, 7.9 missing
    silver, g  316 cathodes + 2 anodes + 4 left behind = 322, 1.07 missing
"""

from copy import deepcopy
from decimal import Decimal
from typing import Any

from goldroom.custody import figures, moves
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.cell_cleanup import CellsCleaned
from goldroom.statements.cells import CellsClosed, CellsOpened, CellsRun
from goldroom.statements.drying import MaterialCalcined, MaterialDried
from goldroom.statements.kind import Statement
from tests.goldroom.room import act, fitted, reading, removed, room, say, vessel
from tests.goldroom.story import CHEMISTS, put

CALLED = {"gold": "2777.900", "silver": "323.070"}
FOUND = {"gold": "2770.000", "silver": "322.000"}
MISSING = {"gold": "7.900", "silver": "1.070"}

SOLUTIONS = (
    # item, litres, gold and silver in mg/L, source, since
    ("SOL-1", "3000", "600", "70", "gravity", "2026-10-05T20:00:00+02:00"),
    ("SOL-2", "2000", "500", "60", "other", "2026-10-06T20:00:00+02:00"),
    ("SOL-3", "1000", "400", "50", "gravity", "2026-10-09T05:00:00+02:00"),
)


def barren(item: str, litres: str, gold: str, silver: str, **more: Any) -> Any:
    """Return a barren solution that went to the mill, unless something else is said."""
    return {
        "item": item, "volume_l": litres, "gold_mg_l": gold, "silver_mg_l": silver,
        "goes_to": "mill", **more,
    }  # fmt: skip


STAGES: dict[str, tuple[type[Statement], str, dict[str, Any]]] = {
    "first_run": (
        CellsRun,
        "2026-10-06T08:00:00+02:00",
        {
            "cell": "EC1",
            "load": "CL-1",
            "solutions": ["SOL-1"],
            "started_at": "2026-10-05T22:00:00+02:00",
            "ended_at": "2026-10-06T08:00:00+02:00",
            "readings": [
                {
                    "at": "2026-10-05T22:00:00+02:00",
                    "amperes": "480",
                    "volts": "3.1",
                    "pregnant_mg_l": "598",
                },
                {
                    "at": "2026-10-06T03:00:00+02:00",
                    "amperes": "520",
                    "volts": "3.2",
                    "pregnant_mg_l": "210",
                    "barren_mg_l": "60",
                },
                {
                    "at": "2026-10-06T08:00:00+02:00",
                    "amperes": "500",
                    "barren_mg_l": "4",
                },
            ],
            "barren": barren(
                "BRN-1",
                "2950",
                "4",
                "1",
                samples=[
                    {"item": "BRN-1-1", "volume_ml": "100", "taken_by": "Leith Orban"}
                ],
            ),
        },
    ),
    "second_run": (
        CellsRun,
        "2026-10-07T08:00:00+02:00",
        {
            "cell": "EC1",
            "solutions": ["SOL-2"],
            "started_at": "2026-10-06T21:00:00+02:00",
            "ended_at": "2026-10-07T08:00:00+02:00",
            "charge_ah": "5400",
            "barren": barren("BRN-2", "1980", "5", "2", goes_to="leach", tank="TK2"),
        },
    ),
    "opened": (
        CellsOpened,
        "2026-10-08T07:00:00+02:00",
        {
            "cell": "EC1",
            "reason": "cleanup",
            "seals_removed": [removed("lid", "S-0041")],
        },
    ),
    "cleaned": (
        CellsCleaned,
        "2026-10-08T09:00:00+02:00",
        {
            "cell": "EC1",
            "load": "CL-1",
            "cathodes": 12,
            "sludges": [
                {
                    "item": "SLU-1",
                    "came_off": "cathodes",
                    "vessel": "TR1",
                    "gross": reading("9.6", "kg", "PS1"),
                },
                {
                    "item": "SLU-2",
                    "came_off": "anodes",
                    "vessel": "TR2",
                    "gross": reading("4.5", "kg", "PS1"),
                },
            ],
            "wash_water": barren("WW-1", "200", "2", "0.1"),
            "heel": {
                "item": "HL-1",
                "gold_g": "30",
                "gold_u_g": "10",
                "silver_g": "4",
                "silver_u_g": "2",
                "method": "cathodes weighed clean and as they are",
            },
        },
    ),
    "closed": (
        CellsClosed,
        "2026-10-08T10:00:00+02:00",
        {
            "cell": "EC1",
            "found": "one cathode lead renewed",
            "seals_fitted": [fitted("lid", "S-0010")],
        },
    ),
    "dried": (
        MaterialDried,
        "2026-10-08T18:00:00+02:00",
        {
            "item": "SLU-1",
            "gross": reading("6100.0", "g", "BB1"),
            "vessel": "TR1",
            "start_c": "110",
            "end_c": "180",
            "oven": "OV1",
        },
    ),
    "anodes_dried": (
        MaterialDried,
        "2026-10-08T18:20:00+02:00",
        {
            "item": "SLU-2",
            "wet_gross": reading("4400.0", "g", "BB1"),
            "gross": reading("3000.0", "g", "BB1"),
            "vessel": "TR2",
            "start_c": "110",
            "end_c": "180",
            "oven": "OV1",
        },
    ),
    "assayed": (
        AssayReported,
        "2026-10-09T12:00:00+02:00",
        {
            "laboratory": "lab",
            "method": "fire_assay",
            "standing": "final",
            "sampler": "scoop-1",
            "results": [
                {
                    "items": ["SLU-1"],
                    "sample": "E-11",
                    "unit": "gpt",
                    "gold": "680000",
                    "silver": "79000",
                },
                {
                    "items": ["SLU-2"],
                    "sample": "E-12",
                    "unit": "gpt",
                    "gold": "20000",
                    "silver": "2000",
                },
            ],
        },
    ),
    "third_run": (
        CellsRun,
        "2026-10-10T08:00:00+02:00",
        {
            "cell": "EC1",
            "load": "CL-2",
            "solutions": ["SOL-3"],
            "started_at": "2026-10-09T20:00:00+02:00",
            "ended_at": "2026-10-10T08:00:00+02:00",
            "charge_ah": "6000",
            "barren": barren("BRN-3", "1000", "3", "1", goes_to="cells", tank="TK1"),
        },
    ),
    "calcined": (
        MaterialCalcined,
        "2026-10-10T14:00:00+02:00",
        {
            "item": "SLU-1",
            "calcine": "CAL-1",
            "gross": reading("5700.0", "g", "BB1"),
            "vessel": "TR1",
            "start_c": "200",
            "end_c": "650",
            "furnace": "F1",
            "driven_off": "water and sulphur",
        },
    ),
}


def entry_of(stage: str) -> str:
    """Return the id of the entry that said a stage."""
    return f"entry-of-{stage}"


def values(stage: str, **changed: Any) -> dict[str, Any]:
    """Return what a stage says, with some values changed (None drops one)."""
    said = {**deepcopy(STAGES[stage][2]), **changed}
    return {name: value for name, value in said.items() if value is not None}


def tell(state: State, stage: str, **changed: Any) -> Statement:
    """Say a stage, with some values changed; return it. Raises its refusal."""
    kind, at, _ = STAGES[stage]
    more: dict[str, Any] = {"people": CHEMISTS} if stage == "assayed" else {}
    return say(
        state, kind, values(stage, **changed), at=at, entry=entry_of(stage), **more
    )


def refused(state: State, stage: str, changed: dict[str, Any]) -> str | None:
    """Return the code with which a stage is refused when changed so; None if not."""
    try:
        tell(state, stage, **changed)
    except Refusal as refusal:
        return refusal.code
    return None


def upto(stage: str) -> State:
    """Return a room in which everything up to a stage was said."""
    state = cell_room()
    for each in STAGES:
        tell(state, each)
        if each == stage:
            break
    return state


def before(stage: str) -> State:
    """Return a room in which everything before a stage was said."""
    state = cell_room()
    for each in STAGES:
        if each == stage:
            break
        tell(state, each)
    return state


def cell_room() -> State:
    """Return a room with a furnace, and three pregnant solutions in tanks."""
    state = room()
    state.put(vessel("F1", "furnace", "gold_room", {}))
    for item, litres, gold, silver, source, at in SOLUTIONS:
        add_solution(state, item, litres, gold, silver, source=source, at=at)
    state.settle()
    return state


def add_solution(
    state: State,
    item: str,
    litres: str,
    gold: str,
    silver: str,
    *,
    source: str = "gravity",
    at: str = "2026-10-05T20:00:00+02:00",
) -> None:
    """Put a pregnant solution into tank TK1 as opening stock, assayed."""
    done = act("stock.opened", at=at, entry=f"entry-of-{item}")
    new = moves.NewItem(
        item=item,
        sort="solution",
        step="electrowinning",
        vessel="TK1",
        source=source,
        is_opening=True,
    )
    put(state, moves.make(state, done, new))
    put(
        state,
        figures.volume(
            state, done, item=item, litres=Decimal(litres), tank="TK1", path="volume"
        ),
    )
    content = figures.Content(unit="mg_l", gold=Decimal(gold), silver=Decimal(silver))
    origin = figures.Origin(
        assay_id=f"A-{item}",
        sample=f"A-{item}",
        standing="final",
        laboratory="lab",
        method="atomic_absorption",
        sampler="dipper",
        wanted_for="solution",
    )
    put(state, figures.assay(state, done, item=item, content=content, origin=origin))
