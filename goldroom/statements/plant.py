"""What the plant's control system counts: flush cycles and metered streams.

Both are signed by the plant's gateway, a machine: they say what the counter
counted, not who saw it. A cycle makes no item: custody of a flush begins with the
sheet that two people sign. A continuous unit's stream is metered, not sealed, and
is never added to what the gold room received.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody.act import Act, utc_text
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Concentrator, Flush, Record, StreamMeter
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered, FlushAlreadyCounted, WrongSort
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

CYCLE_STATUSES = ("complete", "short", "aborted")


@dataclass(frozen=True, kw_only=True)
class CycleRow:
    """One cycle of a semi-continuous unit, as its counter has it."""

    unit: str = fields.code("Unit", table="concentrator")
    counter_epoch: int = fields.whole("Counter epoch", low=1)
    flush: int = fields.whole("Flush number", low=1)
    started_at: datetime = fields.moment("Feed on")
    ended_at: datetime = fields.moment("Flushed")
    feed_t: Decimal | None = fields.number("Dry feed", "t", optional=True)
    status: str = fields.choice("Status", CYCLE_STATUSES)
    reason: str | None = fields.text("Reason", optional=True)

    @property
    def flush_id(self) -> str:
        """Return the flush's id: unit, epoch and number."""
        return flush_id(self.unit, self.counter_epoch, self.flush)


def flush_id(unit: str, counter_epoch: int, number: int) -> str:
    """Return the id of a flush: unit, counter epoch and number."""
    return f"{unit}-{counter_epoch}-{number}"


