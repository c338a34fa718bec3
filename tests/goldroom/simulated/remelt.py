"""Numbered bars put back into the furnace, alone or with other sources."""

from typing import Any

from goldroom.custody.figures import latest_mass
from goldroom.statements.remelt import RemeltCharged
from tests.goldroom.simulated.samples import envelopes
from tests.goldroom.simulated.smelt import chargeable
from tests.goldroom.simulated.walk import Walk


def is_told(walk: Walk, name: str) -> bool:
    """Return whether the book has a thing's true mass by its last weighing."""
    weighed = latest_mass(walk.state, name)
    return weighed is not None and weighed.dry_g * 1000 == walk.truth[name].dry


HEAVY = 250_000
"""Milligrams: so that what is lost to slag is more than a casting is rounded up by."""


def charge(walk: Walk) -> bool:
    """Charge a bar or two again."""
    bars = walk.held("bar", step="vault")
    bars = [e for e in bars if walk.truth[e].dry > HEAVY and is_told(walk, e)]
    if not bars:
        return False
    draw = walk.random
    names = walk.some(bars, 2)
    others = [each for each in chargeable(walk) if is_told(walk, each)]
    others = walk.some(others, 2) if others and walk.chance(0.4) else []
    furnace = draw.choice(("F1", "F2"))
    where = [*walk.where([*names, *others]), *envelopes(walk, others), furnace]
    opened = walk.opened(where)
    values: dict[str, Any] = {
        "charge": walk.new("CHG"), "furnace": furnace, "crucible": "K1",
        "crucible_uses": 2, "reason": draw.choice(("damaged", "not_homogeneous")),
        "bars": [{"item": each, "stamped": walk.item(each).label} for each in names],
    }  # fmt: skip
    values |= {"sources": [{"item": each} for each in others]} if others else {}
    values |= {"opened": opened} if opened else {}
    closed = walk.closed([furnace], opened)
    values |= {"closed": closed} if closed else {}
    walk.say(RemeltCharged, values)
    return True
