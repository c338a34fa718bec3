"""What a sample weighed wet comes to dry, where nobody ever weighed it dry.

Its portions tell, once they are dry: together they are the sample. Else what it was
taken from does: dried since, it lost water in the same proportion. While neither is
known the sample has no size, and counts with what it was taken from.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from goldroom.custody.figures import WET
from goldroom.custody.records import Item, Mass
from goldroom.metal import effect_keys
from goldroom.metal.rounding import quotient, to_milligram
from goldroom.metal.uncertainty import exact
from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.quantities import used_mass

UNLIKE = 0.10
"""By how much a sample's water may differ from that of the rest, as a share."""


def wet_mass(item: str, data: LedgerRecords) -> Amount | None:
    """Return the grams that an item was last weighed at, if that was wet; or None."""
    masses = data.masses.get(item, ())
    if not masses or masses[-1].wanted_for != WET:
        return None
    return Amount(masses[-1].net_g, exact(masses[-1].net_g))


def with_dry_mass(found: Contents, data: LedgerRecords) -> Contents:
    """Return a sample's contents with its dry mass, as far as that can be reckoned."""
    wet, item = wet_mass(found.item, data), data.items[found.item]
    if wet is None or item.sort != "sample" or found.size is not None:
        return found
    dry = _of_portions(item, data) or _as_its_source(item, wet, data)
    return found if dry is None else replace(found, dry_mass=dry)


def _of_portions(item: Item, data: LedgerRecords) -> Amount | None:
    """Return the dry mass of all that the sample became; None if one was not dry."""
    made = [each for each in item.children if each in data.items]
    masses = [used_mass(data.masses.get(each, ())) for each in made]
    known = [each.dry_g for each in masses if each is not None]
    if not item.held_until or not known or len(known) < len(masses):
        return None
    dry_g = sum(known, Decimal(0))
    return Amount(dry_g, exact(dry_g))


def _as_its_source(item: Item, wet: Amount, data: LedgerRecords) -> Amount | None:
    """Return the dry mass if the sample lost as much of it as its source; or None."""
    source = data.items.get(item.drawn_from)
    masses = () if source is None else data.masses.get(source.item, ())
    before = [each for each in masses if each.wanted_for == WET]
    after = used_mass(masses)
    if source is None or after is None or not before:
        return None
    dried_g = before[-1].net_g - sum(_taken_between(source, before[-1], after, data))
    if not 0 < after.dry_g <= dried_g:
        return None
    dry_g = to_milligram(wet.posted_g * quotient(after.dry_g, dried_g))
    return Amount(dry_g, exact(dry_g).scaled_by(UNLIKE, effect_keys.holding(item.item)))


def _taken_between(
    source: Item, before: Mass, after: Mass, data: LedgerRecords
) -> list[Decimal]:
    """Return the wet grams of each sample taken between the two weighings."""
    found = []
    for n, name in enumerate(source.drawn):
        wet = wet_mass(name, data) if name in data.items else None
        if wet is not None and before.drawn <= n < after.drawn:
            found.append(wet.posted_g)
    return found
