"""Safes: things put in, counted, taken out."""

from typing import Any

from goldroom.statements.vault import KEPT, VaultCounted, VaultPlaced, VaultTaken
from tests.goldroom.simulated.walk import Walk


def place(walk: Walk) -> bool:
    """Put things into a safe."""
    things = walk.held(*KEPT)
    if not things:
        return False
    names, safe = walk.some(things), walk.random.choice(("S1", "S2"))
    opened = walk.opened([safe, *walk.where(names)])
    closed = walk.closed([safe], opened)
    values: dict[str, Any] = {"safe": safe, "items": names}
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    walk.say(VaultPlaced, values)
    return True


def count(walk: Walk) -> bool:
    """Count a safe; now and then a thing is not found."""
    safe = walk.vessel(walk.random.choice(("S1", "S2")))
    found = list(safe.contents)
    if found and walk.chance(0.2):
        found.pop()
    opened = walk.opened([safe.vessel])
    closed = walk.closed([safe.vessel], opened)
    values: dict[str, Any] = {"safe": safe.vessel}
    values |= {"found": found} if found else {}
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    walk.say(VaultCounted, values)
    return True


def take(walk: Walk) -> bool:
    """Take things out of a safe, to a place or into a drum."""
    safe = walk.vessel(walk.random.choice(("S1", "S2")))
    inside = [each for each in safe.contents if walk.item(each).sort in KEPT]
    if not inside:
        return False
    where = walk.random.choice(
        ({"place": "gold_room"}, {"vessel": "D3"}, {"vessel": "B1"})
    )
    opened = (
        walk.opened([safe.vessel, *where.values()])
        if "vessel" in where
        else (walk.opened([safe.vessel]))
    )
    closed = walk.closed([safe.vessel], opened)
    values: dict[str, Any] = {
        "safe": safe.vessel, "items": walk.some(inside), "purpose": "other", **where,
    }  # fmt: skip
    values |= {"opened": opened} if opened else {}
    values |= {"closed": closed} if closed else {}
    walk.say(VaultTaken, values)
    return True
