"""The strength of a solution from what an instrument read of it, diluted.

    strength = (reading - blank) x dilution

The blank is what the instrument read of the reagents alone, at the same dilution. A
dilution of 1 is none; 10 is one part made up to ten. A reading below the detection
limit says that the strength lies somewhere from nothing to limit x dilution: half of
that is taken, with a standard uncertainty of it over the square root of 12 (a
rectangular distribution, JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.metal.determinations import mean
from goldroom.metal.rounding import EXACT, exact_arithmetic, quotient

ABOUT_TEN = (Decimal(8), Decimal("12.5"))
"""Two results so many times apart look like one dilution of ten forgotten."""


@dataclass(frozen=True, slots=True)
class Strength:
    """A solution's metal in mg/L, and the limit that it was found below, if it was."""

    mg_l: Decimal
    limit_mg_l: Decimal | None = None


def strength(
    *,
    reading_mg_l: Decimal | None,
    blank_mg_l: Decimal,
    dilution: Decimal,
    detection_mg_l: Decimal,
) -> Strength:
    """Return a solution's strength; no reading means below the detection limit."""
    assert dilution >= 1
    with exact_arithmetic():
        net_mg_l = None if reading_mg_l is None else reading_mg_l - blank_mg_l
        if net_mg_l is not None and net_mg_l >= detection_mg_l:
            return Strength(net_mg_l * dilution)
        limit_mg_l = detection_mg_l * dilution
        return Strength(limit_mg_l * Decimal("0.5"), limit_mg_l)


def mean_strength(strengths: Sequence[Strength]) -> Strength:
    """Return the mean of independent samples, to 34 digits.

    Where any was below its limit, all that is said is that the mean lies between
    nothing and twice of it: samples that nobody could read do not become better
    known by being many.
    """
    middle_mg_l = mean([each.mg_l for each in strengths])
    if all(each.limit_mg_l is None for each in strengths):
        return Strength(middle_mg_l)
    return Strength(middle_mg_l, EXACT.multiply(middle_mg_l, Decimal(2)))


def is_about_tenfold(strengths: Sequence[Decimal]) -> bool:
    """Tell whether the strongest is about ten times the weakest."""
    weakest, strongest = min(strengths), max(strengths)
    if weakest <= 0:
        return False
    low, high = ABOUT_TEN
    return low <= quotient(strongest, weakest) <= high
