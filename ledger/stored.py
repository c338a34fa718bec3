"""Rows as they are stored, read without believing anything about them.

SQLite keeps whatever it is given: text where bytes belong, bytes that are no text,
nothing at all. Here a row is read as it is, told apart by what it holds, and what
should not be there is named, never raised.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import connection

ROWS_AT_ONCE = 500

Row = tuple[Any, ...]


class StoredText(bytes):
    """Text as SQLite keeps it, not yet known to be UTF-8."""


@contextmanager
def plain_reading() -> Iterator[None]:
    """Read SQLite text as `StoredText` inside, so that no row can fail to be read."""
    connection.ensure_connection()
    if connection.vendor != "sqlite":
        yield
        return
    direct = connection.connection
    before = direct.text_factory
    direct.text_factory = StoredText
    try:
        yield
    finally:
        direct.text_factory = before


def rows(sql: str, parameters: Sequence[Any] = ()) -> Iterator[Row]:
    """Yield the rows of a query, never holding many of them."""
    with connection.chunked_cursor() as cursor:
        cursor.execute(sql, list(parameters))
        while found := cursor.fetchmany(ROWS_AT_ONCE):
            yield from found


def octets(value: Any) -> bytes:
    """Return whatever is stored as bytes, so that it can be hashed and shown."""
    if value is None:
        return b""
    if isinstance(value, bytes | memoryview):
        return bytes(value)
    return str(value).encode("utf-8", "surrogatepass")


def text(value: Any) -> str | None:
    """Return stored text, or None if it is not text."""
    if isinstance(value, str):
        return value
    if isinstance(value, StoredText):
        try:
            return value.decode("utf-8")
        except UnicodeDecodeError:
            return None
    return None


def shown(value: Any) -> str:
    """Return a stored value as a finding shows it."""
    known = text(value)
    if known is not None:
        return repr(known[:80])
    if isinstance(value, bytes | memoryview):
        return f"{len(value)} bytes {bytes(value)[:16].hex()}"
    return "nothing" if value is None else repr(value)[:80]


def is_octets(value: Any) -> bool:
    """Tell whether bytes are stored, as bytes."""
    return isinstance(value, bytes | memoryview) and not isinstance(value, StoredText)


def is_text(value: Any) -> bool:
    """Tell whether readable text is stored, as text."""
    return text(value) is not None


def is_number(value: Any) -> bool:
    """Tell whether an integer is stored."""
    return type(value) is int
