"""How much of an item's gold came by gravity, when other metal joined its smelt.

Elution sludge, traps, sumps and cleanings are often poured with gravity concentrate.
A pour is attributed to its sources by their measured gold:

    share = sum(gold of gravity sources) / sum(gold of all sources)

with the errors of both. Only that share may be held against the gravity estimate.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.priors import Quantities

ALL, NONE = exact(1.0), exact(0.0)


@dataclass(frozen=True)
class GravityShares:
    """Gravity shares of items, worked out once each."""

    quantities: Quantities
    _found: dict[str, Measured] = field(default_factory=dict)

    def of(self, item: str) -> Measured:
        """Return the share of the item's gold that came by gravity, 0 to 1."""
        found = self._found.get(item)
        if found is None:
            found = self._share(item)
            self._found[item] = found
        return found

    def gold(self, item: str) -> Amount | None:
        """Return the item's gold that came by gravity; None if it is unknown."""
        share = self.of(item)
        if share is NONE:
            return NOTHING
        gold = self.quantities.of(item).gold
        return gold if gold is None or share is ALL else gold.times(share)

    def _share(self, item: str) -> Measured:
        """Return the share by what the item's charge was made of, or by its source."""
        items = self.quantities.data.items
        sources = self._charged(item)
        shares = [self.of(source) for source in sources]
        if not sources:
            return ALL if items[item].source == "gravity" else NONE
        if all(share is ALL for share in shares):
            return ALL
        if all(share is NONE for share in shares):
            return NONE
        golds = [self.quantities.of(source).gold for source in sources]
        known = [NOTHING if gold is None else gold for gold in golds]
        whole = total(gold.measured for gold in known)
        if whole.value <= 0:
            return ALL if items[item].source == "gravity" else NONE
        return (
            total(
                gold.measured * share for gold, share in zip(known, shares, strict=True)
            )
            / whole
        )

    def _charged(self, item: str) -> list[str]:
        """Return the sources of the charges that an item was poured from."""
        items = self.quantities.data.items
        charges = [
            items[parent]
            for parent in items[item].parents
            if parent in items and items[parent].sort == "charge"
        ]
        return [
            source
            for charge in charges
            for source in charge.parents
            if source in items and source != item
        ]
