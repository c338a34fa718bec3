"""What forms may offer to choose from: things by the table they are looked up in.

Seals are never offered: their numbers are read off the seal. Of items, those that
are held or on their way, and no flushes (a sheet lists them by number).
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from goldroom.custody.moves import HELD
from goldroom.custody.period import ClosedPeriod
from goldroom.custody.records import (
    Concentrator,
    Emergency,
    Instrument,
    Item,
    Person,
    Place,
    Record,
    Shipment,
    Vessel,
)
from goldroom.custody.room import Incident
from goldroom.reports import rows

OFFERED: Mapping[str, type[Record]] = {
    each.table: each
    for each in (
        Vessel,
        Instrument,
        Place,
        Concentrator,
        Person,
        Item,
        Shipment,
        Incident,
        Emergency,
        ClosedPeriod,
    )
}
NOT_OFFERED = frozenset({"flush"})


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A thing to choose: its key, what people call it, and the unit it shows."""

    value: str
    name: str
    unit: str = ""
    sort: str = ""


def known(ledger_id: int, tables: Collection[str]) -> dict[str, tuple[Choice, ...]]:
    """Return what can be chosen in these tables, by table, in one query."""
    wanted = [OFFERED[table] for table in sorted(tables) if table in OFFERED]
    found: dict[str, list[Choice]] = {each.table: [] for each in wanted}
    for record in rows.all_of(ledger_id, *wanted) if wanted else []:
        choice = _CHOICES.get(type(record), _plain)(record)
        if choice is not None:
            found[record.table].append(choice)
    return {
        table: tuple(sorted(choices, key=lambda each: (each.sort, each.value)))
        for table, choices in found.items()
    }


def _plain(record: Any) -> Choice | None:
    return Choice(value=record.key, name=record.key)


def _named(record: Any) -> Choice | None:
    return Choice(value=record.key, name=record.name)


def _place(record: Place) -> Choice | None:
    return Choice(value=record.key, name=record.name, sort=record.sort)


def _vessel(record: Vessel) -> Choice | None:
    name = f"{record.key} – {record.name}"
    return Choice(value=record.key, name=name, sort=record.sort)


def _instrument(record: Instrument) -> Choice | None:
    shows = f", shows {record.unit}" if record.unit else ""
    name = f"{record.key} – {record.name}{shows}"
    return Choice(value=record.key, name=name, unit=record.unit, sort=record.sort)


def _item(record: Item) -> Choice | None:
    if record.status not in HELD or record.sort in NOT_OFFERED:
        return None
    label = f" ({record.label})" if record.label else ""
    sort = record.sort.replace("_", " ")
    return Choice(value=record.key, name=f"{sort} {record.item}{label}", sort=sort)


_CHOICES: Mapping[type[Record], Callable[[Any], Choice | None]] = {
    Vessel: _vessel,
    Place: _place,
    Person: _named,
    Instrument: _instrument,
    Item: _item,
}