@kind("cycles.recorded", group="plant", klass="machine", title="Cycles recorded")
@dataclass(frozen=True, kw_only=True)
class CyclesRecorded(Statement):
    """Cycles that the plant's counter counted, up to 300 at a time."""

    cycles: tuple[CycleRow, ...] = fields.rows("Cycles", CycleRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse a unit that does not flush, and a flush counted before."""
        named: set[str] = set()
        for n, row in enumerate(self.cycles):
            field = f"cycles[{n}]"
            unit = the(state, Concentrator, row.unit, f"{field}.unit")
            check_flushes(unit, f"{field}.unit")
            if row.ended_at <= row.started_at:
                raise BadField(
                    f"{field}.ended_at: found {row.ended_at}, expected a time after"
                    f" the start, {row.started_at}. Read both times again.",
                    field=f"{field}.ended_at",
                )
            known = state.get(Flush, row.flush_id)
            counted = known is not None and known.cycle_status != ""
            if counted or row.flush_id in named:
                raise FlushAlreadyCounted(
                    f"{field}.flush: flush {row.flush} of {row.unit} (counter epoch"
                    f" {row.counter_epoch}) was counted before. If the counter"
                    " started again, write the next epoch.",
                    field=f"{field}.flush",
                )
            named.add(row.flush_id)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield each flush as counted, the units' counters, and what is unusual."""
        for row in self.cycles:
            flush = _counted(act, state, row)
            yield flush
            unit = the(state, Concentrator, row.unit, "unit")
            yield _advanced(unit, row)
            minutes = (row.ended_at - row.started_at) / timedelta(minutes=1)
            if row.status == "complete" and minutes < unit.minimum_cycle_min:
                yield notice(
                    state,
                    act,
                    "flush_unit_outside_usual",
                    item=row.flush_id,
                    found=f"{minutes:.0f} min",
                    expected=f"at least {unit.minimum_cycle_min} min",
                    message=f"a complete cycle of {row.unit} was shorter than usual",
                )
            if flush.sheet and row.status != "complete" and not flush.answer:
                yield notice(
                    state,
                    act,
                    "flush_short",
                    item=row.flush_id,
                    found=f"counted {row.status} after the sheet was signed",
                    expected="an answer on the sheet",
                    message=f"flush {row.flush} of {row.unit} was {row.status}, and"
                    " its sheet lists it without a word",
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        units = []
        for unit in dict.fromkeys(row.unit for row in self.cycles):
            rows = [row for row in self.cycles if row.unit == unit]
            odd = ", ".join(
                f"{row.flush} {row.status}" for row in rows if row.status != "complete"
            )
            flush, numbers = "flushes", f"{rows[0].flush} to {rows[-1].flush}"
            if len(rows) == 1:
                flush, numbers = "flush", str(rows[0].flush)
            units.append(
                f"{unit} {flush} {numbers} ({len(rows)}{'; ' if odd else ''}{odd})"
            )
        return f"The plant counted: {', '.join(units)}."


@kind("stream.metered", group="plant", klass="machine", title="Stream metered")
@dataclass(frozen=True, kw_only=True)
class StreamMetered(Statement):
    """A stretch of a continuous unit's concentrate: dry tonnes and grade."""

    unit: str = fields.code("Unit", table="concentrator")
    from_at: datetime = fields.moment("From")
    to_at: datetime = fields.moment("To")
    dry_t: Decimal = fields.number("Dry solids", "t")
    gold_gpt: Decimal = fields.number("Gold", "g/t")
    silver_gpt: Decimal = fields.number("Silver", "g/t")

    def check(self, act: Act, state: State) -> None:
        """Refuse a unit that flushes, and a stretch upside down or metered before."""
        unit = the(state, Concentrator, self.unit, "unit")
        if unit.sort != "continuous":
            raise WrongSort(
                f"unit: {self.unit} flushes into {unit.hopper}; its metal is counted"
                " by flushes. Name a continuous unit.",
                field="unit",
            )
        if self.to_at <= self.from_at:
            raise BadField(
                f"to_at: found {self.to_at}, expected a time after {self.from_at}."
                " Write both as they were.",
                field="to_at",
            )
        if state.get(StreamMeter, f"{self.unit}/{utc_text(self.to_at)}") is not None:
            raise AlreadyRegistered(
                f"to_at: the stretch of {self.unit} that ends then was metered before."
                " Write each stretch once.",
                field="to_at",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the stretch, beside all custody."""
        unit = the(state, Concentrator, self.unit, "unit")
        yield StreamMeter(
            unit=self.unit,
            stage=unit.stage,
            from_at=utc_text(self.from_at),
            at=utc_text(self.to_at),
            dry_t=self.dry_t,
            gold_gpt=self.gold_gpt,
            silver_gpt=self.silver_gpt,
            goes_to=unit.feeds,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"From {self.from_at:%Y-%m-%d %H:%M} to {self.to_at:%Y-%m-%d %H:%M}"
            f" {self.unit} passed {self.dry_t} t of dry solids at {self.gold_gpt} g/t"
            f" gold and {self.silver_gpt} g/t silver (metered)."
        )


def check_flushes(unit: Concentrator, field: str) -> None:
    """Refuse a unit that does not flush. Raises WrongSort."""
    if unit.sort != "semi_continuous":
        raise WrongSort(
            f"{field}: {unit.unit} is a continuous {unit.stage}; it never flushes."
            " Name a semi-continuous unit.",
            field=field,
        )


def _counted(act: Act, state: State, row: CycleRow) -> Flush:
    """Return the flush with the counter's facts, keeping what a sheet has said."""
    known = state.get(Flush, row.flush_id)
    unit = the(state, Concentrator, row.unit, "unit")
    counted = known or blank_flush(row.unit, row.counter_epoch, row.flush, unit.hopper)
    return replace(
        counted,
        started_at=utc_text(row.started_at),
        at=utc_text(row.ended_at),
        feed_t=row.feed_t,
        cycle_status=row.status,
        reason=row.reason or "",
        counted_known_at=act.known_at,
    )


def blank_flush(unit: str, counter_epoch: int, number: int, hopper: str) -> Flush:
    """Return a flush of which nothing is known but its identity."""
    return Flush(
        flush=flush_id(unit, counter_epoch, number),
        unit=unit,
        counter_epoch=counter_epoch,
        number=number,
        started_at="",
        at="",
        feed_t=None,
        cycle_status="",
        reason="",
        answer="",
        sheet="",
        hopper=hopper,
        load="",
    )


def _advanced(unit: Concentrator, row: CycleRow) -> Concentrator:
    """Return the unit with its counter advanced.

    A new epoch takes over at once only when every flush of the old one is on a
    sheet; otherwise the sheet that first lists the new epoch answers for the rest.
    """
    if row.counter_epoch == unit.counter_epoch:
        return replace(unit, last_cycle=max(unit.last_cycle, row.flush))
    if row.counter_epoch > unit.counter_epoch and unit.last_cycle <= unit.last_flush:
        return replace(
            unit, counter_epoch=row.counter_epoch, last_flush=0, last_cycle=row.flush
        )
    return unit
