"""A casting's fineness before its assay, from what went into its charge.

    metal in the castings = metal in the sources - metal in slag and skull
    fineness              = 1000 x that / mass of the pour's castings together,
                            with the samples taken of melt and castings

All castings of one pour get the same figure, for nothing tells them apart before they
are assayed. A bar may ship on it; it is an estimate with a wide uncertainty, and an
assay takes its place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from goldroom.metal.uncertainty import Measured, total
from goldroom.reconcile.priors import Quantities

LEFT_BEHIND = ("slag", "skull")
THOUSAND = 1000.0


@dataclass(frozen=True, slots=True)
class EstimatedFineness:
    """Gold and silver in parts per thousand, and what they were worked out from.

    `uncounted` names slag and skull of which nothing was said yet: the fineness is
    then too high.
    """

    bar: str
    gold_permille: Measured
    silver_permille: Measured
    sources: tuple[str, ...]
    castings: tuple[str, ...]
    uncounted: tuple[str, ...]


def estimated_fineness(quantities: Quantities, bar: str) -> EstimatedFineness | None:
    """Return a casting's fineness estimated from its charge.

    None where it came from no charge, a source's metal is not known, or a casting of
    the pour was not weighed yet.
    """
    items = quantities.data.items
    casting = items.get(bar)
    charge = None
    if casting is not None and casting.parents:
        charge = items.get(casting.parents[0])
    if charge is None or charge.sort != "charge":
        return None
    castings = _of_sort(quantities, charge.children, ("bar",))
    left = _of_sort(quantities, charge.children, LEFT_BEHIND)
    mass = _poured(quantities, charge.children, castings)
    told = [each for each in left if quantities.measured(each).is_measured]
    gold = _metal(quantities, charge.parents, told, "gold")
    silver = _metal(quantities, charge.parents, told, "silver")
    if mass is None or gold is None or silver is None:
        return None
    return EstimatedFineness(
        bar=bar,
        gold_permille=gold / mass * THOUSAND,
        silver_permille=silver / mass * THOUSAND,
        sources=charge.parents,
        castings=tuple(castings),
        uncounted=tuple(each for each in left if each not in told),
    )


def _of_sort(
    quantities: Quantities, names: Iterable[str], sorts: Sequence[str]
) -> list[str]:
    items = quantities.data.items
    return [
        each
        for each in names
        if each in items and items[each].sort in sorts and items[each].status != "void"
    ]


def _poured(
    quantities: Quantities, children: Iterable[str], castings: Sequence[str]
) -> Measured | None:
    """Return the mass of castings and samples; None while a casting has no mass.

    What was drilled from a casting is no longer in its mass.
    """
    masses = [quantities.whole(each).dry_mass for each in castings]
    known = [each.measured for each in masses if each is not None]
    if not known or len(known) < len(masses):
        return None
    items = quantities.data.items
    samples = _of_sort(quantities, children, ("sample",))
    for each in castings:
        drilled = _of_sort(quantities, items[each].children, ("sample",))
        samples += [name for name in drilled if name not in items[each].drawn]
    taken = [quantities.own(each).dry_mass for each in samples]
    return total([*known, *(each.measured for each in taken if each is not None)])


def _metal(
    quantities: Quantities, sources: Sequence[str], left: Sequence[str], metal: str
) -> Measured | None:
    """Return the metal that went into the castings; None where a source is unknown."""
    came = [quantities.of(each).amount(metal) for each in sources]
    stayed = [quantities.of(each).amount(metal) for each in left]
    known = [each.measured for each in came if each is not None]
    if len(known) < len(came):
        return None
    return total(known) - total(each.measured for each in stayed if each is not None)
