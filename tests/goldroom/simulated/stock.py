"""What the simulated room held as its ledger began."""

from typing import Any

from goldroom.statements.opening import StockOpened
from tests.goldroom.simulated.metal import (
    STEP,
    Metal,
    content,
    estimate,
    kilograms,
    weight,
)
from tests.goldroom.simulated.walk import Walk


def open_stock(walk: Walk) -> bool:
    """Say what the room held as the ledger began."""
    draw = walk.random
    rows: list[dict[str, Any]] = []
    truth: dict[str, Metal] = {}
    for sort, step, where in (
        ("heel", "hopper", {"place": "hopper_bay", "vessel": "H1"}),
        ("lot", "table", {"place": "gold_room", "vessel": "D2"}),
        ("middlings", "table", {"place": "gold_room", "vessel": "D3"}),
        ("sludge", "smelt", {"place": "gold_room"}),
        ("concentrate", "smelt", {"place": "gold_room", "vessel": "D3"}),
        ("slag", "smelt", {"place": "gold_room"}),
        ("bar", "vault", {"place": "vault", "vessel": "S1", "label": "OLD-1"}),
        ("sample", "smelt", {"place": "vault"}),
    ):
        if walk.chance(0.4):
            continue
        name = walk.new(f"OPEN-{sort}")
        metal = _opened_metal(walk, sort)
        row = {"item": name, "sort": sort, "step": step, "source": "other", **where}
        if sort == "heel":
            row |= {"dry_kg": kilograms(metal.dry), "dry_u_kg": "2"}
        if sort == "heel" or (sort in ("sludge", "slag") and walk.chance(0.6)):
            row["estimate"] = estimate(metal)
        else:
            row |= _weighed_stock(walk, name, sort, metal)
        rows.append(row)
        truth[name] = metal
    values = {
        "stock": rows, "last_bar_number": "OLD-1",
        "last_flushes": [
            {"unit": "U1", "counter_epoch": draw.randint(1, 2), "last_flush": 40}
        ],
    }  # fmt: skip
    wrong = None
    if rows and walk.chance(0.3):
        row = dict(rows[0])
        if "estimate" in row:
            row["estimate"] = {**row["estimate"], "gold_g": "1.5"}
        else:
            row["content"] = {**row["content"], "gold": "0.25"}
        wrong = {**values, "stock": [row, *rows[1:]]}
    walk.say(StockOpened, values, truth=truth, wrong=wrong)
    return True


def _opened_metal(walk: Walk, sort: str) -> Metal:
    draw = walk.random
    if sort in ("bar", "sample"):
        mass_g = draw.randint(200, 900)
        return Metal(mass_g * 1000, mass_g * draw.randint(600, 850), mass_g * 90)
    dry = STEP * draw.randint(10, 60)
    return Metal(dry, draw.randint(10_000, 90_000), draw.randint(1000, 9000))


def _weighed_stock(walk: Walk, name: str, sort: str, metal: Metal) -> dict[str, Any]:
    unit = "permille" if sort in ("bar", "sample") else "gpt"
    return {
        "net": weight(metal.dry),
        "content": {
            "assay": f"A-{name}", "sample": f"E-{name}", "standing": "final",
            "unit": unit, "gold": content(metal.gold, metal.dry, unit),
            "silver": content(metal.silver, metal.dry, unit), "laboratory": "lab",
            "method": "fire_assay", "sampler": "spear",
        },
    }  # fmt: skip
