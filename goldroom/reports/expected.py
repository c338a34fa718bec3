"""Flushes that a sheet should list next: what the plant has counted since the last.

The counter reports a cycle whether anybody was there or not; the sheet of the shift
lists every number since the last sheet, and answers each that was out of the
ordinary.
"""

from dataclasses import dataclass

from goldroom.custody.records import Concentrator, Flush
from goldroom.reports import rows

WHOLE = "complete"


@dataclass(frozen=True, kw_only=True)
class OddFlush:
    """A flush that wants an answer on the sheet, and what the plant said of it."""

    number: int
    what: str
    said: str


@dataclass(frozen=True, kw_only=True)
class ExpectedFlushes:
    """A unit's flushes on no sheet yet: their numbers, and those out of the ordinary.

    `since` and `until` are when the first ended and the last, as UTC texts.
    """

    unit: str
    hopper: str
    counter_epoch: int
    first: int
    last: int
    count: int
    since: str
    until: str
    odd: tuple[OddFlush, ...]


def expected_flushes(ledger_id: int) -> tuple[ExpectedFlushes, ...]:
    """Return what the next sheet should list, unit by unit and counter by counter."""
    units = {each.unit: each for each in rows.every(ledger_id, Concentrator)}
    waiting: dict[tuple[str, int], list[Flush]] = {}
    for flush in rows.every(ledger_id, Flush):
        if not flush.sheet and flush.cycle_status:
            key = (flush.unit, flush.counter_epoch)
            waiting.setdefault(key, []).append(flush)
    return tuple(
        _expected(units.get(unit), found)
        for (unit, _), found in sorted(waiting.items())
    )


def _expected(unit: Concentrator | None, found: list[Flush]) -> ExpectedFlushes:
    flushes = sorted(found, key=lambda each: each.number)
    first, last = flushes[0], flushes[-1]
    begins = first.number
    if unit is not None and unit.counter_epoch == first.counter_epoch:
        begins = min(begins, unit.last_flush + 1)
    counted = {each.number: each for each in flushes}
    odd = tuple(
        each
        for number in range(begins, last.number + 1)
        if (each := _odd(number, counted.get(number))) is not None
    )
    return ExpectedFlushes(
        unit=first.unit,
        hopper="" if unit is None else unit.hopper or "",
        counter_epoch=first.counter_epoch,
        first=begins,
        last=last.number,
        count=len(flushes),
        since=first.at,
        until=last.at,
        odd=odd,
    )


def _odd(number: int, flush: Flush | None) -> OddFlush | None:
    """Return a flush that the plant did not count as whole; None if it did."""
    if flush is None:
        return OddFlush(number=number, what="missing", said="the plant counted none")
    if flush.cycle_status == WHOLE:
        return None
    return OddFlush(number=number, what=flush.cycle_status, said=flush.reason)
