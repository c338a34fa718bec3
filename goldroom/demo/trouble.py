"""Trouble as it is written down: what people did about it, signed by two."""

import copy
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from goldroom.demo import mine, story
from goldroom.demo.looking import LOTS
from goldroom.demo.lots import Lot, say_table, table_values
from goldroom.demo.room import Room, at, hands
from goldroom.demo.shifts import report_assay
from goldroom.demo.smelting import check_weigh
from goldroom.demo.standing import calibration

RUVI, HALE = mine.SECURITY
CHECK_G = "2000"
"""So small that a level balance within its certificate mostly passes at once."""


def seals_seen(n: int) -> dict[str, dict[str, Any]]:
    """Return by point what a crew saw on the hopper that was not as fitted."""
    if n == story.SEAL_OTHER_DAY:
        return {"drain": {"seal": "S-9126"}}
    return {}


def in_the_morning(room: Room, day: datetime, n: int) -> None:
    """Write what a morning brings, after the hopper and before the table."""
    if n == story.SEAL_BROKEN_DAY:
        _broken_seal(room, day)
    if n == story.NEWCOMER_DAY:
        _newcomer(room, day)
    if n == story.CHECK_FAILED_DAY:
        _failed_check(room, day)
    if n == story.BENCH_AGAIN_DAY:
        _bench_again(room, day)


def later(room: Room, day: datetime, n: int) -> None:
    """Write what the rest of a day brings."""
    if n == story.LATE_SIGNATURE_DAY:
        _late_signature(room, day)
    if n == story.BOWL_DAY:
        _bowl(room, day)
    if n == story.EMERGENCY_DAY:
        _emergency(room, day)
    if n == story.WITHDRAWN_DAY:
        _withdrawn(room, day)
    if n == story.WRONG_LOT_DAY:
        _wrong_lot(room, day)


def run_table_wrongly(room: Room, lot: Lot) -> None:
    """Write a table's run with two digits of the tails changed round, and its cure."""
    right = table_values(room, lot)
    wrong = copy.deepcopy(right)
    tails = wrong["products"][-1]["gross"]
    tails["reading"] = _swapped(tails["reading"])
    entry = say_table(room, lot, wrong)
    values = {
        "entry": entry,
        "mode": "figures",
        "kind": "table.run",
        "values": right,
        "reason": f"the tails were typed {tails['reading']} kg; the scale's slip of"
        " paper says otherwise, two digits had changed places",
    }
    room.diary.say(
        "correction of figures", "record.corrected", values,
        at(lot.day, "09:15", days=1), hands(mine.METALLURGIST, RUVI), corrects=entry,
    )  # fmt: skip


def _swapped(reading: str) -> str:
    """Return a reading with the first two unlike neighbours in it changed round."""
    for n in range(1, len(reading) - 1):
        pair = reading[n : n + 2]
        if pair.isdigit() and pair[0] != pair[1]:
            return reading[:n] + pair[::-1] + reading[n + 2 :]
    raise AssertionError(reading)


def _broken_seal(room: Room, day: datetime) -> None:
    """Write an inspection that finds a broken seal, and the seal put in its place."""
    crew = room.crew(day.toordinal())
    broken = {"drain": {"tamper_signs": "broken"}}
    seen = room.seals.seen(mine.HOPPER, **broken)
    room.diary.say(
        "broken seal", "seal.inspected", {"vessel": mine.HOPPER, "seals_seen": seen},
        at(day, "10:05"), crew,
    )  # fmt: skip
    old = room.seals.on.pop((mine.HOPPER, "drain"))
    removed = {
        "point": "drain",
        "seal": old,
        "tamper_signs": "broken",
        "remains_kept": True,
    }
    values = {
        "vessel": mine.HOPPER,
        "seals_removed": [removed],
        "reason": "broken by the hose trolley, wheel mark on the drain cover; hopper"
        " weighed the same",
        "seals_fitted": room.seals.fit(mine.HOPPER, "drain"),
    }
    room.diary.say(
        "seal replaced", "seal.removed", values, at(day, "10:20"),
        room.crew(day.toordinal() + 1),
    )  # fmt: skip


def _newcomer(room: Room, day: datetime) -> None:
    """Write the enrolment of another second person."""
    values = {
        **mine.NEWCOMER.values(),
        "identity_check": "passport seen by both, 4 years at the mine",
    }
    room.diary.say(
        "newcomer", "person.enrolled", values, at(day, "11:00"),
        hands(RUVI, mine.MANAGER),
    )  # fmt: skip
    room.seconds.append(mine.NEWCOMER.person)


