"""The usual range of a figure, from the acts of its kind before.

Told only after the figure was entered: a range that stands beside an empty box is
an invitation to write it down. From at least eight figures the range is that between
the lowest and the highest of the last thirty (common practice, no source).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from goldroom.models import JournalLine
from goldroom.reports.rows import readable
from ledger import read
from ledger.core.entry import parse_leaf

AT_LEAST = 8
OF_THE_LAST = 30


@dataclass(frozen=True, kw_only=True)
class Usual:
    """What a figure usually is: lowest and highest of the last `count`, as written.

    `is_outside` tells whether the figure entered lies outside.
    """

    path: str
    low: Decimal
    high: Decimal
    unit: str
    count: int
    is_outside: bool


def usual_ranges(
    ledger_id: int, kind: str, data: Mapping[str, Any]
) -> dict[str, Usual]:
    """Return the usual range of each figure of a statement, by path.

    Figures in lists are compared with all those of that place in any row.
    """
    entered = dict(_figures(data))
    if not entered:
        return {}
    with readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
        seqs = list(lines.order_by("-seq").values_list("seq", flat=True)[:OF_THE_LAST])
    before: dict[tuple[str, str], list[Decimal]] = {}
    for leaf in read.leaves(ledger_id, seqs):
        for path, (figure, unit) in _figures(parse_leaf(leaf).data):
            before.setdefault((_place(path), unit), []).append(figure)
    found = {}
    for path, (figure, unit) in entered.items():
        past = before.get((_place(path), unit), [])[-OF_THE_LAST:]
        if len(past) >= AT_LEAST:
            low, high = min(past), max(past)
            found[path] = Usual(
                path=path,
                low=low,
                high=high,
                unit=unit,
                count=len(past),
                is_outside=not low <= figure <= high,
            )
    return found


def _place(path: str) -> str:
    """Return a path without its row numbers."""
    return "".join(sign for sign in path if not sign.isdigit())


def _figures(data: Any, path: str = "") -> Iterable[tuple[str, tuple[Decimal, str]]]:
    """Yield (path, (figure, unit)): readings, and figures written as decimals."""
    if isinstance(data, Mapping):
        if isinstance(data.get("reading"), str) and "instrument" in data:
            yield path, (Decimal(data["reading"]), str(data.get("unit", "")))
            return
        for name, value in data.items():
            yield from _figures(value, f"{path}.{name}" if path else str(name))
    elif isinstance(data, list):
        for n, value in enumerate(data):
            yield from _figures(value, f"{path}[{n}]")
    elif isinstance(data, str) and data.replace(".", "", 1).isdigit():
        try:
            yield path, (Decimal(data), "")
        except InvalidOperation:
            return
