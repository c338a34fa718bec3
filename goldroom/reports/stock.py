"""Stock as the rules look at it: bars with their gold, items with their last sight."""

from collections.abc import Iterable

from goldroom.custody.moves import HELD
from goldroom.custody.records import Assay, Estimate, Instrument, Item, Mass, Stay
from goldroom.findings.stock import HeldBar, PlacedItem
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reports import rows


def held_bars(ledger_id: int, bars: Iterable[Item]) -> list[HeldBar]:
    """Return the bars that the vault step holds, with their gold as measured.

    Only the bars' own figures are read, not the whole record's.
    """
    held = [bar for bar in bars if bar.step == "vault"]
    records = [
        *held,
        *rows.every(ledger_id, Instrument),
        *rows.by_keys(ledger_id, Mass, _keys(held, "masses")).values(),
        *rows.by_keys(ledger_id, Assay, _keys(held, "assays")).values(),
        *rows.by_keys(ledger_id, Estimate, _keys(held, "estimates")).values(),
    ]
    quantities = Quantities(LedgerRecords.from_records(records))
    return [
        HeldBar(bar=bar, gold_g=None if gold is None else gold.posted_g)
        for bar in held
        for gold in [quantities.measured(bar.item).gold]
    ]


def placed_items(ledger_id: int) -> list[PlacedItem]:
    """Return the items held, each with when a statement last said where it is."""
    held = rows.every(ledger_id, Item, *HELD)
    keys = [f"{item.item}/{item.stays:04d}" for item in held if item.stays]
    seen = {stay.item: stay.at for stay in rows.by_keys(ledger_id, Stay, keys).values()}
    return [PlacedItem(item=item, seen_at=seen.get(item.item, "")) for item in held]


def _keys(bars: Iterable[Item], figure: str) -> list[str]:
    """Return the keys of every version of a figure that the bars have."""
    return [
        f"{bar.item}/{version:03d}"
        for bar in bars
        for version in range(1, getattr(bar, figure) + 1)
    ]
