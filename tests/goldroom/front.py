"""The invented mine's first day as a file, with its keys, for tests of commands."""

import functools
import json
from pathlib import Path
from typing import Any

from goldroom.demo import month
from goldroom.demo.chance import Chance
from goldroom.demo.folder import DemoFolder, demo_keys

LAST = "stock.opened"
"""The kind with which the invented mine's opening ends."""


def keys_folder(path: Path) -> DemoFolder:
    """Return a folder with the invented people's sealed keys."""
    folder = DemoFolder(path)
    folder.make(seed=1, months=1)
    folder.seal(demo_keys(Chance(1)))
    return folder


def first_lines(count: int | None = None) -> list[dict[str, Any]]:
    """Return the first lines of the invented mine's month, as plain values.

    Up to its opening stock, if not said how many.
    """
    lines = [json.loads(line) for line in _month()[: count or 100]]
    kinds = [each["kind"] for each in lines]
    return lines if count else lines[: kinds.index(LAST)]


def write_lines(path: Path, lines: list[dict[str, Any]]) -> Path:
    """Write plain values as a JSON Lines file; return its path."""
    text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)
    path.write_text(text, encoding="utf-8")
    return path


@functools.cache
def _month() -> tuple[str, ...]:
    return tuple(month.write(1, 1).diary.lines())
