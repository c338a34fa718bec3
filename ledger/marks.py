"""The high-water mark: what a log key has signed last, kept outside the database.

Beside the key file stand `<key file>.mark`, one line of JSON

    {"format":1,"origin":"…","root":"<base64>","size":20852}

and `<key file>.lock`, held while a checkpoint is signed. The mark reaches the disk
before the signature leaves. A database put back from an old copy, or a second
history, is then refused instead of being signed by mistake.
"""

import fcntl
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from ledger.core.base64text import from_base64, to_base64
from ledger.errors import MarkRefused


@dataclass(frozen=True)
class Mark:
    """The last size and root that a key has signed for a ledger."""

    origin: str
    size: int
    root: bytes


@contextmanager
def held(key_file: Path) -> Iterator[None]:
    """Hold the lock beside `key_file`; others wait."""
    descriptor = os.open(f"{key_file}.lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def read_mark(key_file: Path) -> Mark | None:
    """Return the mark beside `key_file`, or None before the first signature."""
    path = Path(f"{key_file}.mark")
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (ValueError, RecursionError) as error:
        raise MarkRefused(
            f"{path} is not a mark: {error}. Compare the ledger with the last "
            "checkpoint held by somebody else before signing again."
        ) from error
    match raw:
        case {
            "format": 1,
            "origin": str(origin),
            "root": str(root),
            "size": int(size),
        } if len(raw) == 4:
            return Mark(origin, size, from_base64(root, size=32, field="root"))
    raise MarkRefused(
        f"{path} is not a mark of format 1; expected format, origin, root and size."
    )


def write_mark(key_file: Path, mark: Mark) -> None:
    """Store `mark` beside `key_file`; return once it is on the disk."""
    path = Path(f"{key_file}.mark")
    fresh = Path(f"{key_file}.mark.new")
    line = json.dumps(
        {
            "format": 1,
            "origin": mark.origin,
            "root": to_base64(mark.root),
            "size": mark.size,
        },
        separators=(",", ":"),
    )
    with fresh.open("w", encoding="utf-8") as file:
        file.write(line + "\n")
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def check_against(mark: Mark, *, origin: str, size: int, root: bytes) -> None:
    """Refuse to sign what contradicts `mark`.

    `size` is the ledger's size now and `root` its root at `mark.size` entries.
    """
    if mark.origin != origin:
        raise MarkRefused(
            f"This key has signed for {mark.origin}; it does not sign for {origin}."
        )
    if size < mark.size:
        raise MarkRefused(
            f"The ledger has {size} entries, but this key has already signed for "
            f"{mark.size}. Entries are missing: restore the newest copy, or put back "
            "the missing entries from signing slips, before signing."
        )
    if root != mark.root:
        raise MarkRefused(
            f"The root of the first {mark.size} entries is not the one this key has "
            "signed. This is another history; verify the ledger before anything else."
        )
