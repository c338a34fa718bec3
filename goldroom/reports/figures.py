"""Figures of some items out of the read tables: by purpose, newest, every version."""

from collections.abc import Iterable
from decimal import Decimal

from goldroom.custody.figures import F, in_order
from goldroom.custody.records import Item, Mass
from goldroom.reports import rows


def wanted(ledger_id: int, record_type: type[F], wanted_for: str) -> list[F]:
    """Return the figures that were taken for this purpose."""
    return rows.containing(ledger_id, record_type, f'"wanted_for":"{wanted_for}"')


def newest(figures: Iterable[F]) -> dict[str, F]:
    """Return the newest figure of each item."""
    known: dict[str, list[F]] = {}
    for each in figures:
        known.setdefault(each.item, []).append(each)
    return {item: in_order(each)[-1] for item, each in known.items()}


def versions(
    ledger_id: int, record_type: type[F], items: Iterable[Item], count: str
) -> list[F]:
    """Return every version of a figure that these items have."""
    keys = [
        f"{item.item}/{n:03d}"
        for item in items
        for n in range(1, getattr(item, count) + 1)
    ]
    return list(rows.by_keys(ledger_id, record_type, keys).values())


def dry_g(ledger_id: int, names: Iterable[str]) -> dict[str, Decimal]:
    """Return the newest dry mass of these items, in grams; unknown ones left out."""
    items = rows.by_keys(ledger_id, Item, names)
    masses = newest(versions(ledger_id, Mass, items.values(), "masses"))
    return {name: mass.dry_g for name, mass in masses.items()}
