"""One leach batch's course, told in stages, with its metal known. All invented.

`upto(stage)` gives a room in which everything up to that stage was said:

    charged, sampled, dosed, drained, washed, made_up, drained_again, discharged,
    lot_assayed, solutions_assayed, residue_assayed

400 kg of dry concentrate at 5000 g/t gold and 600 g/t silver; 2 kg of it were drawn as
a sample before. What was charged comes out to the milligram:

    gold, g     1990.000 charged = 0.060 samples + 1800 + 100 + 50 solutions + 39.940
    silver, g    238.800 charged = 0.008 samples +  210 +  10 +  8 solutions + 10.792
"""

from copy import deepcopy
from decimal import Decimal
from typing import Any

from goldroom.custody import moves
from goldroom.custody.figures import mass, term
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.kind import Statement
from goldroom.statements.leach import LeachCharged
from goldroom.statements.leach_residue import LeachDischarged
from goldroom.statements.leach_running import LeachDosed, LeachSampled
from goldroom.statements.leach_solutions import LeachDrained, LeachWashed
from tests.goldroom.room import act, fitted, reading, removed, room, say, vessel
from tests.goldroom.story import CHEMISTS, add_item, put


def solution(item: str, litres: str, tank: str, *takers: str) -> dict[str, Any]:
    """Return a solution in a tank, sampled by these people."""
    samples = [
        {"item": f"{item}-{n}", "volume_ml": "50", "taken_by": taker}
        for n, taker in enumerate(takers, start=1)
    ]
    row = {
        "item": item, "volume_l": litres, "measured_by": "tank_table", "tank": tank,
    }  # fmt: skip
    return {**row, "samples": samples} if samples else row


def results(
    unit: str, *rows: tuple[list[str], str, str], method: str = "fire_assay"
) -> dict[str, Any]:
    """Return a laboratory's final report; a row is items, gold, silver."""
    return {
        "laboratory": "lab", "method": method, "standing": "final",
        "sampler": "spear-1",
        "results": [
            {"items": items, "sample": f"A-{items[0]}", "unit": unit, "gold": gold,
             "silver": silver}
            for items, gold, silver in rows
        ],
    }  # fmt: skip


STAGES: dict[str, tuple[type[Statement], str, dict[str, Any]]] = {
    "charged": (
        LeachCharged,
        "2026-10-06T08:00:00+02:00",
        {
            "batch": "LB-1",
            "vessel": "LV1",
            "opened": [{"vessel": "D1", "seals_removed": [removed("lid", "S-0003")]}],
            "sources": [{"item": "LOT-1"}],
            "solids_t": "0.40",
            "water_l": "3000",
            "reagents": [
                {"reagent": "caustic soda", "mass_kg": "6"},
                {"reagent": "sodium cyanide", "mass_kg": "60"},
            ],
            "target_ph": "12.0",
            "closed": [{"vessel": "LV1", "seals_fitted": [fitted("lid", "S-0004")]}],
        },
    ),
    "sampled": (
        LeachSampled,
        "2026-10-06T12:00:00+02:00",
        {
            "batch": "LB-1",
            "ph": "11.8",
            "oxygen_mg_l": "18.5",
            "titration": {
                "titrant_ml": "8.40",
                "titrant_g_l": "1.7332",
                "sample_ml": "25.0",
            },
            "samples": [
                {"item": "SS-1", "volume_ml": "50", "taken_by": "Amara Venn"},
                {"item": "SS-2", "volume_ml": "50", "taken_by": "Leith Orban"},
            ],
        },
    ),
    "dosed": (
        LeachDosed,
        "2026-10-06T16:00:00+02:00",
        {
            "batch": "LB-1",
            "reagents": [{"reagent": "sodium cyanide", "mass_kg": "12.5"}],
            "reason": "cyanide fell",
        },
    ),
    "drained": (
        LeachDrained,
        "2026-10-07T06:30:00+02:00",
        {
            "batch": "LB-1",
            "opened": [{"vessel": "LV1", "seals_removed": [removed("lid", "S-0004")]}],
            "solution": solution("SOL-1", "3000", "TK1", "Amara Venn", "Noor Hale"),
            "closed": [{"vessel": "TK1", "seals_fitted": [fitted("hatch", "S-0005")]}],
        },
    ),
    "washed": (
        LeachWashed,
        "2026-10-07T09:00:00+02:00",
        {
            "batch": "LB-1",
            "water_l": "1000",
            "solution": {
                "item": "SOL-2",
                "volume_l": "1000",
                "measured_by": "flow_meter",
                "gauge": "FM-2",
                "tank": "TK2",
            },
            "goes_to": "electrowinning",
        },
    ),
    "made_up": (
        LeachDosed,
        "2026-10-07T12:00:00+02:00",
        {
            "batch": "LB-1",
            "reagents": [{"reagent": "sodium cyanide", "mass_kg": "30"}],
            "water_l": "2000",
            "reason": "second leach",
        },
    ),
    "drained_again": (
        LeachDrained,
        "2026-10-08T06:30:00+02:00",
        {"batch": "LB-1", "solution": solution("SOL-3", "2000", "TK2")},
    ),
    "discharged": (
        LeachDischarged,
        "2026-10-08T10:00:00+02:00",
        {
            "batch": "LB-1",
            "residues": [
                {
                    "item": "RES-1",
                    "gross": reading("515.7", "kg", "PS1"),
                    "moisture_percent": "20",
                    "oven": "OV1",
                    "vessel": "D2",
                    "goes_to": "mill",
                    "sample": "RS-1",
                    "sample_mass": reading("500.0", "g", "BB1"),
                }
            ],
            "remaining": "a film of solution",
        },
    ),
    "lot_assayed": (
        AssayReported,
        "2026-10-09T08:00:00+02:00",
        results("gpt", (["LOT-1", "LS-1"], "5000", "600")),
    ),
    "solutions_assayed": (
        AssayReported,
        "2026-10-09T09:00:00+02:00",
        results(
            "mg_l",
            (["SS-1", "SS-2"], "600", "80"),
            (["SOL-1", "SOL-1-1", "SOL-1-2"], "600", "70"),
            (["SOL-2"], "100", "10"),
            (["SOL-3"], "25", "4"),
            method="spectrometer",
        ),
    ),
    "residue_assayed": (
        AssayReported,
        "2026-10-09T10:00:00+02:00",
        results("gpt", (["RES-1", "RS-1"], "100.3517588", "27.1155779")),
    ),
}


