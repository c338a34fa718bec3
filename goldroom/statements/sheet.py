"""What a cleanup sheet lists, what it must answer for, and what it does answer.

A flush is *listed* when it lies in one of the sheet's ranges. It is *due* when it
lies between the last sheet of its unit and this one's end; where the counter has
started again, the old epoch's counted flushes are due too. A due flush that is not
listed, and a listed flush that the plant counted short or aborted, needs an answer.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from goldroom.custody.lookups import check_new_item, the
from goldroom.custody.records import Concentrator, Flush, Item
from goldroom.custody.state import State
from goldroom.errors import ExceptionUnanswered, FlushOnEarlierSheet
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.plant import check_flushes, flush_id

WHAT = ("missing", "short", "extra", "aborted", "late", "other")
MOST_FLUSHES = 300


@dataclass(frozen=True, kw_only=True)
class FlushRange:
    """The flushes of one unit that a sheet lists, first to last."""

    unit: str = fields.code("Unit", table="concentrator")
    counter_epoch: int = fields.whole("Counter epoch", low=1)
    first: int = fields.whole("First flush", low=1)
    last: int = fields.whole("Last flush", low=1)

    @property
    def numbers(self) -> range:
        """Return the flush numbers listed."""
        return range(self.first, self.last + 1)


@dataclass(frozen=True, kw_only=True)
class ExceptionRow:
    """A flush out of the ordinary, and the answer to it."""

    unit: str = fields.code("Unit", table="concentrator")
    flush: int = fields.whole("Flush", low=1)
    counter_epoch: int | None = fields.whole(
        "Counter epoch", low=1, optional=True, help="If other than the range's"
    )
    what: str = fields.choice("What", WHAT)
    answer: str = fields.text("Answer", help="What was seen, and what was done")


@dataclass(frozen=True)
class Counted:
    """A flush by its place in the count: unit, counter epoch and number."""

    unit: str
    counter_epoch: int
    number: int

    @property
    def ident(self) -> str:
        """Return the flush's id."""
        return flush_id(self.unit, self.counter_epoch, self.number)

    def __str__(self) -> str:
        """Return the flush as a sentence names it."""
        return (
            f"flush {self.number} of {self.unit} (counter epoch {self.counter_epoch})"
        )


def latest_range(rows: Sequence[FlushRange], unit_id: str) -> tuple[int, int]:
    """Return a unit's newest epoch on the sheet, and the last flush listed in it."""
    return max((row.counter_epoch, row.last) for row in rows if row.unit == unit_id)


def units_of(rows: Sequence[FlushRange]) -> list[str]:
    """Return the units on the sheet, each once, in order."""
    return list(dict.fromkeys(row.unit for row in rows))


def listed_flushes(rows: Sequence[FlushRange]) -> dict[Counted, str]:
    """Return every flush listed, with the field that lists it; refuse one twice."""
    found: dict[Counted, str] = {}
    for n, row in enumerate(rows):
        for number in row.numbers:
            flush = Counted(row.unit, row.counter_epoch, number)
            if flush in found:
                raise BadField(
                    f"flushes[{n}]: {flush} is listed twice on this sheet."
                    " List it once.",
                    field=f"flushes[{n}]",
                )
            found[flush] = f"flushes[{n}]"
    return found


def due_flushes(state: State, rows: Sequence[FlushRange]) -> Iterator[Counted]:
    """Yield every flush that the sheet must list or answer for."""
    for unit_id in units_of(rows):
        unit = the(state, Concentrator, unit_id, "unit")
        epoch, last = latest_range(rows, unit_id)
        start = unit.last_flush + 1
        if epoch > unit.counter_epoch:
            for number in range(start, unit.last_cycle + 1):
                yield Counted(unit_id, unit.counter_epoch, number)
            start = 1
        if epoch >= unit.counter_epoch:
            for number in range(start, last + 1):
                yield Counted(unit_id, epoch, number)


