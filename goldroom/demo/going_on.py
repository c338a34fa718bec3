"""The hours after the month, so that there is work: flushes on no sheet, one short.

The first shift's flushes are counted and nobody has signed for them; the officer has
looked at the hopper's seals, and that waits for the witness.
"""

from datetime import datetime, timedelta

from goldroom.demo import mine
from goldroom.demo.room import Room, at, hands
from goldroom.demo.shifts import Shift, count_shift
from goldroom.demo.story import FLUSH_SINCE
from goldroom.demo.truth import ore_day

LOOKED_AT = "15:44"
OFFICER, WITNESS = mine.OFFICERS[0], mine.WITNESSES[0]
CLOCK_AFTER = timedelta(minutes=6)
"""How long after the last word of the diary the demonstration's clock goes on."""


def go_on(room: Room, day: datetime) -> None:
    """Write what the plant counts on the day after the month, and what waits then."""
    count_shift(
        room, Shift(day, ore_day(room.chance, f"{day:%Y-%m-%d}"), 0, FLUSH_SINCE)
    )
    values = {"vessel": mine.HOPPER, "seals_seen": room.seals.seen(mine.HOPPER)}
    room.diary.propose(
        "hopper seals since", "seal.inspected", values, at(day, LOOKED_AT),
        hands(OFFICER, WITNESS),
    )  # fmt: skip


def clock_begins(room: Room) -> datetime:
    """Return the moment from which the demonstration's clock goes on."""
    return room.diary.pages()[-1].at + CLOCK_AFTER
