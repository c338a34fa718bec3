"""What stands in for sludge and calcine that have no result yet: all there was.

Calcining and retorting drive off no metal. A calcine without a result of its own holds
what it was made from, and what was made into an assayed calcine held as much.

Sludge of a cell cleanup with no result, nor its calcine, holds what the cell should
have held, less what was measured of the same cleanup: it is taken *by the solution
call*, so that a cleanup shows nothing missing before its sludge is assayed, and just
what is missing when it is. Several such sludges share it by mass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Protocol

from goldroom.metal import effect_keys
from goldroom.metal.rounding import quotient, to_milligram
from goldroom.metal.uncertainty import exact
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.contents import Contents, less, plus
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.typical import WIDE


class Known(Protocol):
    """What items hold, as far as it is known."""

    @property
    def data(self) -> LedgerRecords:
        """Return the records."""

    def of(self, item: str, *, at: str = "", drawn: int | None = None) -> Contents:
        """Return what an item holds."""

    def measured(self, item: str) -> Contents:
        """Return what was measured of the item itself."""


def passed_whole(known: Known, found: Contents) -> Contents | None:
    """Return an item's contents by its calcine, or a calcine's by its parent, or None.

    Samples drawn off an item before its calcining are added to its calcine's metal;
    while one of them has no result, the calcine does not tell.
    """
    items = known.data.items
    held = items[found.item]
    calcines = [
        each
        for each in held.children
        if each in items and items[each].sort == "calcine"
    ]
    if held.sort == "calcine" and len(held.parents) == 1 and held.parents[0] in items:
        parent = known.of(held.parents[0])
        how = "lineage" if parent.how in ("assay", "estimate") else parent.how
        return _valued_as(found, parent, how)
    if len(calcines) == 1:
        samples = [known.measured(each) for each in held.drawn if each in items]
        calcine = known.measured(calcines[0])
        if calcine.is_measured and all(each.is_measured for each in samples):
            return _valued_as(found, plus(calcine, samples), "lineage")
    return None


def by_the_call(known: Known, found: Contents) -> Contents | None:
    """Return a cleanup's sludge as its part of what the cell should have held."""
    items = known.data.items
    held = items[found.item]
    loads = [each for each in held.parents if each in items]
    if len(loads) != 1 or items[loads[0]].sort != "cell_load":
        return None
    beside = [
        each
        for each in items[loads[0]].children
        if each in items
        and not items[each].drawn_from
        and items[each].made_by == held.made_by
    ]
    told = {each: _told(known, each) for each in beside}
    left = less(known.of(loads[0]), [each for each in told.values() if each])
    waiting = sorted(each for each, contents in told.items() if contents is None)
    if left.gold is None or left.silver is None or found.item not in waiting:
        return None
    start, end = _part(known, waiting, found.item)
    gold, silver = (
        _between(amount, start, end, found.item) for amount in (left.gold, left.silver)
    )
    return replace(
        found,
        how="prior",
        gold=gold,
        silver=silver,
        said=f"{found.item}: no result yet; taken by the solution call of {loads[0]},"
        f" ± {100 * WIDE:.0f} %",
    )


def _told(known: Known, item: str) -> Contents | None:
    """Return what was measured of an item, or of its calcine; None if nothing was."""
    own = known.measured(item)
    if own.is_measured:
        return own
    through = passed_whole(known, own)
    return through if through is not None and through.how == "lineage" else None


def _valued_as(found: Contents, other: Contents, how: str) -> Contents:
    return replace(
        found,
        how=how,
        gold=other.gold,
        silver=other.silver,
        standing=other.standing,
        said=f"{found.item}: not assayed itself; it holds what {other.item} does",
    )


def _part(known: Known, waiting: Sequence[str], item: str) -> tuple[Decimal, Decimal]:
    """Return where the item's part begins and ends, as shares of the whole by mass."""
    masses = {}
    for each in waiting:
        weighed = known.data.masses.get(each, ())
        masses[each] = weighed[-1].dry_g if weighed else Decimal(0)
    whole = sum(masses.values(), Decimal(0))
    if whole <= 0:
        masses, whole = dict.fromkeys(waiting, Decimal(1)), Decimal(len(waiting))
    before = sum((masses[each] for each in waiting if each < item), Decimal(0))
    return quotient(before, whole), quotient(before + masses[item], whole)


def _between(amount: Amount, start: Decimal, end: Decimal, item: str) -> Amount:
    """Return the part of an amount between two shares; all parts make the whole.

    What was measured of the cleanup may be more than the call: then nothing is left.
    """
    if amount.posted_g <= 0:
        return NOTHING
    posted_g = to_milligram(amount.posted_g * end) - to_milligram(
        amount.posted_g * start
    )
    share = exact(end - start).scaled_by(WIDE, effect_keys.holding(item))
    return Amount(posted_g, amount.measured * share)
