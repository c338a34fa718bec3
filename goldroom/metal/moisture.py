"""Wet, dry and the water between them.

Moisture is on the wet basis: water over wet mass, in per cent. `dry_mass` takes
exact figures or measured ones; the rest is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from goldroom.errors import (
    DryHeavierThanWet,
    MoistureOver100,
    NegativeFigure,
    OutOfRange,
    TareOverGross,
)
from goldroom.metal.rounding import EXACT, exact_arithmetic, quotient
from goldroom.metal.uncertainty import Figure
from goldroom.metal.units import check_not_negative

HUNDRED = Decimal(100)


def check_moisture(
    moisture_percent: Decimal, field: str = "moisture_percent"
) -> Decimal:
    """Return the moisture if it is 0 to 100 per cent of the wet mass.

    Raises NegativeFigure or MoistureOver100.
    """
    check_not_negative(moisture_percent, field)
    if moisture_percent > HUNDRED:
        raise _over_100(moisture_percent, field)
    return moisture_percent


def dry_mass(*, wet_mass: Figure, moisture_percent: Figure) -> Figure:
    """Return the dry mass in the unit of the wet: exactly, or with its effects.

    Raises NegativeFigure or MoistureOver100.
    """
    if float(moisture_percent) < 0:
        raise NegativeFigure(
            f"The moisture is {float(moisture_percent)} %; it cannot be below zero.",
            field="moisture_percent",
        )
    if float(moisture_percent) > 100:
        raise _over_100(float(moisture_percent), "moisture_percent")
    with exact_arithmetic():
        return wet_mass * (100 - moisture_percent) / 100


@dataclass(frozen=True, slots=True)
class TrayWeighing:
    """One moisture determination: a tray, and a sample on it wet and dry, in grams."""

    tray_g: Decimal
    wet_and_tray_g: Decimal
    dry_and_tray_g: Decimal

    def __post_init__(self) -> None:
        check_not_negative(self.tray_g, "tray_g")
        if self.dry_and_tray_g > self.wet_and_tray_g:
            raise DryHeavierThanWet(
                f"Dry with its tray is {self.dry_and_tray_g} g, wet was "
                f"{self.wet_and_tray_g} g; drying cannot add mass. Weigh again.",
                field="dry_and_tray_g",
            )
        if self.dry_and_tray_g < self.tray_g or self.wet_and_tray_g == self.tray_g:
            raise TareOverGross(
                f"The tray alone is {self.tray_g} g; with the sample it was "
                f"{self.wet_and_tray_g} g wet and {self.dry_and_tray_g} g dry. "
                "Check which tray was used.",
                field="tray_g",
            )

    @property
    def water_g(self) -> Decimal:
        """Return the water driven off, in grams, exactly."""
        return EXACT.subtract(self.wet_and_tray_g, self.dry_and_tray_g)

    @property
    def moisture_percent(self) -> Decimal:
        """Return the moisture on the wet basis, per cent, to 34 digits."""
        wet_g = EXACT.subtract(self.wet_and_tray_g, self.tray_g)
        return quotient(EXACT.multiply(self.water_g, HUNDRED), wet_g)

    @property
    def moisture_dry_basis_percent(self) -> Decimal:
        """Return the water over the dry mass, per cent (never a moisture here)."""
        dry_g = EXACT.subtract(self.dry_and_tray_g, self.tray_g)
        if dry_g == 0:
            raise OutOfRange("Nothing was left after drying: no dry basis.")
        return quotient(EXACT.multiply(self.water_g, HUNDRED), dry_g)


@dataclass(frozen=True, slots=True)
class Drained:
    """What is left after part of the water ran off; masses in one unit."""

    dry_mass: Decimal
    water_mass: Decimal

    @property
    def wet_mass(self) -> Decimal:
        """Return dry mass and water together."""
        return EXACT.add(self.dry_mass, self.water_mass)

    @property
    def moisture_percent(self) -> Decimal:
        """Return the moisture after draining, per cent, to 34 digits."""
        return quotient(EXACT.multiply(self.water_mass, HUNDRED), self.wet_mass)


def drained(
    *, wet_mass: Decimal, moisture_percent: Decimal, water_left_fraction: Decimal
) -> Drained:
    """Return dry mass and water after draining: no solids leave, water does.

    Raises NegativeFigure, MoistureOver100, or OutOfRange when the fraction of
    water left is not 0 to 1.
    """
    if not 0 <= water_left_fraction <= 1:
        raise OutOfRange(
            f"The share of water left is {water_left_fraction}; it must be 0 to 1.",
            field="water_left_fraction",
        )
    dry = dry_mass(wet_mass=wet_mass, moisture_percent=moisture_percent)
    with exact_arithmetic():
        return Drained(dry, (wet_mass - dry) * water_left_fraction)


def _over_100(moisture_percent: Decimal | float, field: str) -> MoistureOver100:
    """Return the refusal of a moisture above the whole."""
    return MoistureOver100(
        f"The moisture is {moisture_percent} %; it is the water's share of the wet "
        "mass and cannot exceed 100 %. If it is water over dry mass, recalculate.",
        field=field,
    )
