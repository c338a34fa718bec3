"""Gross, tare and net; the digits an instrument can show; the least it can weigh.

Net is gross less tare, exactly. A reading is kept with the digits that were on
the display, so a figure with more digits than the scale interval, or between
two divisions, was not read from that instrument and is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from goldroom.errors import (
    MoreDigitsThanInstrument,
    NotOnScaleDivision,
    TareOverGross,
)
from goldroom.metal.rounding import EXACT, quotient
from goldroom.metal.units import check_not_negative, parse_decimal

LEAST_REPEATABILITY_IN_DIVISIONS = Decimal("0.41")
"""Below this many divisions a repeatability is the display's own (USP 41)."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A full container and its tare, both in grams and exact."""

    gross_g: Decimal
    tare_g: Decimal

    def __post_init__(self) -> None:
        check_not_negative(self.gross_g, "gross")
        check_not_negative(self.tare_g, "tare")
        if self.tare_g > self.gross_g:
            raise TareOverGross(
                f"The tare is {self.tare_g} g and the gross {self.gross_g} g; an empty "
                "container cannot outweigh the full one. Check which is which.",
                field="tare",
            )

    @property
    def net_g(self) -> Decimal:
        """Return gross less tare, in grams, exactly."""
        return EXACT.subtract(self.gross_g, self.tare_g)


def decimals_of(figure: Decimal) -> int:
    """Return how many digits stand after the figure's decimal point."""
    exponent = figure.as_tuple().exponent
    assert isinstance(exponent, int)
    return max(0, -exponent)


def check_digits(text: str, *, scale_interval: Decimal, field: str = "") -> Decimal:
    """Return the reading, if an instrument of that interval could have shown it.

    Text and interval are in the instrument's own unit. Raises NotAFigure,
    MoreDigitsThanInstrument, or NotOnScaleDivision.
    """
    assert scale_interval > 0
    figure = parse_decimal(text, field)
    shown = decimals_of(scale_interval)
    if decimals_of(figure) > shown:
        raise MoreDigitsThanInstrument(
            f"{text} has {decimals_of(figure)} decimals; this instrument reads in "
            f"steps of {scale_interval} and shows {shown}. Write what the display "
            "showed, or choose the instrument that was used.",
            field=field,
        )
    if EXACT.remainder(figure, scale_interval) != 0:
        raise NotOnScaleDivision(
            f"{text} lies between two divisions: this instrument reads in steps of "
            f"{scale_interval}. Read the display again.",
            field=field,
        )
    return figure


def resolution_u(scale_interval: Decimal | float) -> float:
    """Return the standard uncertainty of rounding to a display: d/sqrt(12).

    In the unit of the interval. Source: JCGM 100:2008 F.2.2.1.
    """
    return float(scale_interval) / math.sqrt(12.0)


def smallest_net_g(
    *,
    repeatability_g: Decimal,
    scale_interval_g: Decimal,
    target_relative: Decimal = Decimal("0.001"),
    coverage: Decimal = Decimal(2),
) -> Decimal:
    """Return the least net mass in grams that the balance weighs well enough.

    coverage * s / target, where s is the repeatability but at least 0.41 of the
    interval. Source: USP general chapter 41.
    """
    assert target_relative > 0
    least = EXACT.multiply(LEAST_REPEATABILITY_IN_DIVISIONS, scale_interval_g)
    spread = max(repeatability_g, least)
    return quotient(EXACT.multiply(coverage, spread), target_relative)


def handover_limit_g(*u_g: float) -> float:
    """Return how far two weighings of one thing may differ: three u, in grams.

    Pass every independent standard uncertainty of the two weighings.
    """
    return 3.0 * math.sqrt(sum(u * u for u in u_g))
