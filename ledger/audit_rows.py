"""One ledger's rows through the verifier.

The leaves are judged by the verifier of `ledger.core`. What a database adds is
judged here: that each column holds what it should, that the head's running root is
written as we write it, that the ledger's own row is that of its first entry, and
that no file stands twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from django.db import DatabaseError

from ledger import stored
from ledger.append import slugs
from ledger.core.errors import LedgerRefusal
from ledger.core.files import StoredAttachment
from ledger.core.merkle import Frontier
from ledger.core.outside import StoredHead
from ledger.core.report import Finding, Report
from ledger.core.verifier import Verifier

ENTRIES_SQL = (
    "SELECT seq, entry_id, leaf, leaf_hash FROM ledger_entry"
    " WHERE ledger_id = %s ORDER BY seq"
)
HEADS_SQL = "SELECT size, last_hash, frontier, at FROM ledger_head WHERE ledger_id = %s"
FILES_SQL = (
    "SELECT sha256, size, content FROM ledger_attachment"
    " WHERE ledger_id = %s ORDER BY sha256"
)

Add = Callable[[Finding], None]
Kind = tuple[str, Callable[[Any], bool]]

NUMBER: Kind = ("an integer", stored.is_number)
TEXT: Kind = ("text", stored.is_text)
OCTETS: Kind = ("bytes", stored.is_octets)
# In the order in which the queries above name them.
COLUMNS = {
    "ledger_entry": {
        "seq": NUMBER,
        "entry_id": TEXT,
        "leaf": OCTETS,
        "leaf_hash": OCTETS,
    },
    "ledger_head": {
        "size": NUMBER,
        "last_hash": OCTETS,
        "frontier": TEXT,
        "at": TEXT,
    },
    "ledger_attachment": {"sha256": TEXT, "size": NUMBER, "content": OCTETS},
}


@dataclass(frozen=True)
class LedgerRow:
    """A ledger's own row, as stored."""

    ledger_id: int
    origin: str
    slug: str


def report_of(row: LedgerRow) -> Report:
    """Return the report on one ledger; read inside `stored.plain_reading`."""
    verifier = Verifier()
    add = verifier.add
    list(guarded("ledger_entry", lambda: _feed(row.ledger_id, verifier), add))
    heads = list(guarded("ledger_head", lambda: _heads(row.ledger_id, add), add))
    files = list(guarded("ledger_attachment", lambda: _files(row.ledger_id, add), add))
    if len(heads) != 1:
        add(_finding("head_count", "There must be one head.", "1", str(len(heads))))
    if not verifier.size:
        add(_finding("no_entries", "The ledger has no entry, not even its first."))
    _check_row(row, verifier)
    return verifier.finish(heads[0] if heads else None, attachments=files)


def guarded(what: str, work: Callable[[], Iterator[Any]], add: Add) -> Iterator[Any]:
    """Yield what `work` yields; what cannot be read is a finding."""
    try:
        yield from work()
    except DatabaseError as error:
        add(
            Finding(
                "store",
                "unreadable",
                f"Cannot be read to its end: {what}.",
                found=str(error),
            )
        )


def _feed(ledger_id: int, verifier: Verifier) -> Iterator[None]:
    for row in stored.rows(ENTRIES_SQL, [ledger_id]):
        place = verifier.size
        _check_columns("ledger_entry", row, verifier.add, place=place)
        seq, entry_id, leaf, leaf_hash = row
        verifier.feed(
            stored.octets(leaf),
            (
                seq if stored.is_number(seq) else -1,
                stored.text(entry_id) or stored.shown(entry_id),
                stored.octets(leaf_hash),
            ),
        )
        yield


def _heads(ledger_id: int, add: Add) -> Iterator[StoredHead]:
    for row in stored.rows(HEADS_SQL, [ledger_id]):
        _check_columns("ledger_head", row, add)
        size, last_hash, frontier, at = row
        yield StoredHead(
            size=size if stored.is_number(size) else -1,
            root=_root(size, stored.text(frontier) or "", add),
            last_hash=stored.octets(last_hash),
            at=stored.text(at) or stored.shown(at),
        )


def _root(size: Any, text: str, add: Add) -> bytes:
    """Return the root that a stored frontier stands for."""
    try:
        frontier = Frontier.from_list(
            size if stored.is_number(size) else -1, text.split()
        )
    except LedgerRefusal as error:
        add(_finding("head_frontier", f"The head's running root: {error.message}"))
        return b""
    written = " ".join(frontier.to_list())
    if written != text:
        add(
            _finding(
                "head_frontier", "The head's running root is spelled.", written, text
            )
        )
    return frontier.root()


def _files(ledger_id: int, add: Add) -> Iterator[StoredAttachment]:
    seen: set[str] = set()
    for row in stored.rows(FILES_SQL, [ledger_id]):
        _check_columns("ledger_attachment", row, add)
        name, size, content = row
        octets, digest = stored.octets(content), stored.text(name) or ""
        if size != len(octets):
            add(
                Finding(
                    "attachment",
                    "attachment_row_size",
                    f"The row of the file {digest[:16]}... names another size.",
                    expected=str(len(octets)),
                    found=stored.shown(size),
                )
            )
        if digest in seen:
            add(
                Finding(
                    "attachment",
                    "attachment_twice",
                    f"The file {digest[:16]}... stands twice.",
                )
            )
        seen.add(digest)
        yield StoredAttachment(digest, len(octets), sha256(octets).hexdigest())


def _check_row(row: LedgerRow, verifier: Verifier) -> None:
    """Compare the ledger's own row with its first entry."""
    origin = verifier.keyring.origin
    if not origin:
        return  # the first entry opens nothing, which is a finding already
    if row.origin != origin:
        verifier.add(
            _finding(
                "ledger_origin",
                "The row in ledger_ledger bears another name than the first entry.",
                origin,
                row.origin,
            )
        )
    if row.slug not in slugs(origin):
        verifier.add(
            _finding(
                "ledger_slug",
                "The row in ledger_ledger has a short name not made from the origin.",
                " or ".join(slugs(origin)),
                row.slug,
            )
        )


def _check_columns(
    table: str, row: stored.Row, add: Add, *, place: int | None = None
) -> None:
    columns = COLUMNS[table]
    for (name, (noun, is_kind)), value in zip(columns.items(), row, strict=True):
        if not is_kind(value):
            add(
                Finding(
                    "store",
                    "column_unreadable",
                    f"The column {name} of {table} does not hold {noun}.",
                    seq=place,
                    expected=noun,
                    found=stored.shown(value),
                )
            )


def _finding(code: str, message: str, expected: str = "", found: str = "") -> Finding:
    return Finding("store", code, message, expected=expected, found=found)
