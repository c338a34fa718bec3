"""How much a sample can be trusted: Gy's fundamental error, grains, duplicates.

    s^2 = f g l m d^3 (1/M - 1/L)        relative variance

d is the top size (95 % passing, cm), M and L the masses of sample and lot (g),
f the shape (0.5 usual, 0.2 flaky gold), g the size range, l the liberation and
m the mineral factor in g/cm3 (Gy; Wills, Mineral Processing Technology). It is
a floor: segregation and preparation dominate coarse gold, and d^3 is disputed
for low grades. For liberated gold take the larger of it and the grain count.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from goldroom.errors import OutOfRange

SHAPE_USUAL = 0.5
SHAPE_FLAKY_GOLD = 0.2
SIZE_RANGE_WIDE = 0.25


def liberation_factor(*, liberation_size_cm: float, top_size_cm: float) -> float:
    """Return l = sqrt(L/d), at most 1 (liberated)."""
    return min(1.0, math.sqrt(liberation_size_cm / top_size_cm))


def mineral_factor_g_cm3(
    *, mineral_fraction: float, mineral_g_cm3: float, gangue_g_cm3: float
) -> float:
    """Return m = ((1 - a)/a) ((1 - a) r + a t) for a mass fraction of mineral.

    Raises OutOfRange unless the fraction lies between 0 and 1.
    """
    if not 0 < mineral_fraction < 1:
        raise OutOfRange(
            f"The mineral's share is {mineral_fraction}; it must lie between 0 and 1.",
            field="mineral_fraction",
        )
    gangue_fraction = 1.0 - mineral_fraction
    mean = gangue_fraction * mineral_g_cm3 + mineral_fraction * gangue_g_cm3
    return gangue_fraction / mineral_fraction * mean


def sampling_constant_g_cm3(
    *,
    mineral_factor_g_cm3: float,
    liberation: float = 1.0,
    shape: float = SHAPE_USUAL,
    size_range: float = SIZE_RANGE_WIDE,
) -> float:
    """Return C = f g l m, in g/cm3."""
    return shape * size_range * liberation * mineral_factor_g_cm3


def fundamental_error_relative(
    *,
    constant_g_cm3: float,
    top_size_cm: float,
    sample_g: float,
    lot_g: float = math.inf,
) -> float:
    """Return the relative standard deviation of the fundamental sampling error.

    Raises OutOfRange when the sample has no mass or outweighs its lot.
    """
    if not 0 < sample_g <= lot_g:
        raise OutOfRange(
            f"A sample of {sample_g} g from a lot of {lot_g} g: it must be above zero "
            "and no heavier than the lot.",
            field="sample_g",
        )
    return math.sqrt(constant_g_cm3 * top_size_cm**3 * (1 / sample_g - 1 / lot_g))


def sample_mass_g(
    *, constant_g_cm3: float, top_size_cm: float, relative_u: float
) -> float:
    """Return the least sample, in grams, for a relative standard deviation."""
    return constant_g_cm3 * top_size_cm**3 / relative_u**2


def grain_count_relative(expected_grains: float) -> float:
    """Return 1/sqrt(N): the relative standard deviation of a count of grains."""
    if expected_grains <= 0:
        raise OutOfRange("A grain count needs some grains to be expected.")
    return 1.0 / math.sqrt(expected_grains)


def duplicate_u(pairs: Sequence[tuple[float, float]]) -> float:
    """Return the standard deviation of one result from duplicates, in their unit.

    sqrt(sum d^2 / 2n). Raises OutOfRange without a pair.
    """
    if not pairs:
        raise OutOfRange("A spread from duplicates needs at least one pair.")
    squares = sum((one - other) ** 2 for one, other in pairs)
    return math.sqrt(squares / (2 * len(pairs)))
