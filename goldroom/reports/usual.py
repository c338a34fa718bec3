"""The usual range of a figure, from the acts of its kind before.

Told only after the figure was entered: a range that stands beside an empty box is
an invitation to write it down. From at least eight figures the range is that between
the lowest and the highest of the last thirty (common practice, no source).
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from goldroom.models import JournalLine
from goldroom.reports.rows import readable
from goldroom.statements.fields import specs
from goldroom.statements.registry import kind_named
from ledger import read
from ledger.core.entry import parse_leaf

ROW_NUMBER = re.compile(r"\[\d+\]")
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

    Figures in lists are compared with those of like rows, whatever their number.
    """
    cls = kind_named(kind)
    entered = dict(_figures(data, cls))
    if not entered:
        return {}
    with readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
        seqs = list(lines.order_by("-seq").values_list("seq", flat=True)[:OF_THE_LAST])
    before: dict[tuple[str, str, str], list[Decimal]] = {}
    for leaf in read.leaves(ledger_id, seqs):
        for path, (told, figure, unit) in _figures(parse_leaf(leaf).data, cls):
            before.setdefault((_place(path), told, unit), []).append(figure)
    found = {}
    for path, (told, figure, unit) in entered.items():
        past = before.get((_place(path), told, unit), [])[-OF_THE_LAST:]
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
    return ROW_NUMBER.sub("[]", path)


def _figures(
    data: Any, cls: type | None, path: str = "", told: str = ""
) -> Iterable[tuple[str, tuple[str, Decimal, str]]]:
    """Yield (path, (sort of row, figure, unit)) of every figure said.

    Rows of one list are alike only if what is chosen or said of them in words is: a
    flux is compared with the same flux.
    """
    if isinstance(data, Mapping):
        if isinstance(data.get("reading"), str) and "instrument" in data:
            yield path, (told, Decimal(data["reading"]), str(data.get("unit", "")))
            return
        known = {} if cls is None else specs(cls)
        for name, value in data.items():
            inner = known[name].rows if name in known else None
            here = f"{path}.{name}" if path else str(name)
            yield from _figures(value, inner, here, told)
    elif isinstance(data, list):
        for n, value in enumerate(data):
            row = f"{told}/{_said_of(value, cls)}"
            yield from _figures(value, cls, f"{path}[{n}]", row)
    elif isinstance(data, str) and data.replace(".", "", 1).isdigit():
        try:
            yield path, (told, Decimal(data), "")
        except InvalidOperation:
            return


def _said_of(row: Any, cls: type | None) -> str:
    """Return what is chosen or said in words of a row."""
    if cls is None or not isinstance(row, Mapping):
        return ""
    words = (
        str(row[name])
        for name, spec in specs(cls).items()
        if spec.sort in ("text", "choice") and name in row
    )
    return "/".join(words).casefold()
