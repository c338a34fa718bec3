"""Records out of the read tables, many at a time, in few queries.

Whatever stands in a row that is not a record (somebody wrote past the program) is
refused as TableDamaged: no report is made of half a table.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from decimal import InvalidOperation
from itertools import islice
from typing import Any, TypeVar

from django.db import DatabaseError

from goldroom.custody.codec import from_plain
from goldroom.custody.records import RECORDS, Record
from goldroom.errors import TableDamaged
from goldroom.models import Row

R = TypeVar("R", bound=Record)
KEYS_AT_ONCE = 500
"""How many keys one query names: well below what any database takes."""


def all_of(ledger_id: int, *record_types: type[Record]) -> list[Record]:
    """Return every record of these types, in one query, in no order."""
    names = [record_type.table for record_type in record_types]
    with readable():
        found = Row.objects.filter(ledger_id=ledger_id, record__in=names)
        rows = list(found.values_list("record", "key", "value"))
    return [_record(RECORDS[name], key, value) for name, key, value in rows]


def every(ledger_id: int, record_type: type[R], *statuses: str) -> list[R]:
    """Return the records of a type in the order of their keys.

    With statuses, only those in one of them.
    """
    with readable():
        found = Row.objects.filter(ledger_id=ledger_id, record=record_type.table)
        if statuses:
            found = found.filter(status__in=statuses)
        rows = list(found.values_list("key", "value"))
    return [_record(record_type, key, value) for key, value in sorted(rows)]


def containing(ledger_id: int, record_type: type[R], text: str) -> list[R]:
    """Return the records of a type whose stored text contains another."""
    with readable():
        found = Row.objects.filter(
            ledger_id=ledger_id, record=record_type.table, value__contains=text
        )
        rows = list(found.values_list("key", "value"))
    return [_record(record_type, key, value) for key, value in sorted(rows)]


def with_seqs(
    ledger_id: int, record_type: type[R], *statuses: str
) -> list[tuple[R, int]]:
    """Return records with the number of the entry that changed each last."""
    with readable():
        found = Row.objects.filter(
            ledger_id=ledger_id, record=record_type.table, status__in=statuses
        )
        rows = list(found.values_list("key", "value", "seq"))
    return [(_record(record_type, key, value), seq) for key, value, seq in sorted(rows)]


def one(ledger_id: int, record_type: type[R], key: str) -> R | None:
    """Return the record of this type and key, or None."""
    return by_keys(ledger_id, record_type, [key]).get(key)


def by_keys(ledger_id: int, record_type: type[R], keys: Iterable[str]) -> dict[str, R]:
    """Return the records of these keys, by key; those not there are left out."""
    found: dict[str, R] = {}
    for some in in_pieces(sorted(set(keys))):
        with readable():
            rows = list(
                Row.objects.filter(
                    ledger_id=ledger_id, record=record_type.table, key__in=some
                ).values_list("key", "value")
            )
        found.update({key: _record(record_type, key, value) for key, value in rows})
    return found


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
        return from_plain(record_type, json.loads(value))
    except (ValueError, TypeError, KeyError, InvalidOperation) as broken:
        raise _damaged(
            f"the row of {record_type.table} {key}", "cannot be read"
        ) from broken


def _damaged(what: str, how: str) -> TableDamaged:
    return TableDamaged(
        f"goldroom_row: {what} {how}. Run verify_ledger to see what else is wrong,"
        " then rebuild_tables."
    )
