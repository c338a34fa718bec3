"""Ampere-hours out of an ammeter's readings.

Between two readings the current is taken as their mean (the trapezoidal rule); before
the first and after the last it is taken as that reading. The sum is exact, in half
ampere-seconds, and rounded once to a thousandth of an ampere-hour, ties to even.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from goldroom.errors import OutOfRange
from goldroom.metal.rounding import exact_arithmetic, half_even, quotient

AMPERE_HOUR_STEP = Decimal("0.001")
HALF_AMPERE_SECONDS = 7200
"""Halves of an ampere-second in an ampere-hour."""


def ampere_hours(
    readings: Sequence[tuple[int, Decimal]], *, duration_s: int
) -> Decimal:
    """Return the charge of a run from (seconds since its start, amperes) in order.

    Raises OutOfRange without a reading, or with one outside the run or out of order.
    """
    times = [seconds for seconds, _ in readings]
    inside = bool(times) and times[0] >= 0 and times[-1] <= duration_s
    if not inside or times != sorted(times):
        raise OutOfRange(
            f"Amperes were read at {times} seconds of a run of {duration_s}; expected"
            " at least one reading, in order, within the run.",
            field="readings",
        )
    amperes = [each for _, each in readings]
    held = [(0, amperes[0]), *readings, (duration_s, amperes[-1])]
    with exact_arithmetic():
        halves = sum(
            ((b - a) * (before + after) for (a, before), (b, after) in pairwise(held)),
            Decimal(0),
        )
    return half_even(quotient(halves, Decimal(HALF_AMPERE_SECONDS)), AMPERE_HOUR_STEP)
