"""Batches leached: charged, sampled, dosed, drained, washed, residue taken out."""

from collections.abc import Callable
from typing import Any

from goldroom.custody.leach import LeachBatch
from goldroom.statements.kind import Statement
from goldroom.statements.leach import LEACHED, LeachCharged
from goldroom.statements.leach_residue import LeachDischarged, LeachReleased
from goldroom.statements.leach_running import LeachDosed, LeachSampled
from goldroom.statements.leach_solutions import LeachDrained, LeachWashed
from tests.goldroom.simulated.assays import assay_again
from tests.goldroom.simulated.drying import is_wet
from tests.goldroom.simulated.metal import (
    MOISTURES,
    PORTION,
    Metal,
    balance,
    weight,
)
from tests.goldroom.simulated.walk import Walk

CYANIDE = {"reagent": "sodium cyanide", "mass_kg": "1.5"}
TENTH = 100
"""Milligrams in a tenth of a gram, which the bench balance shows."""


def charge(walk: Walk) -> bool:
    """Charge a leach vessel with solids, and with solution kept for it."""
    if walk.held("leach_batch"):
        return False
    ready = [each for each in walk.held(*LEACHED) if _is_ready(walk, each)]
    solids = [each for each in ready if walk.item(each).sort != "solution"]
    if not solids:
        return False
    names = walk.some(solids, 3)
    names += [each for each in ready if each not in solids and walk.chance(0.5)]
    inside = walk.total(names)
    batch = walk.new("LB")
    opened = walk.opened([*walk.where(names), "LV1"])
    sources: list[dict[str, Any]] = []
    for name in names:
        row: dict[str, Any] = {"item": name}
        if name in solids and (is_wet(walk, name) or walk.chance(0.3)):
            row |= {"gross": weight(walk.truth[name].dry)}
        sources.append(row)
    values: dict[str, Any] = {
        "batch": batch, "vessel": "LV1", "sources": sources, "target_ph": "11.5",
        "reagents": [CYANIDE],
    }  # fmt: skip
    values |= {"opened": opened} if opened else {}
    closed = walk.closed(["LV1"], opened)
    values |= {"closed": closed} if closed else {}
    walk.say(LeachCharged, values, truth={batch: inside})
    for row in sources:
        if "gross" in row:
            assay_again(walk, row["item"])
    return True


def _is_ready(walk: Walk, name: str) -> bool:
    item = walk.item(name)
    if item.sort == "solution":
        return item.step == "leach"
    has_metal = item.estimates or item.assays
    is_known = has_metal or item.sort not in ("slag", "skull")
    dry = walk.truth[name].dry
    return bool(item.masses and is_known and dry and dry % PORTION == 0)


def go_on(walk: Walk) -> bool:
    """Say the next thing of the batch that is in the vessel."""
    batches = walk.held("leach_batch")
    if not batches:
        return False
    (batch,) = batches
    state = walk.state.get(LeachBatch, batch)
    assert state is not None
    acts: dict[str, list[Callable[[Walk, str], bool]]] = {
        "leaching": [sample, dose, drain, drain],
        "drained": [dose, wash, discharge],
        "washed": [drain, wash, discharge, discharge],
    }
    return walk.random.choice(acts[state.status])(walk, batch)


def sample(walk: Walk, batch: str) -> bool:
    """Read alkalinity and cyanide, and draw a sample or two off the batch."""
    rows, truth = _samples(walk, walk.truth[batch], most=2)
    values: dict[str, Any] = {"batch": batch, "ph": "11.2"}
    if walk.chance(0.5):
        values["titration"] = {
            "titrant_ml": "7.5", "titrant_g_l": "1.7332", "sample_ml": "10",
        }  # fmt: skip
    values |= {"samples": rows} if rows else {}
    wrong = {**values, "ph": "1.12"} if walk.chance(0.2) else None
    left = walk.truth[batch] - sum(truth.values(), Metal())
    walk.say(LeachSampled, values, truth={batch: left, **truth}, wrong=wrong)
    return True


