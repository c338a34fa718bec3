"""What an item holds, added up and taken apart.

Sums and differences keep the exact grams and the error effects side by side, so what
was drawn off an item and what is left of it together make what it was.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from goldroom.reconcile.amounts import Amount

PROVISIONAL = ("estimated", "provisional")


@dataclass(frozen=True, slots=True)
class Contents:
    """What an item holds; None where nothing in the record tells.

    `how` is assay, estimate, prior (nothing measured yet: a typical figure with a
    wide uncertainty), lineage (taken from what it came from or went into, because
    the site never assays its like), book (all that was put in, less all drawn off)
    or unknown. `standing` is that of the assay used. A solution has `litres`, an
    amount counted in litres, and no dry mass.
    """

    item: str
    how: str
    gold: Amount | None = None
    silver: Amount | None = None
    dry_mass: Amount | None = None
    litres: Amount | None = None
    standing: str = ""
    said: str = ""

    @property
    def is_measured(self) -> bool:
        """Return whether somebody assayed or estimated this very item."""
        return self.how in ("assay", "estimate")

    @property
    def size(self) -> Amount | None:
        """Return what its content is counted by: litres, or grams of dry mass."""
        return self.dry_mass if self.litres is None else self.litres

    @property
    def is_pending(self) -> bool:
        """Return whether a typical figure stands in for one still to come."""
        return self.how in ("prior", "unknown")

    @property
    def is_provisional(self) -> bool:
        """Return whether the figure is expected to change."""
        return self.standing in PROVISIONAL or self.is_pending

    def amount(self, metal: str) -> Amount | None:
        """Return the amount of gold, silver or dry_mass."""
        found = {"gold": self.gold, "silver": self.silver, "dry_mass": self.dry_mass}
        return found[metal]


def is_alike(contents: Contents, other: Contents) -> bool:
    """Return whether both are counted by litres, or neither is."""
    return (contents.litres is None) is (other.litres is None)


def less(contents: Contents, taken: Sequence[Contents]) -> Contents:
    """Return what is left when these were drawn off; unknown if one of them is."""
    return _combined(contents, taken, lambda amount, other: amount - other)


def plus(contents: Contents, more: Sequence[Contents]) -> Contents:
    """Return all together; unknown if one is, provisional if one put in is."""
    whole = _combined(contents, more, lambda amount, other: amount + other)
    unsure = [each.item for each in more if each.is_provisional]
    if whole.how == "book" and unsure:
        said = f"{contents.item}: {unsure[0]} in it is not final"
        return replace(whole, standing="provisional", said=said)
    return whole


def _combined(
    contents: Contents,
    others: Sequence[Contents],
    combine: Callable[[Amount, Amount], Amount],
) -> Contents:
    def together(metal: str) -> Amount | None:
        amount = contents.amount(metal)
        for each in others:
            other = each.amount(metal)
            amount = None if amount is None or other is None else combine(amount, other)
        return amount

    told = replace(
        contents,
        gold=together("gold"),
        silver=together("silver"),
        dry_mass=together("dry_mass"),
    )
    missing = [each.said for each in others if each.gold is None]
    return replace(told, how="unknown", said=missing[0]) if missing else told
