"""The read tables as plain rows: reading one record, writing what changed.

Hand-written SQL that SQLite and PostgreSQL both take. Nothing here knows what a
record means.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, NamedTuple

from django.db import connection

from goldroom.custody.records import Record
from goldroom.errors import TableDamaged
from goldroom.statements.fold import text_of


class RowOf(NamedTuple):
    """A row of `goldroom_row` without its ledger."""

    record: str
    key: str
    status: str
    place: str
    at: str
    seq: int
    value: str


class LineOf(NamedTuple):
    """A row of `goldroom_journal` without its ledger."""

    seq: int
    entry_id: str
    kind: str
    signing_class: str
    occurred_at: str
    received_at: str
    people: str
    sentence: str


class MentionOf(NamedTuple):
    """A row of `goldroom_mention` without its ledger."""

    record: str
    key: str
    seq: int


TABLES: dict[str, type[Any]] = {
    "goldroom_row": RowOf,
    "goldroom_journal": LineOf,
    "goldroom_mention": MentionOf,
}
"""Every read table with the shape of its rows."""

KEY_COLUMNS = {
    "goldroom_row": ("record", "key"),
    "goldroom_journal": ("seq",),
    "goldroom_mention": ("record", "key", "seq"),
}


def row_of(record: Record, seq: int) -> RowOf:
    """Return the row that holds a record, changed last by entry `seq`."""
    return RowOf(
        record=record.table,
        key=record.key,
        status=str(getattr(record, "status", "")),
        place=str(getattr(record, "place", "")),
        at=str(getattr(record, "at", "")),
        seq=seq,
        value=text_of(record),
    )


def read_value(ledger_id: int, record: str, key: str) -> Mapping[str, Any] | None:
    """Return a record's plain values, or None if there is no such row.

    Raises TableDamaged.
    """
    with lenient_text(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT value FROM goldroom_row"
            " WHERE ledger_id = %s AND record = %s AND key = %s",
            [ledger_id, record, key],
        )
        found = cursor.fetchone()
    return None if found is None else plain_of(found[0], record, key)


def plain_of(text: Any, record: str, key: str) -> dict[str, Any]:
    """Return the plain values of a stored text. Raises TableDamaged."""
    try:
        plain = json.loads(text) if isinstance(text, str) else None
    except ValueError:
        plain = None
    if not isinstance(plain, dict):
        raise TableDamaged(
            f"The row of {record} {key} in goldroom_row cannot be read. Run"
            " verify_ledger to see what else is wrong, then rebuild_tables."
        )
    return plain


def write(ledger_id: int, table: str, rows: Iterable[NamedTuple]) -> None:
    """Insert the rows, each in place of the one with its key."""
    columns = TABLES[table]._fields
    keys = KEY_COLUMNS[table]
    updates = ", ".join(f"{c} = excluded.{c}" for c in columns if c not in keys)
    action = f"DO UPDATE SET {updates}" if updates else "DO NOTHING"
    statement = (
        f"INSERT INTO {table} (ledger_id, {', '.join(columns)})"
        f" VALUES (%s{', %s' * len(columns)})"
        f" ON CONFLICT (ledger_id, {', '.join(keys)}) {action}"
    )
    with connection.cursor() as cursor:
        cursor.executemany(statement, [(ledger_id, *row) for row in rows])


def delete_record(ledger_id: int, record: str, key: str) -> None:
    """Delete a record's row: a void put things back as they were before it."""
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM goldroom_row"
            " WHERE ledger_id = %s AND record = %s AND key = %s",
            [ledger_id, record, key],
        )


def clear(ledger_id: int) -> None:
    """Delete every row of a ledger: only before a fold writes them anew."""
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(f"DELETE FROM {table} WHERE ledger_id = %s", [ledger_id])


def read_all(ledger_id: int, table: str) -> Iterator[NamedTuple]:
    """Yield every row of a table, whatever it holds, in the order of its key."""
    shape = TABLES[table]
    columns = ", ".join(shape._fields)
    order = ", ".join(KEY_COLUMNS[table])
    with lenient_text(), connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {columns} FROM {table} WHERE ledger_id = %s ORDER BY {order}",
            [ledger_id],
        )
        rows = cursor.fetchall()
    for found in rows:
        yield shape(*found)


def orphan_ledgers(table: str) -> list[Any]:
    """Return the ledger ids in a table that no ledger has."""
    with lenient_text(), connection.cursor() as cursor:
        cursor.execute(
            f"SELECT DISTINCT ledger_id FROM {table} WHERE ledger_id IS NULL"
            " OR ledger_id NOT IN (SELECT id FROM ledger_ledger)"
        )
        return [found[0] for found in cursor.fetchall()]


@contextmanager
def lenient_text() -> Iterator[None]:
    """Let SQLite hand over text that is not UTF-8 as bytes instead of failing.

    Somebody may have written such text past the program; it is a difference to be
    reported. PostgreSQL itself keeps only well-formed text.
    """
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    raw = connection.connection
    before = raw.text_factory
    raw.text_factory = _text_or_bytes
    try:
        yield
    finally:
        raw.text_factory = before


def _text_or_bytes(stored: bytes) -> str | bytes:
    try:
        return stored.decode()
    except UnicodeDecodeError:
        return stored
