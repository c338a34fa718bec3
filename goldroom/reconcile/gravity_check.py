"""Poured against estimated: a coarse outer check of the whole gravity line.

    accounted = gold poured + rise in what is held + what went out
    ratio     = accounted / the circuit's estimate for the same flushes

all of it the share that came by gravity. Poured is what was numbered as bars (less
bars taken back into a smelt); held is at every step before the vault (stock declared or
found in equipment within the period is no rise); out are tails and middlings to the
mill, slag released, samples. It is the only check that sees metal taken before the
hopper weighing, and it is coarse: the estimate is good to about 12 %. Streams metered
on continuous concentrators are the same gold seen twice: shown beside, never added.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from goldroom.custody.records import STEPS, Item
from goldroom.custody.stock import FOUND_IN_EQUIPMENT
from goldroom.metal.uncertainty import Measured
from goldroom.reconcile.amounts import Amount, decimal_text, sum_of
from goldroom.reconcile.gravity_estimate import GravityEstimate, gravity_estimate
from goldroom.reconcile.network import CLOSING, OPENING, OUTSIDE, PASSED, Parcel
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.production_days import Period
from goldroom.reconcile.quantities import Contents
from goldroom.reconcile.sources import GravityShares

INNER = frozenset(STEPS) - {"vault"}
DECLARED = ("opening stock", FOUND_IN_EQUIPMENT)
"""Where what was held all along comes from when the book first learns of it."""


@dataclass(frozen=True)
class FlushCount:
    """Flushes of the period: counted by the plant, listed on signed sheets."""

    counted: int
    listed: int
    not_listed: tuple[str, ...]
    not_counted: tuple[str, ...]


@dataclass(frozen=True)
class GravityCheck:
    """The check's figures, in grams of gold; None where nothing tells."""

    estimate: GravityEstimate
    poured: Amount | None
    holdings_rise: Amount | None
    went_out: Amount | None
    flushes: FlushCount

    @property
    def accounted(self) -> Amount | None:
        """Return gravity gold poured, risen in holdings and gone out."""
        if self.poured is None or self.holdings_rise is None or self.went_out is None:
            return None
        return self.poured + self.holdings_rise + self.went_out

    @property
    def ratio(self) -> Measured | None:
        """Return accounted over estimated; None where either is missing."""
        estimated, accounted = self.estimate.total_g, self.accounted
        if estimated is None or accounted is None or estimated.value <= 0:
            return None
        return accounted.measured / estimated

    def to_json(self) -> dict[str, object]:
        """Return the check with figures as decimal text; null where nothing tells."""
        estimated, accounted, ratio = self.estimate.total_g, self.accounted, self.ratio
        return {
            "estimated": None if estimated is None else decimal_text(estimated.value),
            "estimated_u": None if estimated is None else decimal_text(estimated.u),
            "poured": _grams(self.poured),
            "holdings_rise": _grams(self.holdings_rise),
            "went_out": _grams(self.went_out),
            "accounted": _grams(accounted),
            "accounted_u": None if accounted is None else decimal_text(accounted.u_g),
            "ratio": None if ratio is None else decimal_text(ratio.value),
            "u": None if ratio is None else decimal_text(ratio.u),
            "flushes": {
                "counted": self.flushes.counted,
                "listed": self.flushes.listed,
                "not_listed": list(self.flushes.not_listed),
                "not_counted": list(self.flushes.not_counted),
            },
            "days": [
                {
                    "day": each.day.isoformat(),
                    "estimated": decimal_text(each.estimate.value),
                    "flushes": len(each.flushes),
                    "pending": each.is_pending,
                }
                for each in self.estimate.days
            ],
        }


def gravity_check(
    quantities: Quantities, parcels: Sequence[Parcel], period: Period
) -> GravityCheck:
    """Return the period's check, from its parcels and the mill's days."""
    shares = GravityShares(quantities)
    closing = _held(parcels, CLOSING, shares)
    opening = _held(parcels, OPENING, shares)
    declared = _passed(parcels, (OUTSIDE,), INNER, shares, where_to=DECLARED)
    numbered = _passed(parcels, INNER, ("vault",), shares)
    taken_back = _passed(parcels, ("vault",), INNER, shares)
    return GravityCheck(
        estimate=gravity_estimate(quantities.data, period, quantities.dated_budget),
        poured=_less(numbered, taken_back),
        holdings_rise=_less(_less(closing, opening), declared),
        went_out=_passed(parcels, INNER, (OUTSIDE,), shares),
        flushes=flush_count(quantities, period),
    )


def flush_count(quantities: Quantities, period: Period) -> FlushCount:
    """Return how many flushes of the period were counted and listed, and which not."""
    items = quantities.data.items
    flushes = [
        each
        for each in quantities.data.flushes
        if period.includes(each.at or _listed_at(items.get(each.flush)))
    ]
    counted = [each for each in flushes if each.cycle_status]
    listed = [each for each in flushes if each.sheet]
    return FlushCount(
        counted=len(counted),
        listed=len(listed),
        not_listed=tuple(each.flush for each in counted if not each.sheet),
        not_counted=tuple(each.flush for each in listed if not each.cycle_status),
    )


def _listed_at(item: Item | None) -> str:
    """Return when a flush was listed that no counter gives a time for."""
    return "" if item is None else item.held_from


def _held(parcels: Sequence[Parcel], role: str, shares: GravityShares) -> Amount | None:
    """Return the gravity gold held before the vault at one end of the period."""
    return _gold(
        (
            parcel.contents
            for parcel in parcels
            if parcel.way.role == role
            and INNER & {parcel.way.from_step, parcel.way.to_step}
        ),
        shares,
    )


def _passed(
    parcels: Sequence[Parcel],
    from_steps: Iterable[str],
    to_steps: Iterable[str],
    shares: GravityShares,
    *,
    where_to: Sequence[str] = (),
) -> Amount | None:
    """Return the gravity gold that passed between these steps."""
    starts, ends = frozenset(from_steps), frozenset(to_steps)
    return _gold(
        (
            parcel.contents
            for parcel in parcels
            if parcel.way.role == PASSED
            and parcel.way.from_step in starts
            and parcel.way.to_step in ends
            and (not where_to or parcel.way.where_to in where_to)
        ),
        shares,
    )


def _gold(held: Iterable[Contents], shares: GravityShares) -> Amount | None:
    """Return the gravity gold of some items; None if that of one is unknown."""
    amounts = [shares.gold(contents) for contents in held]
    if any(amount is None for amount in amounts):
        return None
    return sum_of(amount for amount in amounts if amount is not None)


def _less(amount: Amount | None, other: Amount | None) -> Amount | None:
    """Return the difference; None if either is unknown."""
    return None if amount is None or other is None else amount - other


def _grams(amount: Amount | None) -> str | None:
    """Return grams to the milligram, as text."""
    return None if amount is None else format(amount.posted_g, "f")
