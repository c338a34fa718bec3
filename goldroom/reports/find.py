"""Finding a thing by what is written on it: an entry, item, bar, seal or vessel."""

import json
from dataclasses import dataclass

from goldroom.custody.records import (
    Concentrator,
    Instrument,
    Item,
    Place,
    Record,
    Seal,
    Vessel,
)
from goldroom.models import Row
from goldroom.reports import rows
from goldroom.reports.journal import lines_at, lines_of

LOOKED_AMONG: tuple[type[Record], ...] = (
    Item, Seal, Vessel, Instrument, Concentrator, Place,
)  # fmt: skip
OFFERED = tuple(each.table for each in LOOKED_AMONG if each is not Seal)
"""Of these, ids that begin alike are offered; a seal's number is read off the seal."""
LIKE_IT_AT_MOST = 20


@dataclass(frozen=True, kw_only=True)
class Match:
    """A thing that bears what was typed: its record's table, its key, in words."""

    record: str
    key: str
    said: str


@dataclass(frozen=True, kw_only=True)
class Matches:
    """What bears it exactly; where nothing does, ids that begin like it."""

    exact: tuple[Match, ...]
    like_it: tuple[Match, ...]


def find(ledger_id: int, typed: str) -> Matches:
    """Return what bears this text: as typed, or in capitals."""
    asked = typed.strip()
    if not asked:
        return Matches(exact=(), like_it=())
    spelled = tuple(dict.fromkeys((asked, asked.upper())))
    exact = [*_entries(ledger_id, asked), *_things(ledger_id, spelled)]
    exact += _bars(ledger_id, spelled)
    unique = tuple(dict.fromkeys(exact))
    return Matches(exact=unique, like_it=() if unique else _like(ledger_id, spelled))


def _entries(ledger_id: int, asked: str) -> list[Match]:
    """Return the entry of a number, or of an id."""
    number = asked.removeprefix("#")
    if number.isascii() and number.isdecimal() and len(number) < 16:
        found = list(lines_at(ledger_id, [int(number)]).values())
    else:
        found = list(lines_of(ledger_id, [asked.lower()]).values())
    return [
        Match(record="entry", key=str(line.seq), said=f"entry {line.seq}")
        for line in found
    ]


def _things(ledger_id: int, spelled: tuple[str, ...]) -> list[Match]:
    tables = [each.table for each in LOOKED_AMONG]
    with rows.readable():
        found = Row.objects.filter(
            ledger_id=ledger_id, record__in=tables, key__in=spelled
        )
        keys = sorted(found.values_list("record", "key"))
    return [_match(record, key) for record, key in keys]


def _bars(ledger_id: int, spelled: tuple[str, ...]) -> list[Match]:
    """Return the items that bear the text as their label: a bar's stamped number."""
    return [
        Match(record=Item.table, key=item.item, said=f"{item.item}, stamped {each}")
        for each in spelled
        for item in rows.containing(
            ledger_id, Item, f'"label":{json.dumps(each, ensure_ascii=False)}'
        )
        if item.label == each
    ]


def _like(ledger_id: int, spelled: tuple[str, ...]) -> tuple[Match, ...]:
    keys: set[tuple[str, str]] = set()
    for each in spelled:
        with rows.readable():
            found = Row.objects.filter(
                ledger_id=ledger_id, record__in=OFFERED, key__startswith=each
            )
            keys.update(found.values_list("record", "key")[:LIKE_IT_AT_MOST])
    return tuple(_match(*key) for key in sorted(keys)[:LIKE_IT_AT_MOST])


def _match(record: str, key: str) -> Match:
    return Match(record=record, key=key, said=f"{record.replace('_', ' ')} {key}")
