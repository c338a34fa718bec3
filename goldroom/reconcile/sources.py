"""How much of an item's gold came by gravity, when other metal joined its smelt.

Elution sludge, traps, sumps and cleanings are often poured with gravity concentrate.
A pour is attributed to its sources by their measured gold:

    share = sum(gold of gravity sources) / sum(gold of all sources)

with the errors of both. Only that share may be held against the gravity estimate; of a
mixture whose sources hold nothing known, none is.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.quantities import Contents

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

    def gold(self, contents: Contents) -> Amount | None:
        """Return the gold of an item that came by gravity; None if it is unknown."""
        share = self.of(contents.item)
        if share is NONE:
            return NOTHING
        gold = contents.gold
        return gold if gold is None or share is ALL else gold.times(share)

    def _share(self, item: str) -> Measured:
        """Return the share by the item's source; of a mixture, by its sources' gold."""
        source = self.quantities.data.items[item].source
        if source != "mixed":
            return ALL if source == "gravity" else NONE
        sources = self.quantities.made_from(item)
        if len(sources) == 1:
            return self.of(sources[0])
        parts = [
            (gold.measured, self.of(each))
            for each in sources
            if (gold := self.quantities.of(each).gold) is not None
        ]
        whole = total(gold for gold, _ in parts)
        if whole.value <= 0:
            return NONE
        return total(gold * share for gold, share in parts) / whole
