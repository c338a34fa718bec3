"""Bars stamped, weighed, drilled and weighed again."""

from typing import Any

from goldroom.statements.bars import BarNumbered, BarReweighed
from tests.goldroom.simulated.metal import (
    Metal,
    balance,
)
from tests.goldroom.simulated.walk import Walk

GRAM = 1000
"""Milligrams."""


def number_bar(walk: Walk, *, is_wrong: bool = True) -> bool:
    """Stamp a bar and weigh it, once or twice."""
    bars = walk.held("bar", step="smelt")
    if not bars:
        return False
    name = walk.random.choice(bars)
    mass = walk.truth[name].dry // 100
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"item": name, "stamped": walk.new("KR")}
    values |= _read(walk, mass)
    values |= {"opened": opened} if opened else {}
    wrong = None
    if is_wrong and mass > 200 and walk.chance(0.25):
        wrong = {**values, "first": balance(mass - walk.random.randint(11, 90))}
    walk.say(BarNumbered, values, wrong=wrong)
    return True


def _read(walk: Walk, mass: int) -> dict[str, Any]:
    """Return one reading of a bar, or two with the truth between them."""
    if walk.chance(0.5):
        return {"first": balance(mass)}
    return {"first": balance(mass + 1), "second": balance(mass - 1)}


def drill_bar(walk: Walk) -> bool:
    """Weigh a numbered bar again, after something was taken off it or not."""
    bars = [
        each
        for each in walk.held("bar", step="vault")
        if walk.truth[each].dry > 60 * GRAM
    ]
    if not bars:
        return False
    draw = walk.random
    name = draw.choice(bars)
    bar = walk.truth[name]
    gold, silver = bar.gold * GRAM // bar.dry, bar.silver * GRAM // bar.dry
    truth, rows = {}, []
    for _ in range(draw.randint(0, 2)):
        mass_g, way = draw.randint(2, 9), draw.choice(("drill", "drill", "cleaning"))
        taken = walk.new(way.upper())
        truth[taken] = Metal(mass_g * GRAM, mass_g * gold, mass_g * silver)
        bar -= truth[taken]
        rows.append(
            {"item": taken, "taken_by": way, "mass": balance(mass_g * 10, "BB1")}
        )
    opened = walk.opened(walk.where([name]))
    values: dict[str, Any] = {"item": name, **_read(walk, bar.dry // 100)}
    values |= {"opened": opened} if opened else {}
    values |= {"taken": rows} if rows else {}
    wrong = None
    if walk.chance(0.25):
        wrong = {**values, "first": balance(bar.dry // 100 - 17)}
    walk.say(BarReweighed, values, truth={**truth, name: bar}, wrong=wrong)
    return True
