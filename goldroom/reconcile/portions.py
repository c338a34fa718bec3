"""Samples divided: what each portion holds, so that none of the sample's metal is lost.

Portions of one sample are alike, so whatever a laboratory finds in one of them, each
holds its share of what the sample held, by mass or volume:

    held by the first n together = metal of the sample x size of the first n / its size

rounded to the milligram; a portion holds what it adds to those before it. So portions
that weigh what the sample weighed hold its metal to the milligram, and grams that are
missing are missing with their metal. What a laboratory used of a sample and what it
left of it are two such portions.

A sample, and a portion of one, is *of* what it was first taken from: a lot, a slag, a
bar or the melt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from goldroom.custody.records import Item, Mass
from goldroom.metal.rounding import to_milligram
from goldroom.metal.uncertainty import Measured
from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.passed_whole import Known
from goldroom.reconcile.wet_samples import wet_mass

OF_THE_MELT = ("bar", "charge", "sample")


def drawn_before(held: Item, mass: Mass, items: Mapping[str, Item]) -> tuple[str, ...]:
    """Return what had been drawn off an item before it was weighed.

    Of one minute, what had been said before, but by the weighing itself: a sample
    drawn in the act of weighing is in what was weighed.
    """
    found = []
    for n, name in enumerate(held.drawn):
        drawn = items.get(name)
        if drawn is None or drawn.held_from > mass.at:
            continue
        is_said_before = n < mass.drawn and drawn.made_by != mass.measured_in
        if drawn.held_from < mass.at or is_said_before:
            found.append(name)
    return tuple(found)


def portions_beside(item: Item, items: Mapping[str, Item]) -> tuple[str, ...]:
    """Return the portions of one sample in order, this among them; () for others."""
    if item.sort != "sample" or len(item.parents) != 1:
        return ()
    whole = items.get(item.parents[0])
    if whole is None or whole.sort != "sample" or whole.used_by != item.made_by:
        return ()
    return tuple(
        each
        for each in whole.children
        if each in items and items[each].made_by == item.made_by
    )


def portion_held(known: Known, found: Contents) -> Contents | None:
    """Return what a portion holds, of whose own figures `found` tells the size.

    None for what is no portion. Without a size of the sample the portions together
    are taken for it; where all were weighed wet, they are compared as they were.
    Unknown where a portion's size or the sample's contents are.
    """
    item = known.data.items[found.item]
    portions = portions_beside(item, known.data.items)
    if not portions:
        return None
    whole = known.of(item.parents[0])
    sizes = [known.measured(each).size for each in portions]
    told = [each for each in sizes if each is not None]
    size = whole.size or sum_of(told)
    if not told:
        wet = [wet_mass(each, known.data) for each in portions]
        told = [each for each in wet if each is not None]
        size = wet_mass(whole.item, known.data) or sum_of(told)
    gold, silver = whole.gold, whole.silver
    if gold is None or silver is None or len(told) < len(sizes) or not size.posted_g:
        return replace(found, how="unknown", said=whole.said)
    n = portions.index(found.item)
    before_g = sum((each.posted_g for each in told[:n]), Decimal(0))
    stretch = (before_g, before_g + told[n].posted_g)
    share = told[n].measured / size.measured
    return replace(
        found,
        how="prior" if whole.is_pending else "lineage",
        gold=_share_of(gold, stretch, size, share),
        silver=_share_of(silver, stretch, size, share),
        standing=whole.standing,
        said=f"{found.item}: its share of {whole.item}, by size",
    )


def _share_of(
    metal: Amount, stretch: tuple[Decimal, Decimal], size: Amount, share: Measured
) -> Amount:
    first, last = (
        to_milligram(metal.posted_g * each / size.posted_g) for each in stretch
    )
    return Amount(last - first, metal.measured * share)


def taken_from(item: Item, items: Mapping[str, Item]) -> tuple[str, ...]:
    """Return what an item is of the same content as: what it was drawn off, or of.

    For what a laboratory gave back, the parts of samples that it used.
    """
    if item.drawn_from:
        return (item.drawn_from,)
    is_given_back = (
        item.sort == "sample"
        and bool(item.parents)
        and all(each in items for each in item.parents)
        and all(items[each].sort == "sample" for each in item.parents)
        and not portions_beside(item, items)
    )
    return item.parents if is_given_back else ()


def sample_of(item: Item, items: Mapping[str, Item]) -> str:
    """Return the sort of what an item is a sample of; of no sample, its own sort."""
    seen: set[str] = set()
    while item.sort == "sample" and item.item not in seen:
        seen.add(item.item)
        above = item.drawn_from or next(iter(item.parents), "")
        if above not in items:
            break
        item = items[above]
    return item.sort


def group_of(item: Item, items: Mapping[str, Item]) -> str:
    """Return what an item's like is called, of which a mean may stand in for it.

    Samples of the melt are one group; those of a lot another, for they are poorer by
    far; what a laboratory gave back is like nothing else.
    """
    if item.sort != "sample" or item.volumes:
        return item.sort
    if taken_from(item, items) and not item.drawn_from:
        return f"given back {item.item}"
    of = sample_of(item, items)
    return item.sort if of in OF_THE_MELT else f"sample of {of}"
