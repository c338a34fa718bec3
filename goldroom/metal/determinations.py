"""Several determinations of one thing: their mean, and how far they are apart.

Exact decimals; a mean is carried to 34 digits and rounded by whoever reports it.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from goldroom.metal.rounding import EXACT, exact_arithmetic, quotient

HUNDRED = Decimal(100)


def mean(values: Sequence[Decimal]) -> Decimal:
    """Return the plain mean of at least one value, to 34 digits."""
    assert values
    with exact_arithmetic():
        whole = sum(values, Decimal(0))
    return quotient(whole, Decimal(len(values)))


def spread(values: Sequence[Decimal]) -> Decimal:
    """Return the largest value less the smallest, exactly."""
    assert values
    return EXACT.subtract(max(values), min(values))


def spread_percent(values: Sequence[Decimal]) -> Decimal:
    """Return the spread as a share of the mean, per cent; 0 for a mean of 0."""
    middle = mean(values)
    if middle == 0:
        return Decimal(0)
    return quotient(EXACT.multiply(spread(values), HUNDRED), abs(middle))