def _failed_check(room: Room, day: datetime) -> None:
    """Write a check weight that the bench balance fails, until it passes."""
    turn, when = day.toordinal(), at(day, "08:10")
    check_weigh(room, mine.BENCH, CHECK_G, "bench", when, turn, off_g=4.3)
    again, off_g = 0, Decimal(1)
    while abs(off_g) > Decimal(mine.BENCH.interval):
        again, when = again + 1, when + timedelta(minutes=25)
        name = f"bench levelled {again}"
        seen = check_weigh(room, mine.BENCH, CHECK_G, name, when, turn + again)
        off_g = Decimal(seen) - Decimal(CHECK_G)


def _bench_again(room: Room, day: datetime) -> None:
    """Write the bench balance's new calibration, after it was used out of date."""
    values = calibration(mine.BENCH, name=mine.BENCH_AGAIN, due="2027-10-31")
    room.diary.say(
        "bench calibrated", "instrument.calibrated", values, at(day, "11:30"),
        hands(HALE, mine.METALLURGIST),
    )  # fmt: skip
    room.look.calibrations[mine.BENCH.instrument] = mine.BENCH_AGAIN


def _late_signature(room: Room, day: datetime) -> None:
    """Write water drawn off, whose second signature came seven hours later."""
    values = {
        "hopper": mine.HOPPER,
        "water_to": "the mill sump",
        "reason": "water over the mark after the screen was hosed",
        "mark": mine.HOPPER_MARK,
    }
    when = at(day, "20:15")
    room.diary.say(
        "late signature", "hopper.drawn_off", values, when,
        room.crew(day.toordinal() * 3 + 1),
        first=when + timedelta(minutes=6), taken_down=at(day, "03:25", days=1),
    )  # fmt: skip


def _bowl(room: Room, day: datetime) -> None:
    """Write a bowl opened for maintenance under a permit."""
    values = {
        "unit": "U2",
        "permit": "PTW-2231 (invented)",
        "reason": "worn ring changed",
        "heel_before": room.look.reading(mine.PLATFORM, 486_300.0, "bowl before"),
        "heel_after": room.look.reading(mine.PLATFORM, 485_900.0, "bowl after"),
    }
    room.diary.say(
        "bowl opened", "bowl.opened", values, at(day, "09:05"),
        hands(room.crew(day.toordinal())[0][0], RUVI),
    )  # fmt: skip


def _emergency(room: Room, day: datetime) -> None:
    """Write an alarm in the gold room, and its ratification next morning."""
    values = {
        "what": "gas alarm at 16:40, the room was left at once; drum and safe stayed as"
        " they were, door locked behind us by the officer alone",
        "place": "gold_room",
        "hazards": "hydrogen cyanide sensor read 6 ppm for four minutes, then nothing",
        "opened": "the middlings drum stood open",
    }
    officer = room.crew(day.toordinal())[0]
    entry = room.diary.say(
        "emergency", "emergency.declared", values, at(day, "16:55"), (officer,)
    )
    ratified = {
        "emergency": entry,
        "found": "sensor fault after rain, checked against a hand-held; camera shows"
        " nobody in the room until 17:30",
        "stock_check": "safe C1 and drum D1 looked at and weighed by two others: all"
        " there, seals as fitted",
    }
    room.diary.say(
        "emergency ratified", "emergency.ratified", ratified, at(day, "08:30", days=1),
        hands(HALE, mine.METALLURGIST),
    )  # fmt: skip


def _withdrawn(room: Room, day: datetime) -> None:
    """Write a proposal that its author took back before the second signature."""
    values = {
        "vessel": mine.HOPPER,
        "seals_seen": room.seals.seen(mine.HOPPER),
    }
    room.diary.propose_and_withdraw(
        "withdrawn", "seal.inspected", values, at(day, "15:10"),
        room.crew(day.toordinal()),
        withdrawn=at(day, "15:52"),
        detail="written for the wrong hour; the round was walked at 16:10",
    )  # fmt: skip


def _wrong_lot(room: Room, day: datetime) -> None:
    """Write a report entered for the lot before, taken back, and said rightly."""
    lot = room.counters["lot"]
    item, before = f"LOT-{lot:03d}", f"LOT-{lot - 1:03d}"
    row = {
        "items": [before],
        "sample": f"K-{item}-R",
        "unit": LOTS.unit,
        **room.look.contents(
            LOTS, room.truth[item], sample=f"K-{item}-R", assay=f"K-{item}-R"
        ),
    }
    when = at(day, "17:20", days=1)
    entry = report_assay(room, "wrong lot", LOTS, [row], when)
    values = {
        "entry": entry,
        "mode": "void",
        "kind": "assay.reported",
        "reason": f"the second spear sample of {item} was entered for {before}",
    }
    room.diary.say(
        "wrong lot taken back", "record.corrected", values,
        when + timedelta(minutes=35), hands(mine.ACCOUNTANT, HALE), corrects=entry,
    )  # fmt: skip
    report_assay(
        room, "right lot", LOTS, [{**row, "items": [item]}],
        when + timedelta(minutes=50),
    )  # fmt: skip
