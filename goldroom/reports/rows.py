"""Records out of the read tables, many at a time, in few queries.

Whatever stands in a row that is not a record (somebody wrote past the program) is
refused as TableDamaged: no report is made of half a table.

Every call reads the rows as they stand. What is kept from earlier calls is only what
a text comes to as a record, by the text itself: a row that anybody changed has
another text, so nothing that was changed, rebuilt or tampered with is hidden.
"""

import json
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import InvalidOperation
from functools import lru_cache
from itertools import islice
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar, cast

from django.db import DatabaseError

from goldroom.custody.codec import from_plain
from goldroom.custody.records import RECORDS, Record
from goldroom.errors import TableDamaged
from goldroom.models import Row

R = TypeVar("R", bound=Record)
Stored = tuple[str, str, str]
"""A row as it is stored: the name of its type, its key, its text."""

KEYS_AT_ONCE = 500
"""How many keys one query names: well below what any database takes."""

TEXTS_KEPT = 100_000
"""How many texts a process keeps with their records: about 1.7 kB each, in the mean."""


def all_of(ledger_id: int, *record_types: type[Record]) -> list[Record]:
    """Return every record of these types, in one query, in no order."""
    return records_of(stored(ledger_id, *record_types))


def stored(ledger_id: int, *record_types: type[Record]) -> list[Stored]:
    """Return every row of these types as it is stored: its type's name, key, text."""
    together = [(each.table, _read_ahead(ledger_id, each)) for each in record_types]
    names = [name for name, ahead in together if ahead is None]
    rows = [
        (name, key, row.value)
        for name, ahead in together
        if ahead is not None
        for key, row in ahead.items()
    ]
    if names:
        with readable():
            found = Row.objects.filter(ledger_id=ledger_id, record__in=names)
            rows += found.values_list("record", "key", "value")
    return rows


def records_of(rows: Iterable[Stored]) -> list[Record]:
    """Return the records of rows as stored, in their order."""
    return [_record(RECORDS[name], key, value) for name, key, value in rows]


def every(ledger_id: int, record_type: type[R], *statuses: str) -> list[R]:
    """Return the records of a type in the order of their keys.

    With statuses, only those in one of them.
    """
    return [record for record, _ in with_seqs(ledger_id, record_type, *statuses)]


def containing(ledger_id: int, record_type: type[R], text: str) -> list[R]:
    """Return the records of a type whose stored text contains another."""
    ahead = _read_ahead(ledger_id, record_type)
    if ahead is not None:
        rows = [
            (key, row.value) for key, row in ahead.items() if text in str(row.value)
        ]
    else:
        with readable():
            found = Row.objects.filter(
                ledger_id=ledger_id, record=record_type.table, value__contains=text
            )
            rows = list(found.values_list("key", "value"))
    return [_record(record_type, key, value) for key, value in sorted(rows)]


def with_seqs(
    ledger_id: int, record_type: type[R], *statuses: str
) -> list[tuple[R, int]]:
    """Return records with the number of the entry that changed each last.

    In the order of their keys; with statuses, only those in one of them.
    """
    ahead = _read_ahead(ledger_id, record_type)
    if ahead is not None:
        rows = [
            (key, row.value, row.seq)
            for key, row in ahead.items()
            if not statuses or row.status in statuses
        ]
    else:
        with readable():
            found = Row.objects.filter(ledger_id=ledger_id, record=record_type.table)
            if statuses:
                found = found.filter(status__in=statuses)
            rows = list(found.values_list("key", "value", "seq"))
    return [(_record(record_type, key, value), seq) for key, value, seq in sorted(rows)]


def one(ledger_id: int, record_type: type[R], key: str) -> R | None:
    """Return the record of this type and key, or None."""
    return by_keys(ledger_id, record_type, [key]).get(key)


def by_keys(ledger_id: int, record_type: type[R], keys: Iterable[str]) -> dict[str, R]:
    """Return the records of these keys, by key; those not there are left out."""
    ahead = _read_ahead(ledger_id, record_type)
    found: dict[str, R] = {}
    for some in in_pieces(sorted(set(keys))):
        if ahead is not None:
            rows = [(key, ahead[key].value) for key in some if key in ahead]
        else:
            with readable():
                rows = list(
                    Row.objects.filter(
                        ledger_id=ledger_id, record=record_type.table, key__in=some
                    ).values_list("key", "value")
                )
        found.update({key: _record(record_type, key, value) for key, value in rows})
    return found


class _Ahead(NamedTuple):
    """A row read ahead, without its key."""

    status: str
    seq: int
    value: str


_Shelf = Mapping[tuple[int, str], Mapping[str, _Ahead]]
"""Rows read ahead by key, of each ledger and type."""

NOTHING_READ: _Shelf = MappingProxyType({})
_shelf: ContextVar[_Shelf] = ContextVar("rows_read_ahead")


@contextmanager
def read_together(ledger_id: int, *record_types: type[Record]) -> Iterator[None]:
    """Answer what is asked of these types within the block out of one query.

    For a report of many small parts: each part asks for the records it needs, and all
    see the tables as they were at one moment. Nothing is kept after the block.
    """
    names = [record_type.table for record_type in record_types]
    with readable():
        found = Row.objects.filter(ledger_id=ledger_id, record__in=names)
        rows = list(found.values_list("record", "key", "status", "seq", "value"))
    read: dict[tuple[int, str], dict[str, _Ahead]] = {
        (ledger_id, name): {} for name in names
    }
    for name, key, status, seq, value in rows:
        read[ledger_id, name][key] = _Ahead(status, seq, value)
    before = _shelf.set({**_shelf.get(NOTHING_READ), **read})
    try:
        yield
    finally:
        _shelf.reset(before)


def _read_ahead(
    ledger_id: int, record_type: type[Record]
) -> Mapping[str, _Ahead] | None:
    """Return the rows of a type that were read ahead, or None if it was not."""
    return _shelf.get(NOTHING_READ).get((ledger_id, record_type.table))


def in_pieces(keys: Sequence[Any]) -> Iterator[list[Any]]:
    """Yield the keys in lists that one query can name."""
    left = iter(keys)
    while piece := list(islice(left, KEYS_AT_ONCE)):
        yield piece


@contextmanager
def readable() -> Iterator[None]:
    """Refuse text in a read table that SQLite cannot decode. Raises TableDamaged."""
    try:
        yield
    except DatabaseError as broken:
        if "decode" not in str(broken):
            raise
        raise _damaged("a row", "is not text") from broken


def _record(record_type: type[R], key: str, value: Any) -> R:
    try:
        return cast(R, _decoded(cast(Hashable, record_type), value))
    except (ValueError, TypeError, KeyError, InvalidOperation) as broken:
        raise _damaged(
            f"the row of {record_type.table} {key}", "cannot be read"
        ) from broken


@lru_cache(maxsize=TEXTS_KEPT)
def _decoded(record_type: Hashable, text: str) -> Record:
    """Return the record of a text. The same text is the same record, whoever asks."""
    return from_plain(cast(type[Record], record_type), json.loads(text))


def _damaged(what: str, how: str) -> TableDamaged:
    return TableDamaged(
        f"goldroom_row: {what} {how}. Run verify_ledger to see what else is wrong,"
        " then rebuild_tables."
    )
