"""Cycles of semi-continuous units out of a plant historian's table (CSV).

The table's columns and status words are the plant's own; `Mapping` says which is
which. Times without an offset are read in a stated IANA zone; a time that the zone
skips or shows twice (when clocks change) is refused, never guessed. Every wrong
cell is reported with its line, column, what was found and what was expected.
"""

import csv
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from goldroom.errors import Refusal
from goldroom.metal.units import parse_not_negative
from goldroom.reports.flushes import CountedFlush
from goldroom.statements.plant import CYCLE_STATUSES

OTHER_DELIMITERS = {";": "semicolons", "\t": "tabs", "|": "bars"}
AT_ONCE = 300
"""Cycles that one statement takes at most."""


class BadCell(Refusal):
    """A cell of the table cannot be read."""

    code = "bad_cell"


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which column holds what; "" where the table has no such column."""

    unit: str = "unit"
    flush: str = "flush"
    start: str = "start"
    end: str = "end"
    feed_t: str = "feed_t"
    status: str = "status"
    reason: str = "reason"

    def of(self, field: str) -> str:
        """Return the column from which a cycle's field is read."""
        named = {"started_at": self.start, "ended_at": self.end}
        return named.get(field) or str(getattr(self, field, field))


@dataclass(frozen=True, kw_only=True)
class Reader:
    """How a plant's table is read.

    `statuses` maps the plant's words to complete, short or aborted; `epochs` gives a
    unit's counter epoch (1 where it is silent); `time_format` is for times that are
    not ISO 8601.
    """

    zone: ZoneInfo
    columns: Columns = field(default_factory=Columns)
    statuses: Mapping[str, str] = field(default_factory=dict)
    epochs: Mapping[str, int] = field(default_factory=dict)
    time_format: str = ""
    delimiter: str = ","


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One row: its line, the flush it is, and its values as a statement has them."""

    line: int
    flush_id: str
    ended_at: datetime
    values: Mapping[str, Any]

    def differences(self, counted: CountedFlush) -> Iterator[tuple[str, str, str]]:
        """Yield field, value here and value counted before, where they differ."""
        started_at = datetime.fromisoformat(self.values["started_at"])
        feed_t = self.values.get("feed_t")
        pairs = {
            "started_at": (_utc_text(started_at), counted.started_at),
            "ended_at": (_utc_text(self.ended_at), counted.ended_at),
            "feed_t": (None if feed_t is None else Decimal(feed_t), counted.feed_t),
            "status": (self.values["status"], counted.status),
            "reason": (self.values.get("reason", ""), counted.reason),
        }
        for name, (here, before) in pairs.items():
            if here != before:
                yield name, str(here), str(before)


@dataclass(frozen=True, kw_only=True)
class WrongCell:
    """A cell that cannot be read: line, column and why."""

    line: int
    column: str
    code: str
    message: str


def read_cycles(
    lines: Iterable[str], reader: Reader
) -> tuple[list[Cycle], list[WrongCell]]:
    """Return the table's cycles in the order they ended, and every wrong cell."""
    table = csv.DictReader(lines, delimiter=reader.delimiter, strict=True)
    found: dict[str, Cycle] = {}
    wrong: list[WrongCell] = []
    try:
        wrong += _missing_columns(table.fieldnames or (), reader.columns)
        if wrong:
            return [], wrong
        for row in table:
            _take(row, table.line_num, reader, found, wrong)
    except csv.Error as error:
        wrong.append(
            WrongCell(
                line=table.line_num,
                column="",
                code="bad_table",
                message=f"the table cannot be read here: {error}. Export it again.",
            )
        )
    in_order = sorted(found.values(), key=lambda each: (each.ended_at, each.flush_id))
    return in_order, wrong


def grouped(cycles: list[Cycle]) -> list[list[Cycle]]:
    """Return the cycles in statements' portions, in their order."""
    return [cycles[n : n + AT_ONCE] for n in range(0, len(cycles), AT_ONCE)]


def _missing_columns(names: Iterable[str], columns: Columns) -> list[WrongCell]:
    there = list(names)
    needed = {"unit": columns.unit, "flush": columns.flush}
    needed |= {"start": columns.start, "end": columns.end}
    missing = {name: said for name, said in needed.items() if said not in there}
    if len(missing) == len(needed) and len(there) < len(needed):
        return [_one_column(there)]
    return [
        WrongCell(
            line=1,
            column=said,
            code="no_such_column",
            message=f"found the columns {', '.join(there)}, expected one named {said}."
            f" Name the right one with --{name}-column.",
        )
        for name, said in missing.items()
    ]


def _one_column(there: list[str]) -> WrongCell:
    """Return what is wrong with a table whose headings were not told apart."""
    found = next((each for each in OTHER_DELIMITERS if each in "".join(there)), "")
    advice = "Give a table with a line of headings."
    if found:
        named = OTHER_DELIMITERS[found]
        advice = f"They seem to be set apart by {named}: say --delimiter '{found}'."
        advice = advice.replace("\t", "\\t")
    return WrongCell(
        line=1,
        column="",
        code="bad_table",
        message=f"found the headings {', '.join(there) or 'none'}. {advice}",
    )


