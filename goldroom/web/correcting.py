"""Correcting an entry: its own form again, with its figures to be put right.

The correction is a statement of its own (`record.corrected`); the first entry stays
readable. Boxes of the entry's values stand under `values.`.
"""

from typing import Any

from goldroom.errors import Refusal
from goldroom.faces import reading
from goldroom.faces.reader import Reader
from goldroom.reports.entry import EntryTold
from goldroom.reports.journal import lines_of
from goldroom.statements.registry import kind_named
from goldroom.web.values import Turned, Typed, boxes_of, turned
from ledger.errors import NoSuchEntry

KIND = "record.corrected"
VALUES = "values."


def original(reader: Reader, entry_id: str) -> EntryTold:
    """Return the entry to be corrected. Raises NotForYou and NoSuchEntry."""
    line = lines_of(reader.ledger_id, [entry_id]).get(entry_id)
    if line is None:
        raise NoSuchEntry(
            f"No entry has the id {entry_id[:60]!r}. Begin from the entry's own page.",
            field="entry",
        )
    return reading.entry(reader, line.seq)


def boxes(reader: Reader, entry_id: str) -> dict[str, str]:
    """Return the boxes of the entry as it was said."""
    told = original(reader, entry_id)
    return {f"{VALUES}{path}": text for path, text in boxes_of(told.data).items()}


def values(reader: Reader, entry_id: str, typed: Typed) -> Turned:
    """Return the correction's values: mode, reason, and the entry's values anew."""
    told = original(reader, entry_id)
    mode = typed.boxes.get("mode", "")
    data: dict[str, Any] = {
        "entry": entry_id,
        "kind": told.kind,
        "mode": mode,
        "reason": typed.boxes.get("reason", "").strip(),
    }
    refused: tuple[Refusal, ...] = ()
    if mode == "figures":
        inner = {
            path.removeprefix(VALUES): text
            for path, text in typed.boxes.items()
            if path.startswith(VALUES)
        }
        again = turned(
            kind_named(told.kind),
            Typed(boxes=inner, zone=typed.zone, units=typed.units),
        )
        data["values"] = again.data
        refused = again.refusals
    given = {name: value for name, value in data.items() if value not in ("", {})}
    return Turned(data=given, refusals=refused)
