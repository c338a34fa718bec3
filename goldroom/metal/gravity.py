"""How much gold the gravity circuit should have caught.

Steady state of gravity-recoverable gold (GRG) only: the scalar form of the
population-balance model of Laplante, Woodcock and Noaparast (1995); the algebra
is ours. Mill discharge holds m = b (G F h + return). The classifier sends c m to
its underflow; units treat a fraction p of it and recover rho; c m (1 - p rho)
returns to the mill. Hence of the feed's GRG

    phi = b c p rho / (1 - b c (1 - p rho))      units fed from the underflow
    phi = b   p rho / (1 - b c (1 - p rho))      units fed from the mill discharge
    E   = F h G phi                              grams a day

F dry feed (t/d), h head grade (g/t), G share of the feed's gold that is GRG,
b share still GRG after a pass of the mill, c share of GRG sent to underflow.
Several units add: p rho is the sum over units, each p with its availability.

One per cent in b or c moves E by eight: an absolute estimate is good to about
12 %. It is a coarse outer check, to be calibrated on clean weeks, and the page
that shows it says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from goldroom.errors import OutOfRange
from goldroom.metal.propagation import exponential
from goldroom.metal.uncertainty import Measured, total


@dataclass(frozen=True, slots=True)
class Circuit:
    """The mill and classifier as gravity gold sees them; all fractions."""

    grg_fraction: Measured
    mill_survival: Measured
    classifier_return: Measured
    fed_from_mill_discharge: bool = False

    def __post_init__(self) -> None:
        _check_fraction(self.grg_fraction, "grg_fraction")
        _check_fraction(self.mill_survival, "mill_survival")
        _check_fraction(self.classifier_return, "classifier_return")


@dataclass(frozen=True, slots=True)
class UnitRun:
    """One concentrator over a stretch of time; all fractions."""

    treated_fraction: Measured
    unit_recovery: Measured
    availability: float = 1.0

    def __post_init__(self) -> None:
        _check_fraction(self.treated_fraction, "treated_fraction")
        _check_fraction(self.unit_recovery, "unit_recovery")
        _check_fraction(Measured(self.availability), "availability")

    @property
    def removed_fraction(self) -> Measured:
        """Return p rho: the share of the treated stream's GRG taken out."""
        return self.treated_fraction * self.unit_recovery * self.availability


@dataclass(frozen=True, slots=True)
class Flush:
    """One flush: the dry tonnes milled since the unit's last, and its p rho."""

    flush_id: str
    dry_feed_t: float
    removed_fraction: Measured


def availability_fraction(*, cycle_min: float, flush_min: float) -> float:
    """Return the share of time a unit takes feed: T / (T + flush)."""
    if cycle_min <= 0 or flush_min < 0:
        raise OutOfRange(
            f"A cycle of {cycle_min} min and a flush of {flush_min} min: the cycle "
            "must be above zero and the flush not below it.",
            field="cycle_min",
        )
    return cycle_min / (cycle_min + flush_min)


def mean_recovery(
    *, initial_recovery: Measured, time_constant_min: Measured, cycle_min: float
) -> Measured:
    """Return the mean recovery over a cycle whose bowl saturates (a fraction).

    rho0 (tau/T) (1 - exp(-T/tau)); the saturation form is ours. Raises
    OutOfRange when a time is not above zero.
    """
    if cycle_min <= 0 or time_constant_min.value <= 0:
        raise OutOfRange(
            f"A cycle of {cycle_min} min and a time constant of "
            f"{time_constant_min.value} min: both must be above zero.",
            field="cycle_min",
        )
    ratio = time_constant_min / cycle_min
    return initial_recovery * ratio * (1 - exponential(-1 / ratio))


def recovered_share_of_grg(*, circuit: Circuit, removed_fraction: Measured) -> Measured:
    """Return phi: the share of the feed's GRG that the units catch."""
    _check_fraction(removed_fraction, "removed_fraction")
    circulating = circuit.mill_survival * circuit.classifier_return
    presented = circuit.mill_survival
    if not circuit.fed_from_mill_discharge:
        presented = circulating
    caught = presented * removed_fraction
    return caught / (1 - circulating * (1 - removed_fraction))


def grg_in_mill_discharge_g(
    *,
    dry_feed_t: Measured,
    head_gpt: Measured,
    circuit: Circuit,
    removed_fraction: Measured,
) -> Measured:
    """Return the GRG passing in the mill discharge, grams per time of the feed."""
    circulating = circuit.mill_survival * circuit.classifier_return
    fed_g = dry_feed_t * head_gpt * circuit.grg_fraction
    return circuit.mill_survival * fed_g / (1 - circulating * (1 - removed_fraction))


def gravity_gold_g(
    *,
    dry_feed_t: Measured,
    head_gpt: Measured,
    circuit: Circuit,
    units: Sequence[UnitRun],
) -> Measured:
    """Return E: gold the units should catch from the feed, in grams.

    Take it per day, each day's head assay with its own effect key, and add the
    days with `total`.
    """
    removed = total(unit.removed_fraction for unit in units)
    phi = recovered_share_of_grg(circuit=circuit, removed_fraction=removed)
    return dry_feed_t * head_gpt * circuit.grg_fraction * phi


def split_over_flushes(
    estimate_g: Measured, flushes: Sequence[Flush]
) -> list[Measured]:
    """Return each flush's share of an estimate, in grams, summing to it.

    In proportion to (dry tonnes since the unit's last flush) x (p rho). Raises
    OutOfRange when no flush has both tonnes and recovery.
    """
    weights = [flush.removed_fraction * flush.dry_feed_t for flush in flushes]
    whole = total(weights)
    if whole.value <= 0:
        raise OutOfRange(
            "An estimate can only be split over flushes that had feed and recovery.",
            field="flushes",
        )
    return [estimate_g * (weight / whole) for weight in weights]


def _check_fraction(value: Measured, field: str) -> None:
    """Refuse a fraction outside 0 to 1."""
    if not 0.0 <= value.value <= 1.0:
        raise OutOfRange(
            f"{field.replace('_', ' ')} is {value.value:g}; a fraction lies between "
            "0 and 1. Per cent must be divided by 100.",
            field=field,
        )