def _samples(
    walk: Walk, inside: Metal, *, most: int
) -> tuple[list[dict[str, Any]], dict[str, Metal]]:
    """Return rows of solution samples of 100 mL each, and what they truly hold."""
    rows: list[dict[str, Any]] = []
    truth: dict[str, Metal] = {}
    for n in range(walk.random.randint(0, most)):
        name = walk.new("SS")
        rows.append({"item": name, "volume_ml": "100", "taken_by": f"taker {n}"})
        truth[name] = Metal(0, inside.gold // 5000, inside.silver // 5000)
        walk.litres[name] = "0.1"
    return rows, truth


def dose(walk: Walk, batch: str) -> bool:
    """Issue cyanide; of a drained batch, with water, to leach it again."""
    values: dict[str, Any] = {"batch": batch, "reagents": [CYANIDE], "reason": "low"}
    if walk.chance(0.4):
        values["water_l"] = "250"
    walk.say(LeachDosed, values)
    return True


def drain(walk: Walk, batch: str) -> bool:
    """Drain a share of the metal into a tank, for the cells."""
    return _let_out(walk, batch, LeachDrained, {}, share=(50, 95))


def wash(walk: Walk, batch: str) -> bool:
    """Wash the residue; the wash goes to the cells, is kept, or goes to the mill."""
    goes_to = walk.random.choice(("electrowinning", "next_batch", "mill"))
    more = {"water_l": "100", "goes_to": goes_to}
    return _let_out(walk, batch, LeachWashed, more, share=(1, 30))


def _let_out(
    walk: Walk,
    batch: str,
    kind: type[Statement],
    more: dict[str, Any],
    *,
    share: tuple[int, int],
) -> bool:
    inside = walk.truth[batch]
    part = walk.random.randint(*share)
    out = Metal(0, inside.gold * part // 100, inside.silver * part // 100)
    litres = str(walk.random.randint(20, 400))
    tank = walk.random.choice(("TK1", "TK2"))
    row: dict[str, Any] = {"item": walk.new("SOL"), "volume_l": litres}
    if more.get("goes_to") == "mill":
        row |= {"measured_by": "flow_meter", "gauge": "FM-1"}
    else:
        row |= {"measured_by": "tank_table", "tank": tank}
    samples, truth = _samples(walk, out, most=2)
    row |= {"samples": samples} if samples else {}
    walk.litres[row["item"]] = litres
    opened = walk.opened(["LV1", *([tank] if "tank" in row else [])])
    values: dict[str, Any] = {"batch": batch, "solution": row, **more}
    values |= {"opened": opened} if opened else {}
    wrong = None
    if walk.chance(0.2):
        wrong = {**values, "solution": {**row, "volume_l": f"{litres}0"}}
    kept = out - sum(truth.values(), Metal())
    truth |= {batch: inside - out, row["item"]: kept}
    walk.say(kind, values, truth=truth, wrong=wrong)
    return True


def let_go(walk: Walk) -> bool:
    """Send kept residue or wash solution back to the mill."""
    kept = walk.held("residue", "solution", step="leach")
    if not kept or walk.chance(0.4):
        return False
    opened = walk.opened(walk.where(kept[:1]))
    values: dict[str, Any] = {"item": kept[0]}
    walk.say(LeachReleased, values | ({"opened": opened} if opened else {}))
    return True


def discharge(walk: Walk, batch: str) -> bool:
    """Take the residue out: all that is left, unless a thief was there."""
    inside = walk.truth[batch]
    theft = walk.theft_of("leach", inside)
    left = inside - theft
    rows = []
    truth: dict[str, Metal] = {}
    parts = [left]
    if left.dry >= 2 * PORTION and walk.chance(0.4):
        dry = left.dry // PORTION // 2 * PORTION
        first = Metal(dry, left.gold // 3, left.silver // 3)
        parts = [first, left - first]
    for part in parts:
        row, known = _residue(walk, part)
        rows.append(row)
        truth |= known
    drums = [row["vessel"] for row in rows if "vessel" in row]
    opened = walk.opened(["LV1", *drums])
    values: dict[str, Any] = {"batch": batch, "residues": rows}
    values |= {"opened": opened} if opened else {}
    closed = walk.closed(drums, opened)
    values |= {"closed": closed} if closed else {}
    walk.say(
        LeachDischarged, values, truth={batch: Metal(), **truth},
        theft=("leach", theft) if theft != Metal() else None,
    )  # fmt: skip
    return True


def _residue(walk: Walk, part: Metal) -> tuple[dict[str, Any], dict[str, Metal]]:
    """Return a residue's row and what it and its sample truly hold."""
    percent, wet_of_thousand = walk.random.choice(MOISTURES)
    goes_to = walk.random.choice(("mill", "kept", "leach", "table"))
    name = walk.new("RES")
    row: dict[str, Any] = {
        "item": name, "goes_to": goes_to,
        "gross": weight(part.dry * wet_of_thousand // 1000), "tare": weight(0),
        "moisture_percent": percent, "oven": "OV1",
    }  # fmt: skip
    if goes_to != "mill":
        row["vessel"] = walk.random.choice(("D1", "D2", "D3", "D4"))
    truth = {name: part}
    if part.dry > PORTION and walk.chance(0.6):
        taken = walk.new("RS")
        row |= {
            "sample": taken,
            "sample_mass": balance(PORTION * wet_of_thousand // 1000 // TENTH, "BB1"),
        }  # fmt: skip
        truth[taken] = Metal(
            PORTION, part.gold * PORTION // part.dry, part.silver * PORTION // part.dry
        )
        truth[name] -= truth[taken]
    return row, truth
