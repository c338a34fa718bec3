"""A cleanup sheet as it was signed: every flush on it, and what the hopper weighed.

The plant's counter tells when each flush began and ended and what had been fed; a
flush that it never told of is shown as not counted, never as zero.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.records import Concentrator, Flush
from goldroom.errors import WrongSort
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold, entry_told
from goldroom.reports.flushes import counted_flushes
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from goldroom.reports.sheet_acts import (
    SheetAct,
    act_of,
    acts_of,
    cited_seqs,
    masses_of,
    said_in,
)
from goldroom.statements.cleanup import CleanupRecorded
from goldroom.statements.hopper import HopperWeighed
from goldroom.statements.sealing import SealSeenRow
from goldroom.statements.sheet import Counted, ExceptionRow

CLEANUP = "cleanup.recorded"


@dataclass(frozen=True, kw_only=True)
class CounterSpan:
    """The flushes of one unit on the sheet, first to last of its counter."""

    unit: str
    name: str
    counter_epoch: int
    first: int
    last: int
    flushes: int


@dataclass(frozen=True, kw_only=True)
class ListedFlush:
    """A flush on the sheet. Times are the site's wall clock, "" if not counted."""

    flush: str
    unit: str
    number: int
    started_at: str
    ended_at: str
    feed_t: Decimal | None
    is_counted: bool
    said: str


@dataclass(frozen=True, kw_only=True)
class FlushException:
    """A flush out of the ordinary, and the answer that was signed."""

    unit: str
    counter_epoch: int | None
    flush: int
    what: str
    answer: str


@dataclass(frozen=True, kw_only=True)
class SeenSeal:
    """A seal seen at its point, and the signs of tampering."""

    point: str
    seal: str
    tamper_signs: str


@dataclass(frozen=True, kw_only=True)
class WeighedLoad:
    """What the hopper showed after the sheet, and the load that it came to.

    `gross` is as displayed ("" if the solids were settled); `rise_g` the load's dry
    mass in grams as now known, None while nothing tells.
    """

    load: str
    at: str
    mark: str
    gross: str
    settled_kg_m3: Decimal | None
    rise_g: Decimal | None
    seq: int


@dataclass(frozen=True, kw_only=True)
class CleanupSheet:
    """One signed sheet. `feed_t` is the sum of what the counted flushes were fed."""

    seq: int
    hopper: str
    hopper_name: str
    occurred_at: str
    spans: tuple[CounterSpan, ...]
    flushes: tuple[ListedFlush, ...]
    feed_t: Decimal
    not_counted: int
    exceptions: tuple[FlushException, ...]
    seals_seen: tuple[SeenSeal, ...]
    loads: tuple[WeighedLoad, ...]
    acts: tuple[SheetAct, ...]
    seqs: tuple[int, ...]

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def cleanup_sheet(ledger_id: int, seq: int) -> CleanupSheet:
    """Return the sheet signed as entry `seq`. Raises NoSuchEntry and WrongSort."""
    entry = entry_told(ledger_id, seq)
    if entry.kind != CLEANUP:
        raise WrongSort(
            f"entry: {seq} is {entry.title.lower()}, not a cleanup sheet. Write the"
            " number of the entry that recorded the sheet."
        )
    said = said_in(entry, CleanupRecorded)
    listed = [
        Counted(row.unit, row.counter_epoch, number)
        for row in said.flushes
        for number in row.numbers
    ]
    flushes = _flushes(ledger_id, listed)
    loads = _loads(ledger_id, [each.flush for each in flushes])
    called = names(ledger_id)
    return CleanupSheet(
        seq=seq,
        hopper=said.hopper,
        hopper_name=called.vessel(said.hopper),
        occurred_at=entry.occurred_wall,
        spans=_spans(ledger_id, said),
        flushes=flushes,
        feed_t=sum((each.feed_t or Decimal(0) for each in flushes), Decimal(0)),
        not_counted=sum(not each.is_counted for each in flushes),
        exceptions=tuple(_exception(each) for each in said.exceptions),
        seals_seen=tuple(_seen(each) for each in said.seals_seen),
        loads=tuple(_load(ledger_id, each) for each in loads),
        acts=tuple(act_of(each) for each in (entry, *loads)),
        seqs=cited_seqs((entry, *loads)),
    )


def _spans(ledger_id: int, said: CleanupRecorded) -> tuple[CounterSpan, ...]:
    units = rows.by_keys(ledger_id, Concentrator, (row.unit for row in said.flushes))
    return tuple(
        CounterSpan(
            unit=row.unit,
            name=units[row.unit].name if row.unit in units else row.unit,
            counter_epoch=row.counter_epoch,
            first=row.first,
            last=row.last,
            flushes=len(row.numbers),
        )
        for row in said.flushes
    )


def _flushes(ledger_id: int, listed: list[Counted]) -> tuple[ListedFlush, ...]:
    counted = counted_flushes(ledger_id, (each.ident for each in listed))
    clock = site_clock(ledger_id)
    found = []
    for each in listed:
        told = counted.get(each.ident)
        found.append(
            ListedFlush(
                flush=each.ident,
                unit=each.unit,
                number=each.number,
                started_at="" if told is None else clock.wall_text(told.started_at),
                ended_at="" if told is None else clock.wall_text(told.ended_at),
                feed_t=None if told is None else told.feed_t,
                is_counted=told is not None,
                said=""
                if told is None
                else ": ".join(filter(None, (told.status, told.reason))),
            )
        )
    return tuple(found)


def _loads(ledger_id: int, flush_ids: list[str]) -> tuple[EntryTold, ...]:
    """Return the weighings whose load the flushes went into."""
    flushes = rows.by_keys(ledger_id, Flush, flush_ids)
    loads = {each.load for each in flushes.values() if each.load}
    return acts_of(ledger_id, ("hopper.weighed",), loads)


def _load(ledger_id: int, entry: EntryTold) -> WeighedLoad:
    said = said_in(entry, HopperWeighed)
    mass = masses_of(ledger_id, [said.load]).get(said.load)
    return WeighedLoad(
        load=said.load,
        at=entry.occurred_wall,
        mark=said.mark,
        gross="" if said.gross is None else str(said.gross),
        settled_kg_m3=said.settled_kg_m3,
        rise_g=None if mass is None else mass.dry_g,
        seq=entry.seq,
    )


def _exception(row: ExceptionRow) -> FlushException:
    return FlushException(
        unit=row.unit,
        counter_epoch=row.counter_epoch,
        flush=row.flush,
        what=row.what,
        answer=row.answer,
    )


def _seen(row: SealSeenRow) -> SeenSeal:
    return SeenSeal(point=row.point, seal=row.seal, tamper_signs=row.tamper_signs)
