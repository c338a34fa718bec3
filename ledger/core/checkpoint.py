"""A checkpoint: the ledger's size and root hash, as a short signed text.

Three lines, each ended by a line feed (C2SP tlog-checkpoint):

    the ledger's name (origin)
    the number of entries, in decimal without leading zeros
    the root hash, in base64

An empty line and one line per signature follow; see `note`. A reader refuses a
fourth line, a leading zero and base64 that is not in its one spelling, so the
text of a checkpoint is determined by its three values.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ledger.core.base64text import from_base64, to_base64
from ledger.core.canonical import INTEGER_MAX
from ledger.core.errors import LedgerRefusal, MalformedCheckpoint
from ledger.core.merkle import HASH_SIZE_BYTES
from ledger.core.note import Note, format_note, parse_note, sign_note
from ledger.core.signing import SigningKey

_SIZE = re.compile(r"0|[1-9][0-9]{0,15}", re.ASCII)


@dataclass(frozen=True)
class Checkpoint:
    """A ledger's name, its number of entries and the root over them."""

    origin: str
    size: int
    root: bytes


def format_checkpoint(checkpoint: Checkpoint) -> str:
    """Return the three lines."""
    return f"{checkpoint.origin}\n{checkpoint.size}\n{to_base64(checkpoint.root)}\n"


def parse_checkpoint(text: str) -> Checkpoint:
    """Return the checkpoint of exactly three lines."""
    lines = text.split("\n")
    if len(lines) != 4 or lines[3]:
        raise MalformedCheckpoint(
            "A checkpoint is three lines: name, size and root, each ended by a line "
            "feed."
        )
    origin, size, root = lines[:3]
    if not origin or not _SIZE.fullmatch(size) or int(size) > INTEGER_MAX:
        raise MalformedCheckpoint(
            f"Expected a name and a size in decimal; found {origin[:60]!r} and "
            f"{size[:20]!r}."
        )
    try:
        octets = from_base64(root, size=HASH_SIZE_BYTES, field="root")
    except LedgerRefusal as error:
        raise MalformedCheckpoint(error.message) from error
    return Checkpoint(origin, int(size), octets)


def sign_checkpoint(checkpoint: Checkpoint, key: SigningKey) -> bytes:
    """Return the checkpoint as a note signed by the log's key."""
    text = format_checkpoint(checkpoint)
    return format_note(Note(text, (sign_note(text, checkpoint.origin, key),)))


def parse_signed(octets: bytes) -> tuple[Checkpoint, Note]:
    """Return checkpoint and note of a signed checkpoint, signatures unchecked."""
    note = parse_note(octets)
    return parse_checkpoint(note.text), note
