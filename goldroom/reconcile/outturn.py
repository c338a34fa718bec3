"""Mine against refinery, melt by melt: what was shipped less what was found.

    difference = mine's metal - refinery's metal - melt loss     (positive: missing)

Both sides are sums of measured numbers that carry their error effects by key, so the
errors that many shipments share (a balance's slope, a laboratory's bias, the drill's)
do not average away: eight equal shipments are not eight independent looks.

A melt on record carries the refinery's usual melt loss among its own effects, with no
expected value, so there the loss is 0 here and its spread is in the refinery's figure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.amounts import Amount, sum_of
from goldroom.reconcile.priors import Quantities

NO_LOSS = exact(0.0)


@dataclass(frozen=True, slots=True)
class OutturnDifference:
    """One metal of a melt, or of many, as mine and refinery have it, in grams."""

    mine: Measured
    refinery: Measured
    melt_loss: Measured = NO_LOSS

    @property
    def difference(self) -> Measured:
        """Return what the mine shipped beyond what was found and lost in melting."""
        return self.mine - self.refinery - self.melt_loss

    @property
    def z(self) -> float | None:
        """Return the difference over its uncertainty; None when that is 0."""
        found = self.difference
        return found.value / found.u if found.u else None


def together(melts: Iterable[OutturnDifference]) -> OutturnDifference:
    """Return many melts as one, with the errors that they share added up as shared."""
    rows = list(melts)
    return OutturnDifference(
        total(row.mine for row in rows),
        total(row.refinery for row in rows),
        total(row.melt_loss for row in rows),
    )


def amounts_of(
    melt: str, quantities: Quantities, metal: str
) -> tuple[Amount, Amount] | None:
    """Return what a melt's bars held by the mine, and what the refinery found.

    None where nothing in the record tells of a bar or of the melt.
    """
    bars = [quantities.of(each) for each in quantities.data.items[melt].parents]
    mine = [each.amount(metal) for each in bars]
    found = quantities.of(melt).amount(metal)
    known = [each for each in mine if each is not None]
    if found is None or not known or len(known) < len(mine):
        return None
    return sum_of(known), found


def difference_of(
    melt: str, quantities: Quantities, metal: str
) -> OutturnDifference | None:
    """Return a melt's difference as the record has it; None where it cannot tell."""
    amounts = amounts_of(melt, quantities, metal)
    if amounts is None:
        return None
    mine, refinery = amounts
    return OutturnDifference(mine.measured, refinery.measured)
