"""What each code of a refusal means: the first line of its class, and what it is."""

import inspect
from collections.abc import Iterator
from typing import Any

from goldroom.errors import Refusal
from ledger.core.errors import LedgerRefusal

REMEDY = (
    "The problem's own detail says what was found and what to do. Nothing was recorded:"
    " mend the value that field names and send it again, with the same entry_id unless"
    " the detail asks for a new one."
)


def meaning_of(code: str) -> str:
    """Return what a code means; the code itself if nothing here is called so."""
    found = meanings().get(code)
    return code if found is None else found["title"]


def meanings() -> dict[str, dict[str, Any]]:
    """Return every refusal known by its code: title, whole meaning, remedy."""
    found: dict[str, dict[str, Any]] = {}
    for root in (Refusal, LedgerRefusal):
        for cls in _with_heirs(root):
            if "code" in vars(cls):
                said = inspect.getdoc(cls) or ""
                found[cls.code] = {
                    "code": cls.code,
                    "title": said.splitlines()[0] if said else cls.code,
                    "meaning": said,
                    "remedy": REMEDY,
                }
    return found


def _with_heirs(cls: type[Any]) -> Iterator[type[Any]]:
    yield cls
    for heir in cls.__subclasses__():
        yield from _with_heirs(heir)