def entry_of(stage: str) -> str:
    """Return the id of the entry that said a stage."""
    return f"entry-leach-{stage}"


def values(stage: str, **changed: Any) -> dict[str, Any]:
    """Return what a stage says, with some values changed (None drops one)."""
    said = {**deepcopy(STAGES[stage][2]), **changed}
    return {name: value for name, value in said.items() if value is not None}


def tell(state: State, stage: str, **changed: Any) -> Statement:
    """Say a stage, with some values changed; return it. Raises its refusal."""
    kind, at, _ = STAGES[stage]
    more = {"people": CHEMISTS} if stage.endswith("assayed") else {}
    return say(
        state, kind, values(stage, **changed), at=at, entry=entry_of(stage), **more
    )


def told(*, before: str = "", **changed: dict[str, Any]) -> State:
    """Return a room in which all was said, or all before a stage, some of it changed.

    `changed` gives by stage the values that differ.
    """
    state = leach_room()
    for each in STAGES:
        if each == before:
            break
        tell(state, each, **changed.get(each, {}))
    return state


def upto(stage: str) -> State:
    """Return a room in which everything up to a stage was said."""
    names = list(STAGES)
    after = names[names.index(stage) + 1 :]
    return told(before=after[0] if after else "")


def refused(state: State, stage: str, changed: dict[str, Any]) -> str | None:
    """Return the code with which a stage is refused when changed so; None if not."""
    try:
        tell(state, stage, **changed)
    except Refusal as refusal:
        return refusal.code
    return None


def leach_room() -> State:
    """Return a room with LOT-1 (400 kg dry) in sealed D1; LS-1 (2 kg) drawn off it."""
    state = room()
    state.put(
        vessel("D1", "drum", "gold_room", {"lid": "S-0003"}, tare_kg=Decimal("18.5"))
    )
    add_item(state, "LOT-1", "lot", step="table", vessel_id="D1", dry_kg="400")
    sample(state, "LS-1", of="LOT-1", at="2026-10-05T08:00:00+02:00")
    state.settle()
    return state


def sample(
    state: State,
    name: str,
    *,
    of: str,
    at: str,
    grams: str = "2000",
    step: str = "table",
) -> None:
    """Draw a weighed sample of solids off an item, as a sampling does."""
    done = act("sample.taken", at=at)
    new = moves.NewItem(
        item=name, sort="sample", step=step, from_step=step, place="gold_room",
        parents=(of,),
    )  # fmt: skip
    put(state, moves.draw(state, done, new))
    weighed = term(state, done, path=name, instrument="BB1", grams=Decimal(grams))
    put(state, mass(state, done, item=name, terms=(weighed,), wanted_for="sample"))
