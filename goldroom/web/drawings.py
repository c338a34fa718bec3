"""Drawings kept while the report that they show is the very same object.

Reports are kept while the rows that they follow from stay the same
(`goldroom.reports.kept`), so a drawing kept by its report can never be out of date.
"""

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import TypeVar

R = TypeVar("R")
D = TypeVar("D")
KEPT = 12


class Drawings:
    """The last drawings of reports; each holds its report, so that none is mistaken."""

    def __init__(self, most: int = KEPT) -> None:
        """Start with none."""
        self._kept: OrderedDict[tuple[int, str], tuple[object, object]] = OrderedDict()
        self._most = most
        self._lock = Lock()

    def of(self, report: R, name: str, draw: Callable[[R], D]) -> D:
        """Return the drawing `name` of a report, drawn once."""
        key = (id(report), name)
        with self._lock:
            found = self._kept.get(key)
        if found is not None and found[0] is report:
            return found[1]  # type: ignore[return-value]
        drawn = draw(report)
        with self._lock:
            self._kept[key] = (report, drawn)
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return drawn
