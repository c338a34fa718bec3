"""What a bar's density says about its fineness: a plausibility check.

Handbook densities and ideal mixing by volume, 100 / sum(w_i / rho_i). Real
alloys shrink or swell by about a per cent and castings hold pores, so the
answer is a question to ask, never a refusal; and tungsten (19.25) cannot be
told from gold by density at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import TypeVar

from goldroom.errors import OutOfRange

Number = TypeVar("Number", float, Decimal)
"""A formula written once for estimates and for the record's exact figures."""

METAL_DENSITY_G_CM3: Mapping[str, float] = MappingProxyType(
    {
        "Au": 19.30,
        "Ag": 10.49,
        "Cu": 8.96,
        "Pb": 11.34,
        "Fe": 7.87,
        "Zn": 7.14,
        "W": 19.25,
    }
)
"""Handbook densities at room temperature."""

ALARM_RELATIVE = 0.02
"""Suggested limit of disagreement; own choice, a site sets its own."""


def ideal_density_g_cm3(percent_by_metal: Mapping[str, float]) -> float:
    """Return the density of a mixture by mass percentages that sum to 100.

    Raises OutOfRange for an unknown metal or a sum other than 100.
    """
    unknown = sorted(set(percent_by_metal) - set(METAL_DENSITY_G_CM3))
    whole = sum(percent_by_metal.values())
    if unknown or abs(whole - 100.0) > 1e-6:
        raise OutOfRange(
            f"Percentages must sum to 100 (they sum to {whole:g}) over the metals "
            f"{', '.join(METAL_DENSITY_G_CM3)}"
            + (f"; not {', '.join(unknown)}." if unknown else ".")
        )
    specific_volume = sum(
        percent / METAL_DENSITY_G_CM3[metal]
        for metal, percent in percent_by_metal.items()
    )
    return 100.0 / specific_volume


def density_by_displacement_g_cm3(
    *,
    in_air_g: Number,
    in_water_g: Number,
    water_g_cm3: Number,
    air_g_cm3: Number | int = 0,
    field: str = "in_water_g",
) -> Number:
    """Return a bar's density from its readings in air and in water.

    With `air_g_cm3` the buoyancy of the air is taken off as well. Raises
    OutOfRange when the bar does not read less in water.
    """
    if not 0 < in_water_g < in_air_g:
        raise OutOfRange(
            f"The bar reads {in_air_g} g in air and {in_water_g} g in water; in water "
            "it must read less. Check the hanger's tare.",
            field=field,
        )
    displaced = in_air_g - in_water_g
    return (in_air_g * water_g_cm3 - in_water_g * air_g_cm3) / displaced


def expected_density_g_cm3(
    *, gold_permille: Decimal, silver_permille: Decimal
) -> float:
    """Return the ideal density of a bar by its assay, the rest taken for copper.

    Gold and silver that add up to more than the whole are taken in proportion.
    """
    gold, silver = float(gold_permille) / 10, float(silver_permille) / 10
    copper = max(0.0, 100.0 - gold - silver)
    whole = gold + silver + copper
    return ideal_density_g_cm3(
        {
            "Au": 100 * gold / whole,
            "Ag": 100 * silver / whole,
            "Cu": 100 * copper / whole,
        }
    )


def is_density_plausible(
    *, found_g_cm3: float, expected_g_cm3: float, limit_relative: float = ALARM_RELATIVE
) -> bool:
    """Say whether a density agrees with the assay's, within the limit."""
    return abs(found_g_cm3 - expected_g_cm3) <= limit_relative * expected_g_cm3
