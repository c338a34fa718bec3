"""What cannot be weighed: estimated better, found in equipment, estimated anew."""

from typing import Any

from goldroom.statements.stock import HOLD_UP_SORTS, StockEstimated
from tests.goldroom.simulated.metal import Metal, estimate
from tests.goldroom.simulated.walk import Walk


def better(walk: Walk) -> bool:
    """Say a better figure of something that was estimated and never assayed."""
    names = _guessed(walk)
    if not names:
        return False
    name = walk.random.choice(names)
    values = {"item": name, **estimate(walk.truth[name])}
    wrong = {**values, "gold_g": "3.25"} if walk.chance(0.3) else None
    walk.say(StockEstimated, values, wrong=wrong)
    return True


def _guessed(walk: Walk) -> list[str]:
    """Return what rests on an estimate alone."""
    return [
        each
        for each in walk.held(*HOLD_UP_SORTS)
        if walk.item(each).estimates
        and not walk.item(each).assays
        and walk.item(each).step != "hopper"
    ]


def find(walk: Walk) -> bool:
    """Find metal that no book knew of, in the equipment of a step."""
    draw = walk.random
    step, sort, where = draw.choice(
        (
            ("electrowinning", "heel", {"place": "gold_room", "vessel": "EC1"}),
            ("electrowinning", "solution", {"place": "gold_room", "vessel": "TK2"}),
            ("leach", "sweepings", {"place": "gold_room"}),
            ("leach", "solution", {"place": "gold_room"}),
            ("smelt", "sweepings", {"place": "gold_room"}),
            ("table", "other", {"place": "gold_room"}),
        )
    )
    metal = Metal(0, draw.randint(100, 5000), draw.randint(0, 500))
    name = walk.new("FND")
    values: dict[str, Any] = {
        "item": name, **estimate(metal),
        "new": {"sort": sort, "step": step, "source": "other", **where},
    }  # fmt: skip
    wrong = {**values, "gold_g": "9.5"} if walk.chance(0.3) else None
    walk.say(StockEstimated, values, truth={name: metal}, wrong=wrong)
    return True


def anew(walk: Walk) -> bool:
    """Say what is there now in place of an earlier estimate: as much as there was."""
    names = [each for each in _guessed(walk) if not walk.item(each).drawn]
    if not names:
        return False
    name = walk.random.choice(names)
    item, made = walk.item(name), walk.new("NEW")
    new: dict[str, Any] = {
        "sort": item.sort, "step": item.step, "source": item.source,
        "place": "gold_room", "instead_of": name,
    }  # fmt: skip
    where = walk.where([name])
    new |= {"vessel": where[0]} if where else {}
    values = {"item": made, **estimate(walk.truth[name]), "new": new}
    walk.say(StockEstimated, values, truth={made: walk.truth[name]})
    return True
