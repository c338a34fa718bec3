"""Limits of check weights and weighing instruments, from the OIML tables.

Maximum permissible errors of weights: OIML R 111-1:2004 Table 1 (1 g to 50 kg,
classes E2 to M2). Errors of instruments: OIML R 76-1 Table 6; their classes:
Table 3; in service the limits are doubled (R 76-1, 3.5.2).
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from goldroom.errors import (
    ClassDoesNotFit,
    UnknownAccuracyClass,
    UnknownNominalMass,
)
from goldroom.metal.rounding import EXACT, quotient

WEIGHT_CLASSES = ("E2", "F1", "F2", "M1", "M2")

_WEIGHT_LIMITS_MG = MappingProxyType(
    {
        Decimal(1): "0.030 0.10 0.3 1.0 3.0",
        Decimal(2): "0.040 0.12 0.4 1.2 4.0",
        Decimal(5): "0.050 0.16 0.5 1.6 5.0",
        Decimal(10): "0.060 0.20 0.6 2.0 6.0",
        Decimal(20): "0.080 0.25 0.8 2.5 8.0",
        Decimal(50): "0.10 0.3 1.0 3.0 10",
        Decimal(100): "0.16 0.5 1.6 5.0 16",
        Decimal(200): "0.30 1.0 3.0 10 30",
        Decimal(500): "0.80 2.5 8.0 25 80",
        Decimal(1000): "1.6 5 16 50 160",
        Decimal(2000): "3.0 10 30 100 300",
        Decimal(5000): "8.0 25 80 250 800",
        Decimal(10000): "16 50 160 500 1600",
        Decimal(20000): "30 100 300 1000 3000",
        Decimal(50000): "80 250 800 2500 8000",
    }
)


class Divisions(NamedTuple):
    """One row of R 76-1 Table 3: which intervals and counts make a class."""

    interval_g_min: Decimal
    interval_g_max: Decimal | None
    count_min: int
    count_max: int | None
    capacity_min_in_divisions: int


INSTRUMENT_CLASSES: Mapping[str, tuple[Divisions, ...]] = MappingProxyType(
    {
        "I": (Divisions(Decimal("0.001"), None, 50_000, None, 100),),
        "II": (
            Divisions(Decimal("0.001"), Decimal("0.05"), 100, 100_000, 20),
            Divisions(Decimal("0.1"), None, 5_000, 100_000, 50),
        ),
        "III": (
            Divisions(Decimal("0.1"), Decimal(2), 100, 10_000, 20),
            Divisions(Decimal(5), None, 500, 10_000, 20),
        ),
        "IIII": (Divisions(Decimal(5), None, 100, 1_000, 10),),
    }
)

_LOAD_STEPS = MappingProxyType(
    {
        "I": (50_000, 200_000),
        "II": (5_000, 20_000),
        "III": (500, 2_000),
        "IIII": (50, 200),
    }
)


def weight_limit_mg(*, nominal_g: Decimal, weight_class: str) -> Decimal:
    """Return the maximum permissible error of a weight, plus or minus mg.

    Raises UnknownAccuracyClass or UnknownNominalMass.
    """
    if weight_class not in WEIGHT_CLASSES:
        raise UnknownAccuracyClass(
            f"No weight class {weight_class!r} here; use one of "
            f"{', '.join(WEIGHT_CLASSES)}."
        )
    row = _WEIGHT_LIMITS_MG.get(nominal_g)
    if row is None:
        known = ", ".join(str(nominal) for nominal in _WEIGHT_LIMITS_MG)
        raise UnknownNominalMass(
            f"{nominal_g} g is not a nominal mass of the table; it has {known} g."
        )
    return Decimal(row.split()[WEIGHT_CLASSES.index(weight_class)])


def verification_limit_g(
    *, accuracy_class: str, load_g: Decimal, interval_g: Decimal
) -> Decimal:
    """Return the error an instrument may show when first verified, +- grams.

    Half, one, or one and a half verification intervals, by the load in
    intervals. Raises UnknownAccuracyClass.
    """
    steps = _LOAD_STEPS.get(accuracy_class)
    if steps is None:
        raise _unknown_class(accuracy_class)
    low, middle = steps
    load = quotient(abs(load_g), interval_g)
    halves = 1 if load <= low else 2 if load <= middle else 3
    return EXACT.multiply(interval_g, Decimal(halves) / 2)


def in_service_limit_g(
    *, accuracy_class: str, load_g: Decimal, interval_g: Decimal
) -> Decimal:
    """Return the error an instrument in use may show: twice that when verified."""
    limit = verification_limit_g(
        accuracy_class=accuracy_class, load_g=load_g, interval_g=interval_g
    )
    return EXACT.multiply(limit, Decimal(2))


def least_capacity_g(
    *, accuracy_class: str, capacity_g: Decimal, interval_g: Decimal
) -> Decimal:
    """Return the least load the class allows, in grams, checking the class fits.

    Raises UnknownAccuracyClass, or ClassDoesNotFit when the interval or the
    number of divisions lies outside the class.
    """
    rows = INSTRUMENT_CLASSES.get(accuracy_class)
    if rows is None:
        raise _unknown_class(accuracy_class)
    count = quotient(capacity_g, interval_g)
    for row in rows:
        if _fits(row, interval_g=interval_g, count=count):
            return EXACT.multiply(interval_g, Decimal(row.capacity_min_in_divisions))
    raise ClassDoesNotFit(
        f"{capacity_g} g in steps of {interval_g} g is {count:f} divisions; class "
        f"{accuracy_class} does not allow that. Check the class, capacity and step.",
        field="accuracy_class",
    )


def _fits(row: Divisions, *, interval_g: Decimal, count: Decimal) -> bool:
    """Say whether an interval and a number of divisions lie within the row."""
    fine = row.interval_g_max is None or interval_g <= row.interval_g_max
    few = row.count_max is None or count <= row.count_max
    return fine and few and interval_g >= row.interval_g_min and count >= row.count_min


def _unknown_class(accuracy_class: str) -> UnknownAccuracyClass:
    """Return the refusal of a class that R 76-1 does not have."""
    return UnknownAccuracyClass(
        f"No accuracy class {accuracy_class!r}; use one of "
        f"{', '.join(INSTRUMENT_CLASSES)}.",
        field="accuracy_class",
    )
