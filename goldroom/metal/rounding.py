"""Exact decimal arithmetic and the roundings that may follow it.

Sums and products of recorded figures are exact: `exact_arithmetic` makes
Python raise rather than round. Quotients that do not end are carried to
`DIVISION_DIGITS` significant digits, far beyond any instrument. A figure is
rounded once, at the end, by a function of this module, named where it happens;
what rounds to nothing is 0, never -0.

Rounding rules: ISO 80000-1 Annex B (rule A is half-even, rule B half-up).
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from decimal import (
    ROUND_FLOOR,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    Context,
    Decimal,
    DivisionByZero,
    Inexact,
    InvalidOperation,
    Overflow,
    localcontext,
)

MILLIGRAM = Decimal("0.001")
"""One milligram in grams: fine metal is posted to this step."""

DIVISION_DIGITS = 34
"""Significant digits kept by a quotient that does not end (decimal128)."""

_FAULTS = [InvalidOperation, DivisionByZero, Overflow]
EXACT = Context(prec=100, rounding=ROUND_HALF_EVEN, traps=[*_FAULTS, Inexact])
_WIDE = Context(prec=100, rounding=ROUND_HALF_EVEN, traps=_FAULTS)
_DIVIDING = Context(prec=DIVISION_DIGITS, rounding=ROUND_HALF_EVEN, traps=_FAULTS)


def exact_arithmetic() -> AbstractContextManager[Context]:
    """Return a context in which decimal arithmetic raises rather than rounds."""
    return localcontext(EXACT)


def quotient(numerator: Decimal, denominator: Decimal) -> Decimal:
    """Return numerator / denominator to 34 digits, ties to even; same units."""
    return _DIVIDING.divide(numerator, denominator)


def half_even(value: Decimal, step: Decimal) -> Decimal:
    """Return the value on the decimal step (such as 0.001), ties to even."""
    return _WIDE.plus(value.quantize(step, rounding=ROUND_HALF_EVEN, context=_WIDE))


def half_up(value: Decimal, step: Decimal) -> Decimal:
    """Return the value on the decimal step, ties away from zero."""
    return _WIDE.plus(value.quantize(step, rounding=ROUND_HALF_UP, context=_WIDE))


def to_milligram(mass_g: Decimal) -> Decimal:
    """Return grams to the milligram, ties to even: the step fine metal is posted in."""
    return half_even(mass_g, MILLIGRAM)


def floor_to_multiple(value: Decimal, step: Decimal) -> Decimal:
    """Return the largest multiple of the step not above the value.

    The step need not be a power of ten: 0.025 troy ounce is one.
    """
    assert step > 0
    multiples = _WIDE.divide(value, step).to_integral_value(rounding=ROUND_FLOOR)
    floored = EXACT.multiply(multiples, step)
    return floored if floored <= value else EXACT.subtract(floored, step)


def split_by_largest_remainder(total: int, weights: Sequence[Decimal]) -> list[int]:
    """Return whole parts of a whole total, in proportion, with nothing left over.

    Each part is first cut down; the units still missing go one each to the
    largest remainders, ties to the lower index. The parts sum to the total.
    Raises ValueError when a weight is negative or all are zero.
    """
    with localcontext(_WIDE):
        whole = sum(weights, Decimal(0))
        if total < 0 or whole <= 0 or min(weights) < 0:
            raise ValueError("a split needs a total and weights of 0 or more")
        exact_parts = [total * weight / whole for weight in weights]
    parts = [int(part) for part in exact_parts]
    by_remainder = sorted(
        range(len(parts)), key=lambda index: (parts[index] - exact_parts[index], index)
    )
    for index in by_remainder[: total - sum(parts)]:
        parts[index] += 1
    return parts
