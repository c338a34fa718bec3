"""Whole copies of the record: each is an entry, and holds just the entries it names."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, BinaryIO

from goldroom.errors import Refusal
from goldroom.faces import reading
from goldroom.faces.reader import Reader
from goldroom.reports.entry import entries_told
from goldroom.reports.journal import Wanted
from ledger import read
from ledger.core.base64text import to_base64
from ledger.errors import NoSuchEntry
from ledger.exporting import write_first

MADE = "export.made"
MOST = 200


class ExportNotAsSaid(Refusal):
    """The record's entries are not those that an export was said to hold."""

    code = "export_not_as_said"


@dataclass(frozen=True, kw_only=True)
class Export:
    """An export as its entry tells it; `at` is the site's wall clock."""

    seq: int
    taken_by: str
    purpose: str
    size: int
    root: str
    medium: str
    at: str
    signed_by: tuple[str, ...]


def exports(reader: Reader) -> tuple[Export, ...]:
    """Return the exports that were made, the newest first."""
    page = reading.journal(reader, Wanted(kind=MADE), most=MOST)
    told = entries_told(reader.ledger_id, [line.seq for line in page.lines])
    return tuple(
        Export(
            seq=each.seq,
            taken_by=each.data["taken_by"],
            purpose=each.data["purpose"],
            size=each.data["size"],
            root=each.data["root"],
            medium=each.data.get("medium") or "",
            at=each.occurred_wall,
            signed_by=tuple(one.name for one in each.signers),
        )
        for each in sorted(told.values(), key=lambda one: -one.seq)
    )


def write_bundle_of(reader: Reader, seq: int, file: BinaryIO) -> None:
    """Write the bundle of an export into a file, and go back to the file's start.

    Raises NotForYou, NoSuchEntry and ExportNotAsSaid.
    """
    told = reading.entry(reader, seq)
    if told.kind != MADE:
        raise NoSuchEntry(
            f"Entry {seq} is no export. Choose one of the list of exports.", field="seq"
        )
    size = _size(reader, told.data)
    origin = read.keyring(reader.ledger_id).origin
    write_first(file, reader.ledger_id, origin=origin, size=size)
    file.seek(0)


def _size(reader: Reader, data: Mapping[str, Any]) -> int:
    """Return how many entries an export holds; refuse one of another history."""
    size = int(data["size"])
    held = read.head(reader.ledger_id).size
    if size > held or to_base64(read.root_at(reader.ledger_id, size)) != data["root"]:
        raise ExportNotAsSaid(
            f"The record's first {size} entries do not have the root that the export's"
            " entry names. Check the whole record before you hand anything out.",
            field="root",
        )
    return size
