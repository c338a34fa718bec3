"""Cells: solutions run through them, opened and closed, cleaned; some of it stolen."""

from datetime import timedelta
from typing import Any

from goldroom.statements.cell_cleanup import CellsCleaned
from goldroom.statements.cells import CellsClosed, CellsOpened, CellsRun
from tests.goldroom.simulated.metal import (
    KG,
    PORTION,
    Metal,
    content,
    estimate,
    weight,
)
from tests.goldroom.simulated.seals import issue_seals
from tests.goldroom.simulated.walk import Walk

CELL = "EC1"
CAME_OFF = ("cathodes", "anodes", "filter_cake", "spillage")
TRAYS = ("TR1", "TR2", "D3")
WET_OF_FOUR = 5
"""Parts of wet sludge that four parts of dry make."""


def _inside(walk: Walk, *sorts: str) -> list[str]:
    return [e for e in walk.vessel(CELL).contents if walk.item(e).sort in sorts]


def run(walk: Walk) -> bool:
    """Run solutions through the closed cell, with what an earlier cleanup left."""
    ready = walk.held("solution")
    if not ready or walk.vessel(CELL).is_open:
        return False
    names = walk.some(ready, 3)
    loads, heels = _inside(walk, "cell_load"), _inside(walk, "heel")
    load = loads[0] if loads else walk.new("CL")
    inside = walk.total([*names, *heels, *loads])
    barren, truth, out = _let_out(walk, inside, share=(0, 4))
    at = walk.clock - timedelta(days=2)
    values: dict[str, Any] = {
        "cell": CELL, "solutions": names, "charge_ah": "90000",
        "started_at": (at - timedelta(hours=9)).isoformat(),
        "ended_at": (at - timedelta(hours=9) + timedelta(minutes=1)).isoformat(),
        "barren": barren,
    }  # fmt: skip
    if not loads or walk.chance(0.3):
        values["load"] = load
    tanks = [barren["tank"]] if "tank" in barren else []
    opened = walk.opened([*walk.where(names), *tanks])
    values |= {"opened": opened} if opened else {}
    wrong = None
    if walk.chance(0.2):
        off = {"volume_l": f"{barren['volume_l']}1", "gold_mg_l": "0.5"}
        wrong = {**values, "barren": {**barren, **off}}
    truth[load] = inside - out
    walk.say(CellsRun, values, truth=truth, wrong=wrong)
    return True


def _let_out(
    walk: Walk, inside: Metal, *, share: tuple[int, int]
) -> tuple[dict[str, Any], dict[str, Metal], Metal]:
    """Return a solution's row, what it and its samples hold, and that together."""
    draw = walk.random
    part = draw.randint(*share)
    out = Metal(0, inside.gold * part // 100, inside.silver * part // 100)
    litres = str(draw.randint(20, 400))
    row: dict[str, Any] = {
        "item": walk.new("BRN"), "volume_l": litres,
        "gold_mg_l": content(out.gold, litres, "mg_l"),
        "silver_mg_l": content(out.silver, litres, "mg_l"),
        "goes_to": draw.choice(("mill", "leach", "cells")),
    }  # fmt: skip
    if row["goes_to"] != "mill":
        row["tank"] = draw.choice(("TK1", "TK2"))
    walk.litres[row["item"]] = litres
    kept, truth, samples = out, dict[str, Metal](), []
    for n in range(draw.choice((0, 0, 1, 2))):
        name = walk.new("BS")
        samples.append({"item": name, "volume_ml": "100", "taken_by": f"taker {n}"})
        truth[name] = Metal(0, out.gold // 500, out.silver // 500)
        walk.litres[name] = "0.1"
        kept -= truth[name]
    row |= {"samples": samples} if samples else {}
    return row, {**truth, row["item"]: kept}, out


def open_or_close(walk: Walk) -> bool:
    """Open the cell to look in or to repair it, or close and seal it."""
    cell = walk.vessel(CELL)
    if not cell.is_open:
        if walk.chance(0.6):
            return False
        said: dict[str, Any] = {"cell": CELL, "seals_removed": walk.unseal(CELL)}
        if walk.chance(0.3):
            said |= {"reason": "repair", "permit": "W-7", "present": "a fitter"}
        else:
            said["reason"] = walk.random.choice(("inspection", "cleanup"))
        walk.say(CellsOpened, said)
        return True
    seals = walk.fit(CELL)
    if not seals:
        return issue_seals(walk)
    walk.say(CellsClosed, {"cell": CELL, "seals_fitted": seals})
    return True


def clean(walk: Walk) -> bool:
    """Take sludge out of the cell: all that is left, unless a thief was there."""
    loads = _inside(walk, "cell_load")
    if not loads or walk.truth[loads[0]].gold < 1000:
        return False
    draw = walk.random
    load = loads[0]
    left = walk.truth[load]
    theft = walk.theft_of("electrowinning", left)
    left -= theft
    values: dict[str, Any] = {"cell": CELL, "load": load, "cathodes": 6}
    truth: dict[str, Metal] = {}
    if walk.chance(0.5):
        water, truth, out = _let_out(walk, left, share=(0, 2))
        values["wash_water"] = water
        left -= out
    if walk.chance(0.4):
        heel = Metal(0, left.gold * 3 // 100, left.silver * 3 // 100)
        name = walk.new("HEEL")
        values["heel"] = {"item": name, **estimate(heel)}
        truth[name] = heel
        left -= heel
    rows = []
    shares = draw.choice(((100,), (100,), (90, 100), (80, 5, 100)))
    for came_off, share in zip(CAME_OFF, shares, strict=False):
        gold, silver = left.gold * share // 100, left.silver * share // 100
        dry = (3 * (gold + silver) // PORTION + draw.randint(1, 60)) * PORTION
        row = _sludge(walk, came_off, dry)
        truth[row["item"]] = Metal(dry, gold, silver)
        left -= Metal(0, gold, silver)
        rows.append(row)
    values["sludges"] = rows
    tank = values.get("wash_water", {}).get("tank")
    opened = walk.opened(
        [CELL, *(row["vessel"] for row in rows), *filter(None, [tank])]
    )
    closed = walk.closed([CELL], opened)
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    wrong = None
    if walk.chance(0.2):
        heavy = weight(50 * KG + walk.random.randint(1, 9) * KG)
        wrong = {**values, "sludges": [{**rows[0], "gross": heavy}, *rows[1:]]}
    walk.say(
        CellsCleaned, values, truth={**truth, load: Metal()}, wrong=wrong,
        theft=("electrowinning", theft) if theft != Metal() else None,
    )  # fmt: skip
    return True


def _sludge(walk: Walk, came_off: str, dry: int) -> dict[str, Any]:
    """Return the row of a sludge, weighed wet."""
    tare = walk.random.randint(1, 5) * KG
    return {
        "item": walk.new("SLU"), "came_off": came_off,
        "vessel": walk.random.choice(TRAYS), "tare": weight(tare),
        "gross": weight(dry * WET_OF_FOUR // 4 + tare),
    }  # fmt: skip
