"""The density of pure water, by temperature.

CIPM formula at 101.325 kPa: Tanaka and others, Metrologia 38, 301 (2001);
coefficients from memory, values checked against IAPWS-95. Air dissolved in
plant water changes the sixth digit only.
"""

from __future__ import annotations

from decimal import Decimal

from goldroom.errors import OutOfRange
from goldroom.metal.rounding import EXACT, half_even, quotient

CELSIUS_MIN = Decimal(0)
CELSIUS_MAX = Decimal(40)
"""The formula holds from 0 to 40 degrees Celsius."""

DENSITY_STEP_KG_M3 = Decimal("0.0001")

_MAXIMUM = Decimal("999.974950")
_A1 = Decimal("-3.983035")
_A2 = Decimal("301.797")
_A3 = Decimal("522528.9")
_A4 = Decimal("69.34881")


def water_density_kg_m3(
    temperature_c: Decimal, field: str = "temperature_c"
) -> Decimal:
    """Return the density of water in kg/m3 to 0.0001, ties to even.

    Raises OutOfRange outside 0 to 40 degrees Celsius.
    """
    if not CELSIUS_MIN <= temperature_c <= CELSIUS_MAX:
        raise OutOfRange(
            f"The water is said to be at {temperature_c} degrees Celsius; the density "
            "formula holds from 0 to 40. Check the thermometer.",
            field=field,
        )
    squared = EXACT.multiply(temperature_c + _A1, temperature_c + _A1)
    above = EXACT.multiply(squared, temperature_c + _A2)
    below = EXACT.multiply(_A3, temperature_c + _A4)
    density = _MAXIMUM - quotient(EXACT.multiply(_MAXIMUM, above), below)
    return half_even(density, DENSITY_STEP_KG_M3)
