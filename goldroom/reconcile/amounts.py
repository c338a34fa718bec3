"""A quantity of metal twice: as posted, exactly, and as a measured number.

Figures that are added up and shown are decimals, rounded once to the milligram
(ties to even) when an item's metal is posted; so every column adds up to the last
digit. The measured number beside it carries the error effects.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.metal.rounding import MILLIGRAM, to_milligram
from goldroom.metal.uncertainty import Measured, total

NO_SPREAD_G = 1e-6
"""An uncertainty below a microgram is arithmetic noise: the figure is exact."""


@dataclass(frozen=True, slots=True)
class Amount:
    """Grams as posted and the same quantity with its error effects."""

    posted_g: Decimal
    measured: Measured

    @property
    def u_g(self) -> float:
        """Return the standard uncertainty in grams; 0 below a microgram."""
        u_g = self.measured.u
        return u_g if u_g >= NO_SPREAD_G else 0.0

    @property
    def z(self) -> float | None:
        """Return the value over its uncertainty; None when that is 0."""
        return float(self.posted_g) / self.u_g if self.u_g else None

    def __add__(self, other: Amount) -> Amount:
        return Amount(self.posted_g + other.posted_g, self.measured + other.measured)

    def __sub__(self, other: Amount) -> Amount:
        return Amount(self.posted_g - other.posted_g, self.measured - other.measured)

    def times(self, share: Measured) -> Amount:
        """Return a share of the amount, posted to the milligram."""
        return posted(self.measured * share)


NOTHING = Amount(Decimal("0.000"), Measured(0.0))


def posted(measured: Measured) -> Amount:
    """Return a measured number of grams as an amount, to the milligram."""
    return Amount(to_milligram(Decimal(repr(measured.value))), measured)


def sum_of(amounts: Iterable[Amount]) -> Amount:
    """Return the sum of amounts, in one pass."""
    parts = list(amounts)
    posted_g = sum((part.posted_g for part in parts), Decimal("0.000"))
    return Amount(posted_g, total(part.measured for part in parts))


def shown_u(u_g: float) -> str:
    """Return an uncertainty to two significant digits, in plain decimals.

    To the milligram at the finest, as values are; what is below is told by one digit.
    """
    if u_g <= 0:
        return "0"
    if _last_place(u_g) >= -3:
        return format(_two_digits(u_g), "f")
    if u_g >= 0.0005:
        return f"{u_g:.3f}"
    return format(Decimal(f"{u_g:.0e}"), "f")


def shown_value(value_g: Decimal, u_g: float) -> str:
    """Return a value to the last digit that its uncertainty's two digits justify."""
    if u_g <= 0:
        return format(to_milligram(value_g), "f")
    step = Decimal(1).scaleb(max(_last_place(u_g), -3))
    shown = (value_g / step).quantize(Decimal(1)) * step
    return format(shown.quantize(min(step, Decimal(1))), "f")


def decimal_text(value: float, step: Decimal = MILLIGRAM) -> str:
    """Return a computed number as decimal text on a step (never "-0.000")."""
    text = format(Decimal(repr(value)).quantize(step), "f")
    return text.removeprefix("-") if not text.strip("-0.") else text


def _last_place(u_g: float) -> int:
    """Return the power of ten of the second significant digit."""
    return Decimal(f"{u_g:.1e}").adjusted() - 1


def _two_digits(u_g: float) -> Decimal:
    """Return the number rounded to two significant digits."""
    rounded = Decimal(f"{u_g:.1e}")
    return rounded.quantize(Decimal(1).scaleb(min(_last_place(u_g), 0)))
