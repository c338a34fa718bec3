"""Findings about counts: the plant's cycle counter against the signed sheets.

Every cleanup that the counter of a concentrator counted must be on a sheet, and the
counter itself must leave no number out: zero tolerance, because metal taken before
the hopper is weighed shows nowhere else.
"""

from collections.abc import Iterable
from datetime import datetime

from goldroom.custody.records import Concentrator, Flush
from goldroom.findings.found import EXCEPTION, Found, Threshold, due_text, is_overdue
from goldroom.findings.runs import counted, in_words

ON_SHEET_WITHIN = "flush_on_sheet_h"


def flushes_on_no_sheet(
    flushes: Iterable[Flush], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the flushes that the plant counted and nobody has signed for in time.

    One finding for each unit. `within` is the limit `flush_on_sheet_h`.
    """
    left: dict[str, list[Flush]] = {}
    for flush in flushes:
        is_open = flush.cycle_status and not flush.sheet
        if is_open and is_overdue(flush.at, within, now):
            left.setdefault(flush.unit, []).append(flush)
    return [
        Found(
            code="flush_on_no_sheet",
            level=EXCEPTION,
            item=unit,
            found=f"{counted((each.flush for each in missing), 'flush')}"
            " counted by the plant, on no sheet",
            expected=f"on a signed sheet within {within}",
            message=f"flushes of {unit} were counted and nobody has signed for them",
            at=due_text(min(each.at for each in missing), within),
        )
        for unit, missing in sorted(left.items())
    ]


def counters_skipping(
    units: Iterable[Concentrator], flushes: Iterable[Flush]
) -> list[Found]:
    """Return the numbers that a unit's counter left out between two it reported.

    The threshold is none: every number counts, except one that a signed sheet
    answers for. One finding for each unit and run of the counter (its epoch).
    """
    numbers: dict[tuple[str, int], dict[int, str]] = {}
    answered: dict[tuple[str, int], set[int]] = {}
    for flush in flushes:
        at = (flush.unit, flush.counter_epoch)
        if flush.cycle_status:
            numbers.setdefault(at, {})[flush.number] = flush.at
        elif flush.answer:
            answered.setdefault(at, set()).add(flush.number)
    known = {unit.unit for unit in units}
    found = []
    for (unit, epoch), reported in sorted(numbers.items()):
        there = reported.keys() | answered.get((unit, epoch), set())
        left_out = sorted(set(range(min(reported), max(reported))) - there)
        if left_out and unit in known:
            after = min(number for number in reported if number > left_out[0])
            names = [f"{unit}-{epoch}-{number}" for number in left_out]
            found.append(
                Found(
                    code="counter_skipped",
                    level=EXCEPTION,
                    item=unit,
                    found=f"no cycle {in_words(names)}",
                    expected="every number between the first and the last reported",
                    message=f"the cycle counter of {unit} left out"
                    f" {len(left_out)} of its numbers; ask what they were",
                    at=reported[after],
                )
            )
    return found
