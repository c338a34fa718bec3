"""A shift: the plant counts, two people sign a sheet, the hopper is weighed.

Crews hand over twenty minutes before the production day's cut-off, so that a day
closes with its own sheet and reading. The units flush once an hour, at different
minutes, and never while the crews are at the hopper.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.diary import Hands
from goldroom.demo.looking import LOADS, hopper_gross_g
from goldroom.demo.room import Room, at, hands
from goldroom.demo.story import MISSING, SHORT, OddFlush
from goldroom.demo.truth import (
    CYCLE_MIN,
    UNIT_FEED_T_PER_H,
    Matter,
    OreDay,
    flush_matter,
    together,
)

SHIFTS = 3
SHIFT_H = 8
FLUSHED_AT = {"U1": "06:22", "U2": "06:30"}
HANDOVER = "13:40"


@dataclass(frozen=True)
class Shift:
    """One shift of a production day: `n` from 0, and what it is odd about it."""

    day: datetime
    ore: OreDay
    n: int
    odd: OddFlush | None = None

    @property
    def name(self) -> str:
        """Return the shift's name, such as 1003-2."""
        return f"{self.day:%m%d}-{self.n + 1}"

    @property
    def handover(self) -> datetime:
        """Return when the crew hands over."""
        return at(self.day, HANDOVER) + timedelta(hours=SHIFT_H * self.n)

    @property
    def turn(self) -> int:
        """Return a number that goes up by one with every shift."""
        return self.day.toordinal() * SHIFTS + self.n


@dataclass(frozen=True)
class Counted:
    """A flush as the plant counted it, and what it brought."""

    unit: str
    number: int
    started_at: datetime
    minutes: float
    odd: OddFlush | None
    matter: Matter

    def row(self, feed_t: str) -> dict[str, Any]:
        """Return the cycle's row as the gateway says it."""
        ended_at = self.started_at + timedelta(minutes=round(self.minutes))
        row = {
            "unit": self.unit,
            "counter_epoch": 1,
            "flush": self.number,
            "started_at": self.started_at.isoformat(),
            "ended_at": ended_at.isoformat(),
            "feed_t": feed_t,
            "status": "complete" if self.odd is None else self.odd.what,
        }
        return row if self.odd is None else {**row, "reason": self.odd.reason}


def work_shift(room: Room, shift: Shift) -> str:
    """Write a shift's count, sheet and weighing; return the load's id."""
    counted, gone = count_shift(room, shift)
    _sheet(room, shift, counted, gone)
    return _weigh(room, shift, counted)


def count_shift(room: Room, shift: Shift) -> tuple[list[Counted], list[OddFlush]]:
    """Write what the plant counted in a shift, whether or not anybody takes it up.

    Returns the shift's flushes, and those that only the counter had.
    """
    counted, gone = _flushes(room, shift)
    _count(room, shift, counted)
    return counted, gone


def _flushes(room: Room, shift: Shift) -> tuple[list[Counted], list[OddFlush]]:
    """Return the shift's flushes, and those that only the counter had."""
    counted: list[Counted] = []
    gone: list[OddFlush] = []
    for unit in mine.FLUSHING:
        usual = at(shift.day, FLUSHED_AT[unit]) + timedelta(hours=SHIFT_H * shift.n)
        for k in range(SHIFT_H):
            odd = shift.odd if shift.odd and shift.odd.unit == unit else None
            odd = odd if odd and odd.place == k else None
            number = room.flush_numbers.get(unit, 0) + 1
            if odd is not None and odd.what == MISSING:
                gone.append(odd)
                number += 1
                odd = None
            room.flush_numbers[unit] = number
            name = f"{shift.name}/{unit}/{k}"
            minutes = CYCLE_MIN + room.chance.whole(f"minute/{name}", -1, 1)
            if odd is not None:
                minutes = odd.minutes
            counted.append(
                Counted(
                    unit,
                    number,
                    usual + timedelta(hours=k) - timedelta(minutes=CYCLE_MIN),
                    minutes,
                    odd,
                    flush_matter(room.chance, shift.ore, name, minutes),
                )
            )
    return counted, gone


