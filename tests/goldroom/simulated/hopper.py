"""A hopper weighed at a mark, on its cells or as settled solids."""

from typing import Any

from goldroom.statements.hopper import HopperWeighed
from tests.goldroom.simulated.metal import KG, STEP, kilograms
from tests.goldroom.simulated.walk import Walk


def gross_of(dry: int, mark: str) -> dict[str, str]:
    """Return what H1's cells show over these solids, the water at a mark.

    Solids of 4200 kg/m3 weigh 16/21 of their mass above the water they displace.
    """
    above = 650 + 1000 * int(mark[1:])
    shown = kilograms(above * KG + dry * 16 // 21)
    return {"reading": shown, "unit": "kg", "instrument": "LC1"}


def weigh_hopper(walk: Walk, hopper: str = "") -> bool:
    """Weigh a hopper at a mark: on cells, or by its settled solids."""
    hopper = hopper or walk.random.choice(("H1", "H1", "H2"))
    held = walk.vessel(hopper)
    dry = walk.total(held.contents).dry
    load, mark = walk.new("LOAD"), walk.random.choice(held.marks).mark
    values: dict[str, Any] = {"load": load, "hopper": hopper, "mark": mark}
    wrong = None
    if hopper == "H1":
        values["gross"] = gross_of(dry, mark)
        off = STEP * walk.random.randint(1, 40)
        wrong = {**values, "gross": gross_of(dry + off, mark)}
    else:
        if dry < 10 * KG:
            return False
        values["settled_kg_m3"] = kilograms(dry * 10)
        wrong = {**values, "settled_kg_m3": kilograms(dry * 10 + 10 * KG)}
    walk.say(
        HopperWeighed,
        values,
        truth={load: walk.total(held.pending_flushes)},
        wrong=wrong if walk.chance(0.15) else None,
    )
    return True
