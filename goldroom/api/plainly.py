"""Entries, proposals and statements as plain values."""

import base64
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from goldroom.faces.reader import Reader
from goldroom.reports.aloud import aloud
from goldroom.reports.entry import EntryTold
from goldroom.reports.plain import as_plain
from goldroom.reports.told import told_rows
from goldroom.statements.fold import read_values
from goldroom.statements.kind import marked

BASE = "/api/v1"


def entry_plain(told: EntryTold) -> dict[str, Any]:
    """Return an entry told whole; its bytes, the record itself, in base64."""
    plain: dict[str, Any] = as_plain(replace(told, leaf=""))  # type: ignore[arg-type]
    return {**plain, "leaf": base64.b64encode(told.leaf).decode("ascii")}


def words_of(reader: Reader, statement: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a statement says, in words: sentence and rows."""
    kind, v, data = str(statement["kind"]), int(statement["v"]), statement["data"]
    said = read_values(kind, data, v=v).sentence()
    cls = marked(kind, v)
    return {
        "entry_id": statement["entry_id"],
        "kind": kind,
        "title": kind if cls is None else cls.title,
        "sentence": aloud(reader.ledger_id, [said]).sentence(said),
        "rows": as_plain(told_rows(kind, v, data)),
        "occurred_at": statement["occurred_at"],
        "signers": [
            {"person": each["person"], "role": each["role"]}
            for each in statement["signers"]
        ],
    }


def proposal_plain(reader: Reader, found: Any) -> dict[str, Any]:
    """Return a proposal: what it says, who has signed, and the entry it became."""
    return {
        **words_of(reader, found.statement),
        "signed": list(found.signed),
        "missing": list(found.missing),
        "created_at": found.created_at,
        "expires_at": found.expires_at,
        "entry": None if found.appended is None else found.appended.seq,
    }