def _take(
    row: Mapping[str | None, Any],
    line: int,
    reader: Reader,
    found: dict[str, Cycle],
    wrong: list[WrongCell],
) -> None:
    """Put the row's cycle into `found`, or what is wrong with it into `wrong`."""
    cells = _Cells(row, line, reader, wrong)
    before = len(wrong)
    if row.get(None):
        wrong.append(
            WrongCell(
                line=line,
                column="",
                code="bad_table",
                message=f"found {', '.join(row[None])!r} beyond the last heading. A"
                " value with the delimiter in it stands in quotation marks.",
            )
        )
    cycle = cells.cycle()
    if cycle is None or len(wrong) > before:
        return
    twin = found.setdefault(cycle.flush_id, cycle)
    if twin is not cycle:
        wrong.append(
            WrongCell(
                line=line,
                column=reader.columns.flush,
                code="flush_twice_in_file",
                message=f"found flush {cycle.flush_id} again; it stands on line"
                f" {twin.line} already. Each flush is counted once: keep one row, or"
                " give the unit's new counter epoch.",
            )
        )


class _Cells:
    """The cells of one row, each read on its own so that all faults are found."""

    def __init__(
        self,
        row: Mapping[str | None, Any],
        line: int,
        reader: Reader,
        wrong: list[WrongCell],
    ) -> None:
        self._row, self._line, self._reader, self._wrong = row, line, reader, wrong

    def cycle(self) -> Cycle | None:
        """Return the row's cycle, or None if a cell is wrong."""
        columns = self._reader.columns
        unit = self._read(columns.unit, _words)
        number = self._read(columns.flush, _whole)
        started_at = self._read(columns.start, self._moment)
        ended_at = self._read(columns.end, self._moment)
        values = {
            "unit": unit,
            "counter_epoch": self._reader.epochs.get(unit or "", 1),
            "flush": number,
            "started_at": None if started_at is None else started_at.isoformat(),
            "ended_at": None if ended_at is None else ended_at.isoformat(),
            "feed_t": self._optional(columns.feed_t, _tonnes),
            "status": self._optional(columns.status, self._status) or "complete",
            "reason": self._optional(columns.reason, _words),
        }
        if unit is None or number is None or started_at is None or ended_at is None:
            return None
        if ended_at <= started_at:
            self._refuse(
                columns.end,
                "bad_cell",
                f"found {ended_at.isoformat()}, expected a time after the start,"
                f" {started_at.isoformat()}.",
            )
        return Cycle(
            line=self._line,
            flush_id=f"{unit}-{values['counter_epoch']}-{number}",
            ended_at=ended_at.astimezone(UTC),
            values={name: each for name, each in values.items() if each is not None},
        )

    def _optional(self, column: str, read: Any) -> Any:
        if not column or not (self._row.get(column) or "").strip():
            return None
        return self._read(column, read)

    def _read(self, column: str, read: Any) -> Any:
        text = (self._row.get(column) or "").strip()
        try:
            return read(text)
        except Refusal as refusal:
            self._refuse(column, refusal.code, refusal.message)
            return None

    def _refuse(self, column: str, code: str, message: str) -> None:
        self._wrong.append(
            WrongCell(line=self._line, column=column, code=code, message=message)
        )

    def _status(self, text: str) -> str:
        status = self._reader.statuses.get(text, text)
        if status not in CYCLE_STATUSES:
            raise BadCell(
                f"found the status {text!r}, expected one of"
                f" {', '.join(CYCLE_STATUSES)}, or a word mapped to one with"
                f" --status-map {text}=complete."
            )
        return status

    def _moment(self, text: str) -> datetime:
        found = _parsed(text, self._reader.time_format).replace(microsecond=0)
        if found.tzinfo is not None:
            return found
        return _in_zone(found, self._reader.zone)


def _utc_text(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _words(text: str) -> str:
    if not text:
        raise BadCell("found nothing, expected a value.")
    return text


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or int(text) < 1:
        raise BadCell(f"found {text!r}, expected a whole number from 1 on.")
    return int(text)


def _tonnes(text: str) -> str:
    try:
        return format(parse_not_negative(text), "f")
    except Refusal as refusal:
        advice = " Export it with a point." if "," in text else ""
        raise BadCell(
            f"found {text!r}, expected tonnes in digits, such as 59.0.{advice}"
        ) from refusal


def _parsed(text: str, time_format: str) -> datetime:
    """Return a cell's time, with or without offset."""
    try:
        if time_format:
            return datetime.strptime(text, time_format)
        return datetime.fromisoformat(text)
    except ValueError:
        if time_format:
            raise BadCell(
                f"found {text!r}, expected a time in the form {time_format}. Say with"
                " --time-format how the plant writes times."
            ) from None
        raise BadCell(
            f"found {text!r}, expected a time such as 2026-10-01 06:30:00. If the plant"
            " writes times another way, say how with --time-format, such as"
            " '%d.%m.%Y %H:%M'."
        ) from None


def _in_zone(local: datetime, zone: ZoneInfo) -> datetime:
    """Return a local time with its offset; refuse one skipped or shown twice."""
    first, second = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return datetime.fromisoformat(first.isoformat())
    back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    how = "is shown twice" if back == local else "does not exist"
    raise BadCell(
        f"found {local.isoformat(sep=' ')}, which {how} in {zone.key} (the clocks"
        " change). Export the times with their offset, or in UTC with --zone UTC."
    )
