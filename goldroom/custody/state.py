"""The state that statements are checked against: records by table and key.

A `State` reads through: what it does not hold it asks `read` for (nothing, for a
fold from the first entry; a database row, for one act). What changes stays in the
overlay and is listed by `changed`, so the projection writes just that, and a
rebuild is the same fold over an empty reader. Rules therefore look things up by
key and never scan: the cost of an act does not grow with the ledger.
"""

from collections.abc import Callable, Mapping
from decimal import InvalidOperation
from typing import Any, TypeVar

from goldroom.custody.codec import from_plain
from goldroom.custody.records import RECORDS, Record
from goldroom.errors import TableDamaged

R = TypeVar("R", bound=Record)
Reader = Callable[[str, str], Mapping[str, Any] | None]


def _record(record_type: type[R], key: str, plain: Mapping[str, Any]) -> R:
    """Return the record that was read. Raises TableDamaged.

    What an earlier version of the program folded may lack what records have now.
    """
    try:
        return from_plain(record_type, plain)
    except (ValueError, TypeError, KeyError, InvalidOperation) as broken:
        raise TableDamaged(
            f"The row of {record_type.table} {key} in goldroom_row is not of this"
            " version of the program, or was written past it. Run rebuild_tables after"
            " installing a newer version; otherwise run verify_ledger first."
        ) from broken


def _nothing(table: str, key: str) -> None:
    """Return no record: the reader of an empty ledger."""


class State:
    """Records by (table, key), over a reader, with the changes remembered."""

    def __init__(self, read: Reader = _nothing) -> None:
        """Start with no changes over what `read` finds."""
        self._read = read
        self._held: dict[tuple[str, str], Record | None] = {}
        self._changed: dict[tuple[str, str], Record | None] = {}

    def get(self, record_type: type[R], key: str) -> R | None:
        """Return the record of this type and key, or None."""
        at = (record_type.table, key)
        if at not in self._held:
            plain = self._read(*at)
            self._held[at] = None if plain is None else _record(record_type, key, plain)
        found = self._held[at]
        assert found is None or isinstance(found, record_type)
        return found

    def get_by_name(self, table: str, key: str) -> Record | None:
        """Return the record of a table named by its text, or None."""
        return self.get(RECORDS[table], key)

    def put(self, record: Record) -> None:
        """Hold this record from now on, in place of any with the same key."""
        at = (record.table, record.key)
        self._held[at] = record
        self._changed[at] = record

    def drop(self, table: str, key: str) -> None:
        """Forget the record: only a void does this, to put things back."""
        self._held[table, key] = None
        self._changed[table, key] = None

    def changed(self) -> dict[tuple[str, str], Record | None]:
        """Return what changed since the last `settle`, by table and key."""
        return dict(self._changed)

    def settle(self) -> None:
        """Call the changes written: they stay held and are no longer listed."""
        self._changed.clear()

    def all_held(self) -> dict[tuple[str, str], Record]:
        """Return every record held, for comparing a whole fold with the tables."""
        return {at: record for at, record in self._held.items() if record is not None}
