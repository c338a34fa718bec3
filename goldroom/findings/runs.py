"""Ids that follow one another, said in few words: "U1-0-1409 to 1432"."""

import itertools
import re
from collections.abc import Iterable
from dataclasses import dataclass

NUMBERED = re.compile(r"(.*?)(\d+)", re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class Run:
    """Ids with the same beginning whose numbers follow one another."""

    ids: tuple[str, ...]

    def __str__(self) -> str:
        """Return the first id, and the number of the last if there are more."""
        if len(self.ids) == 1:
            return self.ids[0]
        return f"{self.ids[0]} to {_split(self.ids[-1])[2]}"


def runs_of(ids: Iterable[str]) -> tuple[Run, ...]:
    """Return the ids as runs, in the order of their beginnings and numbers."""
    ordered = sorted(set(ids), key=_split)
    keyed = [(*_split(name), n, name) for n, name in enumerate(ordered)]
    grouped = itertools.groupby(keyed, key=lambda each: (each[0], each[1] - each[3]))
    return tuple(Run(ids=tuple(each[4] for each in group)) for _, group in grouped)


def in_words(ids: Iterable[str], *, most: int = 6) -> str:
    """Return the ids as runs in words; after `most` runs it says how many more."""
    runs = runs_of(ids)
    said = [str(run) for run in runs[:most]]
    left = sum(len(run.ids) for run in runs[most:])
    return ", ".join(said) + (f" and {left} more" if left else "")


def counted(ids: Iterable[str], noun: str) -> str:
    """Return the ids in words with their number: "U1-0-1 to 3 (3 flushes)"."""
    names = tuple(ids)
    return f"{in_words(names)} ({len(names)} {plural(noun, len(names))})"


def plural(noun: str, count: int) -> str:
    """Return the noun for this many: load, loads; flush, flushes; skull, skulls."""
    if count == 1 or noun.endswith("s"):
        return noun
    return f"{noun}es" if noun.endswith(("sh", "ch", "x")) else f"{noun}s"


def _split(name: str) -> tuple[str, int, str]:
    """Return an id as its beginning, its last number (-1 without) and that as text."""
    found = NUMBERED.fullmatch(name)
    if found is None:
        return (name, -1, "")
    return (found[1], int(found[2]), found[2])
