"""Cleanup sheets: two people sign for the flushes since the last sheet.

Nobody double-signs every flush. One sheet lists ranges of flush numbers by unit;
what was out of the ordinary is answered flush by flush. Each flush listed becomes
an item in its hopper, unless the people say it is missing. The plant's own count
may arrive before the sheet or after it.

A bowl opened for maintenance is always noticed: gold may be taken there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from goldroom.custody import moves, seals
from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Concentrator, Flush, Record, Vessel
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.plant import blank_flush
from goldroom.statements.sealing import (
    SealSeenRow,
    check_seen,
    seen_field,
    seen_words,
)
from goldroom.statements.sheet import (
    Counted,
    ExceptionRow,
    FlushRange,
    answered_flushes,
    check_answers,
    check_ranges,
    latest_range,
    listed_flushes,
    units_of,
)


@kind("cleanup.recorded", group="room", title="Cleanup sheet", can_void=True)
@dataclass(frozen=True, kw_only=True)
class CleanupRecorded(Statement):
    """One sheet: the flushes since the last one, and an answer to each exception."""

    hopper: str = fields.code("Hopper", table="vessel", help="Where the flushes went")
    flushes: tuple[FlushRange, ...] = fields.rows("Flushes", FlushRange, most=40)
    exceptions: tuple[ExceptionRow, ...] = fields.rows(
        "Exceptions", ExceptionRow, optional=True
    )
    seals_seen: tuple[SealSeenRow, ...] = seen_field(optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse flushes listed before, and exceptions without an answer.

        Raises WrongSort, BadField, FlushOnEarlierSheet and ExceptionUnanswered.
        """
        hopper = the(state, Vessel, self.hopper, "hopper")
        if hopper.sort != "hopper":
            raise wrong_sort("hopper", self.hopper, hopper.sort, "a hopper")
        check_seen(state, self.hopper, self.seals_seen)
        check_ranges(state, self.flushes)
        listed = listed_flushes(self.flushes)
        answered = answered_flushes(state, self.flushes, self.exceptions, listed)
        check_answers(state, self.flushes, listed, answered)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the flushes, their items, the units' counts, and what is noticed."""
        listed = listed_flushes(self.flushes)
        answered = answered_flushes(state, self.flushes, self.exceptions, listed)
        for flush in (*listed, *(each for each in answered if each not in listed)):
            row = answered.get(flush)
            yield self._on_sheet(act, state, flush, row, is_listed=flush in listed)
            yield from _noticed(state, act, flush, row)
            if flush in listed and (row is None or row.what != "missing"):
                yield from self._arrived(state, act, flush)
        for unit_id in units_of(self.flushes):
            yield from self._counted(state, act, unit_id)
        yield from seals.seen(state, act, self.hopper, self.seals_seen)

    def _on_sheet(
        self,
        act: Act,
        state: State,
        flush: Counted,
        row: ExceptionRow | None,
        *,
        is_listed: bool,
    ) -> Flush:
        """Return the flush as the sheet leaves it; one still to come stays open."""
        known = state.get(Flush, flush.ident) or blank_flush(
            flush.unit, flush.counter_epoch, flush.number, self.hopper
        )
        is_to_come = row is not None and row.what == "late" and not is_listed
        return replace(
            known,
            answer="" if row is None else f"{row.what}: {row.answer}",
            sheet="" if is_to_come else act.entry,
            hopper=self.hopper,
            listed_known_at=act.known_at,
        )

    def _arrived(self, state: State, act: Act, flush: Counted) -> Iterator[Record]:
        new = moves.NewItem(item=flush.ident, sort="flush", step="", vessel=self.hopper)
        yield from moves.make(state, act, new)
        hopper = the(state, Vessel, self.hopper, "hopper")
        yield replace(hopper, pending_flushes=(*hopper.pending_flushes, flush.ident))

    def _counted(self, state: State, act: Act, unit_id: str) -> Iterator[Record]:
        """Yield the unit with the highest flush that a sheet has listed."""
        unit = the(state, Concentrator, unit_id, "unit")
        epoch, last = latest_range(self.flushes, unit_id)
        if epoch == unit.counter_epoch:
            yield replace(unit, last_flush=max(unit.last_flush, last))
        elif epoch > unit.counter_epoch:
            yield replace(unit, counter_epoch=epoch, last_flush=last, last_cycle=0)
        if unit.hopper != self.hopper:
            yield notice(
                state,
                act,
                "flush_other_hopper",
                item=self.hopper,
                found=f"{unit_id} into {self.hopper}",
                expected=f"{unit_id} into {unit.hopper}",
                message=f"{unit_id} is registered as flushing into {unit.hopper}",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        ranges = ", ".join(
            f"flushes {row.first} to {row.last} of {row.unit} ({len(row.numbers)})"
            if row.first < row.last
            else f"flush {row.first} of {row.unit}"
            for row in self.flushes
        )
        odd = "; ".join(
            f"{row.unit} flush {row.flush} {row.what}: {row.answer}"
            for row in self.exceptions
        )
        seen = f" Seals read: {seen_words(self.seals_seen)}." if self.seals_seen else ""
        return (
            f"Cleanup sheet: {ranges} into {self.hopper}."
            f" Exceptions: {odd or 'none'}.{seen}"
        )


def _noticed(
    state: State, act: Act, flush: Counted, row: ExceptionRow | None
) -> Iterator[Record]:
    """Yield the finding that an exception makes, if it makes one."""
    if row is None:
        return
    known = state.get(Flush, flush.ident)
    status = "" if known is None else known.cycle_status
    expected = f"the plant counted it {status}" if status else "a whole flush"
    code = {"missing": "flush_missing", "extra": "flush_extra"}.get(row.what)
    if code is None and (
        row.what in ("short", "aborted") or status in ("short", "aborted")
    ):
        code = "flush_short"
    if code is not None:
        yield notice(
            state,
            act,
            code,
            item=flush.ident,
            found=f"{row.what}: {row.answer}",
            expected=expected,
            message=f"{flush} was answered as {row.what}",
        )


@kind("bowl.opened", group="room", title="Bowl opened")
@dataclass(frozen=True, kw_only=True)
class BowlOpened(Statement):
    """A concentrator's bowl opened by hand, under a permit, and its heel weighed."""

    unit: str = fields.code("Unit", table="concentrator")
    permit: str = fields.text("Permit", help="Number of the work permit")
    reason: str = fields.text("Reason")
    heel_before: Reading | None = fields.reading(
        "Bowl with heel, before", optional=True
    )
    heel_after: Reading | None = fields.reading("Bowl with heel, after", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown unit, and readings no instrument can have shown."""
        the(state, Concentrator, self.unit, "unit")
        for field in ("heel_before", "heel_after"):
            reading = getattr(self, field)
            if reading is not None:
                check_taken(state, act, reading, field)
        if self.heel_after is not None and self.heel_before is None:
            raise BadField(
                "heel_before: the heel was weighed after and not before. Write both,"
                " or neither if it was not weighed.",
                field="heel_before",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the finding: a bowl was opened."""
        readings = (self.heel_before, self.heel_after)
        both = self.heel_before is not None and self.heel_after is not None
        yield notice(
            state,
            act,
            "bowl_opened",
            item=self.unit,
            found=f"permit {self.permit}; {self._heel()}",
            expected="heel weighed before and after" if not both else "no opening",
            message=f"the bowl of {self.unit} was opened: {self.reason}",
        )
        yield from weighed_notices(state, act, readings, self.unit)

    def _heel(self) -> str:
        if self.heel_before is None:
            return "heel not weighed"
        after = "not weighed" if self.heel_after is None else str(self.heel_after)
        return f"with heel {self.heel_before} before, {after} after"

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"The bowl of {self.unit} was opened under permit {self.permit}:"
            f" {self.reason}; {self._heel()}."
        )
