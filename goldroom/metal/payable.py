"""What a refinery owes for a melt, by its contract: exact decimals.

    fine      = settled mass x settled fineness / 1000
    payable   = fine x payable per cent / 100
    melt loss = mass as received - mass after melting, as per cent of the first
    charge    = amount x (kg received, kg melted, troy ounces of fine metal, or 1)

Common practice, no single source. Grams are rounded once, to the milligram, money
once, to the hundredth of its unit, ties to even.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from goldroom.errors import OutOfRange
from goldroom.metal.assay import fine_mass_g
from goldroom.metal.rounding import (
    EXACT,
    exact_arithmetic,
    half_even,
    quotient,
    to_milligram,
)
from goldroom.metal.units import grams_per

HUNDREDTH = Decimal("0.01")
HUNDRED = Decimal(100)
GRAMS_PER_KG = Decimal(1000)
PER = ("kg_received", "kg_melted", "ozt_gold", "ozt_silver", "melt")
"""What a contract charges by; ounces are troy ounces of settled fine metal."""


@dataclass(frozen=True, slots=True)
class Lot:
    """What a melt's charges are computed from."""

    received_g: Decimal | None
    melted_g: Decimal
    gold_g: Decimal
    silver_g: Decimal


def payable_g(
    *, mass_g: Decimal, fineness_permille: Decimal, payable_percent: Decimal
) -> Decimal:
    """Return the grams of one metal that are paid for, to the milligram.

    Raises NegativeFigure, FinenessOver1000 or, beyond 100 per cent, OutOfRange.
    """
    if not 0 <= payable_percent <= HUNDRED:
        raise OutOfRange(
            f"The contract pays {payable_percent} % of the metal; expected 0 to 100.",
            field="payable_percent",
        )
    fine_g = fine_mass_g(mass_g=mass_g, fineness_permille=fineness_permille)
    with exact_arithmetic():
        return to_milligram(fine_g * payable_percent / HUNDRED)


def melt_loss_percent(*, received_g: Decimal, melted_g: Decimal) -> Decimal:
    """Return what melting took, as per cent of the mass received, to 0.0001.

    Negative where the melt outweighs what was received. Raises OutOfRange when
    nothing was received.
    """
    if received_g <= 0:
        raise OutOfRange(
            f"The mass as received is {received_g} g; it must be above zero.",
            field="as_received_g",
        )
    lost_g = EXACT.multiply(EXACT.subtract(received_g, melted_g), HUNDRED)
    return half_even(quotient(lost_g, received_g), Decimal("0.0001"))


def charge_due(*, amount: Decimal, per: str, lot: Lot) -> Decimal:
    """Return what one charge of a contract comes to, to the hundredth.

    A charge by kilogram received falls on the mass after melting where the refinery
    did not say what it received.
    """
    received_g = lot.melted_g if lot.received_g is None else lot.received_g
    ounce_g = grams_per("ozt")
    count = {
        "kg_received": quotient(received_g, GRAMS_PER_KG),
        "kg_melted": quotient(lot.melted_g, GRAMS_PER_KG),
        "ozt_gold": quotient(lot.gold_g, ounce_g),
        "ozt_silver": quotient(lot.silver_g, ounce_g),
        "melt": Decimal(1),
    }[per]
    return half_even(EXACT.multiply(amount, count), HUNDREDTH)


def last_place(figure: Decimal) -> Decimal:
    """Return one unit of the last digit of a figure as it is written: 0.001, 1."""
    exponent = figure.as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(1).scaleb(min(exponent, 0))


def is_as_written(*, found: Decimal, expected: Decimal) -> bool:
    """Say whether a figure agrees with the exact one, to its own last digit.

    Within one unit of that digit, so that a figure cut off rather than rounded
    agrees too.
    """
    with exact_arithmetic():
        return abs(found - expected) <= last_place(found)
