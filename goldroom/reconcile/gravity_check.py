"""Poured against estimated: a coarse outer check of the whole gravity line.

    accounted = gold poured + rise in what is held + what went out
    ratio     = accounted / the circuit's estimate for the same flushes

all of it the share that came by gravity. Poured is what was numbered as bars (less
bars taken back into a smelt); held is at every step before the vault (stock declared
within the period is no rise); out are tails and middlings to the mill, slag
released, samples. It is the only check that sees metal taken before the hopper
weighing, and it is coarse: the estimate is good to about 12 %. Streams metered on
continuous concentrators are the same gold seen twice: shown beside, never added.

Gold of which nobody can tell whether it came by gravity stands beside: the ratio then
is a range, from none of it to all of it. What was cleaned out of the gravity circuit
and came round the hopper is gravity gold that the circuit caught: once poured, held or
gone out it is accounted like any other, and what came in so is told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from goldroom.custody.other_metal import OTHER_METAL
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
class Unsure:
    """Gold that may have come by gravity or not, in grams, and why nobody can tell.

    `items` cannot be separated; the gold is theirs and that of all made of them.
    `provisional` are parts whose share rests on a figure still to come.
    """

    gold: Amount | None
    items: tuple[str, ...]
    why: tuple[str, ...]
    provisional: tuple[str, ...]


@dataclass(frozen=True)
class GravityCheck:
    """The check's figures, in grams of gold; None where nothing tells.

    `round_the_hopper` came in from outside as gravity metal.
    """

    estimate: GravityEstimate
    poured: Amount | None
    holdings_rise: Amount | None
    went_out: Amount | None
    round_the_hopper: Amount | None
    inseparable: Unsure
    flushes: FlushCount

    @property
    def accounted(self) -> Amount | None:
        """Return gravity gold poured, risen in holdings and gone out."""
        if self.poured is None or self.holdings_rise is None or self.went_out is None:
            return None
        return self.poured + self.holdings_rise + self.went_out

    @property
    def accounted_with_inseparable(self) -> Amount | None:
        """Return what is accounted for if all that is inseparable came by gravity."""
        if self.accounted is None or self.inseparable.gold is None:
            return None
        return self.accounted + self.inseparable.gold

    @property
    def ratio(self) -> Measured | None:
        """Return accounted over estimated; None where either is missing."""
        return self._over_estimated(self.accounted)

    @property
    def ratio_with_inseparable(self) -> Measured | None:
        """Return the ratio if all that is inseparable came by gravity."""
        return self._over_estimated(self.accounted_with_inseparable)

    def _over_estimated(self, amount: Amount | None) -> Measured | None:
        estimated = self.estimate.total_g
        if estimated is None or amount is None or estimated.value <= 0:
            return None
        return amount.measured / estimated

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
            "round_the_hopper": _grams(self.round_the_hopper),
            "inseparable": self._inseparable_json(),
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

    def _inseparable_json(self) -> dict[str, object]:
        """Return what is inseparable, and both figures if all of it were gravity's."""
        unsure, whole = self.inseparable, self.accounted_with_inseparable
        ratio = self.ratio_with_inseparable
        return {
            "gold": _grams(unsure.gold),
            "u": None if unsure.gold is None else decimal_text(unsure.gold.u_g),
            "items": list(unsure.items),
            "why": list(unsure.why),
            "provisional": list(unsure.provisional),
            "accounted_with_all": _grams(whole),
            "ratio_with_all": None if ratio is None else decimal_text(ratio.value),
            "ratio_with_all_u": None if ratio is None else decimal_text(ratio.u),
        }


def gravity_check(
    quantities: Quantities, parcels: Sequence[Parcel], period: Period
) -> GravityCheck:
    """Return the period's check, from its parcels and the mill's days."""
    shares = GravityShares.of_all(quantities)
    sure = _Sums(parcels, shares.gold)
    return GravityCheck(
        estimate=gravity_estimate(quantities.data, period, quantities.dated_budget),
        poured=sure.poured(),
        holdings_rise=sure.holdings_rise(),
        went_out=sure.went_out(),
        round_the_hopper=sure.passed((OUTSIDE,), INNER, where_to=(OTHER_METAL,)),
        inseparable=_unsure(parcels, shares),
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


def _unsure(parcels: Sequence[Parcel], shares: GravityShares) -> Unsure:
    """Return the gold of the period that nobody can tell the gravity share of."""
    sums = _Sums(parcels, shares.unsure_gold)
    met = {
        each.item for each in parcels if INNER & {each.way.from_step, each.way.to_step}
    }
    names = {name for item in met for name in shares.shares.of(item)}
    unsure = {
        name: why
        for name, why in sorted(shares.shares.inseparable.items())
        if name in names
    }
    parts = (sums.poured(), sums.holdings_rise(), sums.went_out())
    return Unsure(
        gold=_sum(parts),
        items=tuple(unsure),
        why=tuple(
            f"{why}: the gravity share of {name} cannot be told"
            for name, why in unsure.items()
        ),
        provisional=tuple(
            sorted({part for item in met for part in shares.shares.pending_in(item)})
        ),
    )


@dataclass(frozen=True)
class _Sums:
    """Sums over the period's parcels of one part of their gold."""

    parcels: Sequence[Parcel]
    part: Callable[[Contents], Amount | None]

    def poured(self) -> Amount | None:
        """Return what was numbered as bars, less bars taken back into a smelt."""
        numbered = self.passed(INNER, ("vault",))
        return _less(numbered, self.passed(("vault",), INNER))

    def holdings_rise(self) -> Amount | None:
        """Return the rise of what is held before the vault, but for what was declared.

        Stock declared within the period was held all along.
        """
        rise = _less(self.held(CLOSING), self.held(OPENING))
        return _less(rise, self.passed((OUTSIDE,), INNER, where_to=DECLARED))

    def went_out(self) -> Amount | None:
        """Return what left the steps before the vault for the world outside."""
        return self.passed(INNER, (OUTSIDE,))

    def held(self, role: str) -> Amount | None:
        """Return what was held before the vault at one end of the period."""
        return _sum(
            self.part(parcel.contents)
            for parcel in self.parcels
            if parcel.way.role == role
            and INNER & {parcel.way.from_step, parcel.way.to_step}
        )

    def passed(
        self,
        from_steps: Iterable[str],
        to_steps: Iterable[str],
        *,
        where_to: Sequence[str] = (),
    ) -> Amount | None:
        """Return what passed between these steps."""
        starts, ends = frozenset(from_steps), frozenset(to_steps)
        return _sum(
            self.part(parcel.contents)
            for parcel in self.parcels
            if parcel.way.role == PASSED
            and parcel.way.from_step in starts
            and parcel.way.to_step in ends
            and (not where_to or parcel.way.where_to in where_to)
        )


def _sum(amounts: Iterable[Amount | None]) -> Amount | None:
    """Return the sum of the amounts; None if one of them is unknown."""
    found = list(amounts)
    if any(amount is None for amount in found):
        return None
    return sum_of(amount for amount in found if amount is not None)


def _less(amount: Amount | None, other: Amount | None) -> Amount | None:
    """Return the difference; None if either is unknown."""
    return None if amount is None or other is None else amount - other


def _grams(amount: Amount | None) -> str | None:
    """Return grams to the milligram, as text."""
    return None if amount is None else format(amount.posted_g, "f")
