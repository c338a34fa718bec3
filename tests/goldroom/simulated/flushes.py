"""Cycles that the plant counts, and the sheets that list them."""

from collections.abc import Sequence
from datetime import timedelta

from goldroom.custody.records import Concentrator, Flush
from goldroom.statements.cleanup import CleanupRecorded
from goldroom.statements.plant import CyclesRecorded
from tests.goldroom.simulated.metal import KG, STEP, Metal
from tests.goldroom.simulated.walk import Walk


def count_cycles(walk: Walk) -> bool:
    """Let the plant count a few cycles of a unit."""
    unit = _unit(walk)
    rows = []
    at = walk.clock
    first = max(unit.last_cycle, unit.last_flush) + 1
    for n in range(first, first + walk.random.randint(1, 5)):
        status = walk.random.choice(("complete", "complete", "short", "aborted"))
        ended = at + timedelta(minutes=walk.random.choice((10, 40)))
        rows.append(
            {
                "unit": unit.unit, "counter_epoch": unit.counter_epoch, "flush": n,
                "started_at": at.isoformat(), "ended_at": ended.isoformat(),
                "feed_t": "12.5", "status": status,
            }
        )  # fmt: skip
        at = ended
    walk.say(CyclesRecorded, {"cycles": rows})
    return True


def _unit(walk: Walk) -> Concentrator:
    found = walk.state.get(Concentrator, walk.random.choice(("U1", "U2")))
    assert found is not None
    return found


def sign_sheet(walk: Walk) -> bool:
    """List flushes since the last sheet, with gaps, late ones and a new epoch."""
    unit, draw = _unit(walk), walk.random
    epoch, first = unit.counter_epoch, unit.last_flush + 1
    ranges: list[tuple[int, int, int]] = []
    answers: list[tuple[int, int, str]] = []
    if walk.chance(0.15):
        if unit.last_cycle >= first:
            ranges.append((epoch, first, unit.last_cycle))
        epoch, first = epoch + 1, 1
    if walk.chance(0.2):
        gap = range(first, first + draw.randint(1, 2))
        answers += [(epoch, n, draw.choice(("missing", "late"))) for n in gap]
        first = gap[-1] + 1
    ranges.append((epoch, first, first + draw.randint(0, 4)))
    ranges += [(each[0], each[1], each[1]) for each in _still_late(walk, unit, ranges)]
    for in_epoch, start, end in ranges:
        for n in range(start, end + 1):
            what = _answer_of(walk, unit, in_epoch, n)
            if what:
                answers.append((in_epoch, n, what))
    hopper = unit.hopper if walk.chance(0.9) else draw.choice(("H1", "H2"))
    values = {
        "hopper": hopper,
        "flushes": [
            {"unit": unit.unit, "counter_epoch": e, "first": first, "last": last}
            for e, first, last in ranges
        ],
        "exceptions": [
            {
                "unit": unit.unit, "flush": n, "counter_epoch": e, "what": what,
                "answer": "seen and written down",
            }
            for e, n, what in answers
        ],
    }  # fmt: skip
    missing = {(e, n) for e, n, what in answers if what == "missing"}
    arrived = [
        f"{unit.unit}-{e}-{n}"
        for e, start, end in ranges
        for n in range(start, end + 1)
        if (e, n) not in missing
    ]
    walk.say(
        CleanupRecorded, values, truth={each: _flush(walk, hopper) for each in arrived}
    )
    return True


def _still_late(
    walk: Walk, unit: Concentrator, ranges: Sequence[tuple[int, int, int]]
) -> list[tuple[int, int]]:
    """Return some flushes that an earlier sheet answered as late, to list now."""
    flushes = [
        each
        for (table, _), each in walk.state.all_held().items()
        if table == "flush" and isinstance(each, Flush)
    ]
    late = [
        (each.counter_epoch, each.number)
        for each in flushes
        if each.unit == unit.unit and each.answer.startswith("late") and not each.sheet
    ]
    listed = {(e, n) for e, start, end in ranges for n in range(start, end + 1)}
    return [each for each in late if each not in listed and walk.chance(0.6)]


def _answer_of(walk: Walk, unit: Concentrator, epoch: int, number: int) -> str:
    flush = walk.state.get(Flush, f"{unit.unit}-{epoch}-{number}")
    if flush is not None and flush.cycle_status in ("short", "aborted"):
        return walk.random.choice((flush.cycle_status, "missing"))
    odd = ("missing", "extra", "late", "other")
    return walk.random.choice(odd) if walk.chance(0.1) else ""


def _flush(walk: Walk, hopper: str) -> Metal:
    """Return what a flush brings: in some fills all flushes have one grade."""
    draw = walk.random
    dry = STEP * draw.randint(24, 90)
    gold_gpt, silver_gpt = walk.even.get(
        hopper, (50 * draw.randint(10, 200), 50 * draw.randint(1, 30))
    )
    return Metal(dry, dry * gold_gpt // KG, dry * silver_gpt // KG)