def answered_flushes(
    state: State,
    rows: Sequence[FlushRange],
    exceptions: Sequence[ExceptionRow],
    listed: Mapping[Counted, str],
) -> dict[Counted, ExceptionRow]:
    """Return the exceptions by flush; refuse one that is not this sheet's."""
    found: dict[Counted, ExceptionRow] = {}
    due = set(due_flushes(state, rows)) if exceptions else set()
    for n, row in enumerate(exceptions):
        field = f"exceptions[{n}].flush"
        unit = the(state, Concentrator, row.unit, f"exceptions[{n}].unit")
        epochs = [each.counter_epoch for each in rows if each.unit == row.unit]
        epochs.append(unit.counter_epoch)
        if row.counter_epoch is not None:
            epochs = [row.counter_epoch]
        meant = [Counted(row.unit, epoch, row.flush) for epoch in epochs]
        flush = next((each for each in meant if each in listed), None)
        flush = flush or next((each for each in meant if each in due), None)
        if flush is None or flush in found:
            raise BadField(
                f"{field}: flush {row.flush} of {row.unit} is not on this sheet, or is"
                " answered twice. Answer each flush of the sheet, or of the gap before"
                " it, once.",
                field=field,
            )
        if row.what == "extra" and flush not in listed:
            raise BadField(
                f"{field}: an extra flush came into the hopper; list it in the sheet's"
                " flushes too.",
                field=field,
            )
        found[flush] = row
    return found


def check_ranges(state: State, rows: Sequence[FlushRange]) -> None:
    """Refuse a unit that does not flush, a range upside down, and far too many."""
    for n, row in enumerate(rows):
        unit = the(state, Concentrator, row.unit, f"flushes[{n}].unit")
        check_flushes(unit, f"flushes[{n}].unit")
        if not row.first <= row.last < row.first + MOST_FLUSHES:
            raise BadField(
                f"flushes[{n}].last: found flush {row.first} to {row.last}, expected a"
                f" range upwards of at most {MOST_FLUSHES}. Read both numbers again.",
                field=f"flushes[{n}].last",
            )
    for unit_id in units_of(rows):
        _check_gap(state, rows, unit_id)


def _check_gap(state: State, rows: Sequence[FlushRange], unit_id: str) -> None:
    unit = the(state, Concentrator, unit_id, "unit")
    epoch, last = latest_range(rows, unit_id)
    before = unit.last_flush if epoch == unit.counter_epoch else 0
    if epoch >= unit.counter_epoch and last - before > 2 * MOST_FLUSHES:
        raise BadField(
            f"flushes: the last sheet of {unit_id} ended with flush {before}; found"
            f" {last}. Read the counter again, and list at most {2 * MOST_FLUSHES}"
            " flushes on.",
            field="flushes",
        )


def check_answers(
    state: State,
    rows: Sequence[FlushRange],
    listed: Mapping[Counted, str],
    answered: Mapping[Counted, ExceptionRow],
) -> None:
    """Refuse a flush on an earlier sheet, and one that needs an answer without it.

    Raises FlushOnEarlierSheet, ItemIdUsed and ExceptionUnanswered.
    """
    for flush, field in listed.items():
        known = state.get(Flush, flush.ident)
        if known is not None and known.sheet:
            raise FlushOnEarlierSheet(
                f"{field}: {flush} is on an earlier sheet (entry {known.sheet}). List"
                " only flushes since then.",
                field=field,
            )
        if not _was_taken_back(state, flush):
            check_new_item(state, flush.ident, field)
        status = "" if known is None else known.cycle_status
        if status in ("short", "aborted") and flush not in answered:
            raise _unanswered(flush, f"the plant counted it {status}")
    for flush in due_flushes(state, rows):
        if flush not in listed and flush not in answered:
            raise _unanswered(flush, "no sheet has listed it")


def _was_taken_back(state: State, flush: Counted) -> bool:
    """Return whether a sheet that listed the flush was voided.

    A flush's id is the plant's own number: it cannot be given another, so a sheet
    written again lists it again.
    """
    item = state.get(Item, flush.ident)
    return item is not None and item.status == "void"


def _unanswered(flush: Counted, why: str) -> ExceptionUnanswered:
    return ExceptionUnanswered(
        f"exceptions: {flush} has no answer, and {why}. List it, or add a row that"
        " says what happened to it.",
        field="exceptions",
    )
