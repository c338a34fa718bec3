"""A leach batch's parts with their contents, sorted by the way they went.

What came out is told whole: what was drawn off it later (a sample of a solution) is
still in it here. A sample of solution put back is solution used again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from goldroom.custody.records import Item
from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.priors import Quantities


@dataclass(frozen=True)
class Account:
    """A batch's parts; `left` is what the batch holds by difference."""

    batch: Item
    solids: Mapping[str, Contents]
    used_again: Mapping[str, Contents]
    solutions: Mapping[str, Contents]
    samples: Mapping[str, Contents]
    residues: Mapping[str, Contents]
    left: Contents
    quantities: Quantities

    @classmethod
    def of(cls, quantities: Quantities, batch: Item) -> Account:
        """Return the account of a batch."""
        items = quantities.data.items

        def whole(names: Sequence[str], *sorts: str) -> dict[str, Contents]:
            return {
                each: quantities.of(each, drawn=0)
                for each in names
                if items[each].sort in sorts
            }

        put = {each: quantities.of(each) for each in batch.parents}
        made = [each for each in batch.children if each not in batch.drawn]
        made = [each for each in made if items[each].status != "void"]
        return cls(
            batch=batch,
            solids={k: v for k, v in put.items() if v.litres is None},
            used_again={k: v for k, v in put.items() if v.litres is not None},
            solutions=whole(batch.drawn, "solution"),
            samples=whole(batch.drawn, "sample"),
            residues=whole(made, "residue"),
            left=quantities.of(batch.item),
            quantities=quantities,
        )

    def sum(self, parts: Mapping[str, Contents], metal: str) -> Amount | None:
        """Return a metal of some parts together; None if of one it is not known."""
        amounts = [each.amount(metal) for each in parts.values()]
        known = [each for each in amounts if each is not None]
        return sum_of(known) if len(known) == len(amounts) else None

    def dissolved(self, metal: str) -> Amount | None:
        """Return what went into solution: all drawn off, less solution used again."""
        drawn = self.sum({**self.solutions, **self.samples}, metal)
        before = self.sum(self.used_again, metal)
        return None if drawn is None or before is None else drawn - before

    def missing(self, metal: str) -> Amount | None:
        """Return what is left by difference: of an ended batch, less its residue."""
        left, residue = self.left.amount(metal), self.sum(self.residues, metal)
        return None if left is None or residue is None else left - residue

    @property
    def parts(self) -> dict[str, Contents]:
        """Return every part by item."""
        return {
            **self.solids,
            **self.used_again,
            **self.solutions,
            **self.samples,
            **self.residues,
        }