def _count(room: Room, shift: Shift, counted: Sequence[Counted]) -> None:
    rows = []
    for each in counted:
        u = room.chance.error(f"unit feed/{each.unit}/{each.number}")
        feed_t = UNIT_FEED_T_PER_H * each.minutes / 60 * (1 + 0.02 * u)
        rows.append(each.row(f"{feed_t:.1f}"))
    rows.sort(key=lambda row: (row["ended_at"], row["unit"]))
    room.cycles += rows
    room.diary.say(
        f"cycles/{shift.name}", "cycles.recorded", {"cycles": rows},
        shift.handover - timedelta(minutes=5), hands(mine.GATEWAY),
    )  # fmt: skip


def _sheet(
    room: Room, shift: Shift, counted: Sequence[Counted], gone: Sequence[OddFlush]
) -> None:
    """Write the cleanup sheet: ranges of flushes, and an answer to each odd one."""
    ranges: list[dict[str, Any]] = []
    exceptions: list[dict[str, Any]] = []
    for unit in mine.FLUSHING:
        numbers = [each.number for each in counted if each.unit == unit]
        for first, last in _runs(numbers):
            ranges.append(
                {"unit": unit, "counter_epoch": 1, "first": first, "last": last}
            )
        missing = sorted(set(range(numbers[0], numbers[-1])) - set(numbers))
        exceptions += [
            {"unit": unit, "flush": number, "what": MISSING, "answer": gone[0].answer}
            for number in missing
        ]
    exceptions += [
        {
            "unit": each.unit,
            "flush": each.number,
            "what": SHORT,
            "answer": each.odd.answer,
        }
        for each in counted
        if each.odd is not None
    ]
    values = {
        "hopper": mine.HOPPER,
        "flushes": ranges,
        "exceptions": exceptions,
        "seals_seen": room.seals.seen(mine.HOPPER),
    }
    room.diary.say(
        f"sheet/{shift.name}", "cleanup.recorded", _filled(values),
        shift.handover + timedelta(minutes=3), room.crew(shift.turn),
    )  # fmt: skip


def _runs(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Return unbroken runs of ascending numbers, each as first and last."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def _filled(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value not in ([], None)}


def _weigh(room: Room, shift: Shift, counted: Sequence[Counted]) -> str:
    load = f"LD-{shift.name}"
    room.truth[load] = together(each.matter for each in counted)
    room.in_hopper.append(load)
    inside = together(room.truth[each] for each in room.in_hopper)
    gross_g = hopper_gross_g(inside.dry_g)
    room.diary.say(
        f"weighed/{load}", "hopper.weighed",
        {
            "load": load,
            "hopper": mine.HOPPER,
            "mark": mine.HOPPER_MARK,
            "gross": room.look.reading(mine.CELLS, gross_g, f"hopper/{load}"),
        },
        shift.handover + timedelta(minutes=13), room.crew(shift.turn),
    )  # fmt: skip
    return load


def assay_loads(room: Room, day: datetime, loads: Sequence[str]) -> None:
    """Write the laboratory's report on a day's composite, the afternoon after."""
    sample = f"K-{day:%m%d}"
    composite = together(room.truth[load] for load in loads)
    row = {
        "items": list(loads),
        "sample": sample,
        "unit": LOADS.unit,
        **room.look.contents(LOADS, composite, sample=sample, assay=sample),
    }
    report_assay(room, f"assay/{sample}", LOADS, [row], at(day, "15:30", days=1))


def report_assay(
    room: Room, name: str, how: Any, rows: list[dict[str, Any]], when: datetime
) -> str:
    """Write a report of the site's laboratory; return its entry id."""
    values = {
        "laboratory": "laboratory",
        "method": how.method,
        "standing": "final",
        "sampler": how.sampler,
        "results": rows,
    }
    return room.diary.say(name, "assay.reported", values, when, laboratory_hands(room))


def laboratory_hands(room: Room) -> Hands:
    """Return who signs a report: the laboratory and somebody of the plant, in turn."""
    second = room.crew(room.number("report"))[room.number("side") % 2]
    if second[1] == "security":
        second = (mine.METALLURGIST, "metallurgist")
    return (*hands(mine.LABORATORY), second)
