"""Hoppers and vessels opened, closed, sealed and looked at."""

from typing import Any

from goldroom.statements.hopper import HopperClosed, HopperDrawnOff, HopperOpened
from goldroom.statements.seals import (
    SealFitted,
    SealInspected,
    SealRemoved,
    SealsIssued,
)
from tests.goldroom.simulated.walk import Walk


def tend_hopper(walk: Walk) -> bool:
    """Draw off water, open or close a hopper."""
    hopper = walk.vessel(walk.random.choice(("H1", "H2")))
    if walk.chance(0.3):
        said = {"hopper": hopper.vessel, "water_to": "sump", "reason": "too high"}
        walk.say(HopperDrawnOff, said)
    elif hopper.is_open:
        seals = walk.fit(hopper.vessel)
        if len(seals) < sum(1 for each in hopper.points if not each.seal):
            return issue_seals(walk)
        walk.say(HopperClosed, {"hopper": hopper.vessel, "seals_fitted": seals})
    else:
        seals = walk.unseal(hopper.vessel)
        if walk.chance(0.5):
            seals = seals[:1]
        said = {"hopper": hopper.vessel, "reason": "to look in", "seals_removed": seals}
        walk.say(HopperOpened, said)
    return True


def tend_seals(walk: Walk) -> bool:
    """Fit, look at, or take off the seals of a vessel."""
    names = ("D1", "D2", "D4", "S1", "S2", "F2", "H1", "B1")
    vessel = walk.vessel(walk.random.choice(names))
    seals = walk.unseal(vessel.vessel)
    if not seals:
        fitted = walk.fit(vessel.vessel)
        if not fitted:
            return issue_seals(walk)
        fitted = walk.some(fitted)  # type: ignore[arg-type,assignment]
        walk.say(SealFitted, {"vessel": vessel.vessel, "seals_fitted": fitted})
        return True
    seen = [{k: v for k, v in row.items() if k != "remains_kept"} for row in seals]
    if walk.chance(0.5):
        if walk.chance(0.2):
            seen[0] = {**seen[0], "seal": "none", "tamper_signs": "cut"}
        walk.say(SealInspected, {"vessel": vessel.vessel, "seals_seen": seen})
        return True
    points = [row["point"] for row in seals]
    renewed = walk.fit(vessel.vessel, bare=points) if walk.chance(0.5) else []
    values: dict[str, Any] = {
        "vessel": vessel.vessel, "seals_removed": seals, "reason": "found loose",
    }  # fmt: skip
    walk.say(SealRemoved, {**values, "seals_fitted": renewed} if renewed else values)
    return True


def issue_seals(walk: Walk) -> bool:
    """Issue ten seals of a new series."""
    series = walk.new("X")
    values = {"series": series, "first": 1, "last": 10, "issued_to": "p-sefu"}
    walk.say(SealsIssued, values)
    return True
