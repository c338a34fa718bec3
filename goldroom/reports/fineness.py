"""A bar's fineness: by its charge, by each assay, and whether they agree.

Before its assay a bar goes by what went into its charge. Once there are several
results, their mean of least variance is shown to judge them by; the balances use one
of them, never that mean. A bar whose assay is far from its charge was made of
something else than the book says, or was sampled badly.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.records import Assay
from goldroom.errors import OutOfRange, UnknownItem
from goldroom.metal.uncertainty import Measured, exact
from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.fineness import EstimatedFineness, estimated_fineness
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.quantities import metal_amount
from goldroom.reconcile.several_assays import Combined, weighted_mean
from goldroom.reports.kept import worked_out

KILOGRAM = Decimal(1000)
"""Grams of bullion in which as many grams of gold are parts per thousand."""

FAR_Z = 3
"""An assay so many uncertainties off the charge is asked about."""

UNLIKELY = 0.001
"""Results that would agree so badly only once in a thousand times are asked about."""


@dataclass(frozen=True, kw_only=True)
class ToldFineness:
    """Parts per thousand of gold by one result, with the standard uncertainty."""

    standing: str
    laboratory: str
    sample: str
    gold_permille: float
    u_permille: float
    entry: str


@dataclass(frozen=True, kw_only=True)
class BarFineness:
    """What tells a bar's gold: its charge (None if nothing does), and each result.

    `p` is the chance that results differ so much by their own errors, `z` the newest
    result less the charge's over its uncertainty; None where there is no such pair.
    """

    bar: str
    by_charge: EstimatedFineness | None
    told: tuple[ToldFineness, ...]
    mean_permille: float | None
    mean_u_permille: float | None
    p: float | None
    z: float | None

    @property
    def questions(self) -> tuple[str, ...]:
        """Return what to ask about the bar; nothing if all agree."""
        asked = []
        if self.p is not None and self.p < UNLIKELY:
            asked.append(
                f"The results of {self.bar} differ by more than their errors explain:"
                " see that each sample was this bar's, and have it assayed again."
            )
        if self.z is not None and abs(self.z) > FAR_Z:
            side = "richer" if self.z > 0 else "poorer"
            asked.append(
                f"{self.bar} is {side} than its charge by {abs(self.z):.1f} standard"
                " uncertainties: ask what went into the charge and what is in the slag."
            )
        return tuple(asked)


def bar_fineness(ledger_id: int, bar: str) -> BarFineness:
    """Return what tells a bar's gold, in parts per thousand. Raises UnknownItem."""
    quantities = worked_out(ledger_id).quantities
    item = quantities.data.items.get(bar)
    if item is None or item.sort != "bar":
        raise UnknownItem(
            f"{bar!r}: no bar of that id is on record. Check it against its label.",
            field="bar",
        )
    by_charge = estimated_fineness(quantities, bar)
    assays = _each_result(quantities.data.assays.get(bar, ()))
    results = [_gold(quantities, each) for each in assays]
    combined = _combined(results)
    return BarFineness(
        bar=bar,
        by_charge=by_charge,
        told=tuple(
            ToldFineness(
                standing=each.standing,
                laboratory=each.laboratory,
                sample=each.sample,
                gold_permille=gold.value,
                u_permille=gold.u,
                entry=each.entry,
            )
            for each, gold in zip(assays, results, strict=True)
        ),
        mean_permille=None if combined is None else combined.mean.value,
        mean_u_permille=None if combined is None else combined.mean.u,
        p=None if combined is None or len(results) < 2 else combined.p,
        z=_z(results, by_charge),
    )


def _each_result(assays: Sequence[Assay]) -> list[Assay]:
    """Return the newest version of each result, the newest result last."""
    newest = {each.measured_in or each.entry: each for each in assays}
    return [each for each in newest.values() if each.unit == "permille"]


def _gold(quantities: Quantities, assay: Assay) -> Measured:
    """Return the gold of a result in parts per thousand, with its errors."""
    kilogram = Amount(KILOGRAM, exact(KILOGRAM))
    budget = quantities.dated_budget
    return metal_amount(kilogram, assay, "gold", budget=budget).measured


def _combined(results: Sequence[Measured]) -> Combined | None:
    """Return the results' mean; None without any, or where they cannot be weighted."""
    try:
        return weighted_mean(results)
    except OutOfRange:
        return None


def _z(
    results: Sequence[Measured], by_charge: EstimatedFineness | None
) -> float | None:
    if by_charge is None or not results:
        return None
    apart = results[-1] - by_charge.gold_permille
    return apart.value / apart.u if apart.u else None
