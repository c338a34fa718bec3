"""The mean of measured items, which stands in for the contents of their like.

Its uncertainty is the spread of the items that it comes from, at least `NARROWEST` of
it, and `WIDE` of it while they are fewer than `ENOUGH`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.contents import Contents

WIDE = 0.30
NARROWEST = 0.05
ENOUGH = 5


@dataclass(frozen=True, slots=True)
class Typical:
    """A mean of measured items: gold and silver per gram or per item, and spread."""

    gold: float
    silver: float
    relative_u: float
    count: int


def typical_of(group: Iterable[Contents], *, sized: bool) -> Typical | None:
    """Return the mean gold and silver per gram or litre, or per item; or None."""
    rows = [
        (
            grams(each.size) if sized else 1.0,
            grams(each.gold),
            grams(each.silver),
        )
        for each in group
        if not sized or grams(each.size) > 0
    ]
    size = sum(row[0] for row in rows)
    if not rows or size <= 0:
        return None
    gold = sum(row[1] for row in rows) / size
    silver = sum(row[2] for row in rows) / size
    return Typical(gold, silver, _relative_spread(rows, gold), len(rows))


def _relative_spread(rows: Sequence[tuple[float, float, float]], mean: float) -> float:
    """Return what one more item may differ from the mean by, as a share of it."""
    count = len(rows)
    if count < ENOUGH or mean <= 0:
        return WIDE
    squares = sum((gold / size - mean) ** 2 for size, gold, _ in rows)
    spread = math.sqrt(squares / (count - 1) * (1 + 1 / count)) / mean
    return max(spread, NARROWEST)


def grams(amount: Amount | None) -> float:
    """Return grams as a float, 0 where nothing is known."""
    return 0.0 if amount is None else float(amount.posted_g)
