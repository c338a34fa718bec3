"""A month of the invented mine, day by day: the story as a diary."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from goldroom.demo import mine, story, trouble
from goldroom.demo.desk import Desk
from goldroom.demo.going_on import go_on
from goldroom.demo.leaching import PREGNANT, WASH, LeachWeek
from goldroom.demo.lots import (
    Lot,
    assay_lot,
    empty_hopper,
    keep_tails,
    run_table,
    say_table,
    table_values,
)
from goldroom.demo.month_end import MonthEnd
from goldroom.demo.remelting import Remelt
from goldroom.demo.room import Room, at, hands, new_room
from goldroom.demo.sampling import SampleWork
from goldroom.demo.settling import Settling, set_contract
from goldroom.demo.shifts import SHIFTS, Shift, assay_loads, work_shift
from goldroom.demo.shipping import Dispatch, count_vault
from goldroom.demo.smelting import Pour, assay_bars, release_slag, smelt
from goldroom.demo.standing import issue_seals, open_mine
from goldroom.demo.truth import OreDay, ore_day
from goldroom.demo.winning import CellWork

SHOWN_MONTH = date(2026, 10, 1)
"""The month that the story ends with; a longer demonstration begins earlier."""


@dataclass
class Month:
    """What one month of the story keeps in mind."""

    room: Room
    first: datetime
    story_end: datetime
    has_story: bool
    pours: list[Pour]
    end: datetime = field(init=False)
    leach: LeachWeek = field(init=False)
    cell: CellWork = field(init=False)
    desk: Desk = field(init=False)
    books: MonthEnd = field(init=False)
    samples: SampleWork = field(init=False)
    remelt: Remelt = field(init=False)
    dispatch: Dispatch | None = None

    def __post_init__(self) -> None:
        """Find the first moment after the month."""
        self.end = month_after(self.first)
        self.leach = LeachWeek(self.room)
        self.cell = CellWork(self.room, self.leach.liquors)
        self.desk = Desk(self.room)
        self.books = MonthEnd(self.room, self.cell, self.first)
        self.samples = SampleWork(self.room)


def first_day(months: int) -> date:
    """Return the day on which a demonstration of so many months begins."""
    back = SHOWN_MONTH.year * 12 + SHOWN_MONTH.month - months
    return date(back // 12, back % 12 + 1, 1)


def shown_days() -> tuple[date, date]:
    """Return the first and the last production day of the month shown."""
    start = datetime.combine(SHOWN_MONTH, time.min)
    return SHOWN_MONTH, (month_after(start) - timedelta(days=1)).date()


def month_after(day: datetime) -> datetime:
    """Return the start of the month after a month's first day."""
    return (day + timedelta(days=31)).replace(day=1)


def write(seed: int, months: int) -> Room:
    """Return the room after so many months, with its whole diary.

    The diary goes on for some hours after the last month.
    """
    room = new_room(seed)
    start = datetime.combine(first_day(months), time.min)
    open_mine(room, at(start, "00:00"))
    left: list[Pour] = []
    day = at(start, mine.DAY_START)
    story_end = month_after(at(datetime.combine(SHOWN_MONTH, time.min), mine.DAY_START))
    for n in range(months):
        is_last = n == months - 1
        month = Month(room, day, story_end, has_story=is_last, pours=left)
        if n:
            issue_seals(room, at(day, "05:00"))
        while day < month.end:
            _day(month, day)
            day += timedelta(days=1)
    go_on(room, day)
    return room


def _day(month: Month, day: datetime) -> None:
    """Write a production day, in the order in which things are touched."""
    room, n = month.room, (day - month.first).days
    ore = ore_day(room.chance, f"{day:%Y-%m-%d}")
    turn = day.toordinal()
    if n in story.COUNT_DAYS:
        count_vault(room, day)
    if n in story.DISPATCHES and month.pours:
        _dispatch(month, day, story.DISPATCHES[n])
    lot = None
    if n % 3 or (n == 0 and room.in_hopper):
        seen = trouble.seals_seen(n) if month.has_story else {}
        lot = empty_hopper(room, day, turn, **seen)
    if day.weekday() == story.SMELT_WEEKDAY and room.in_concentrate_safe:
        _smelt(month, day, turn)
    if month.has_story:
        trouble.in_the_morning(room, day, n)
        month.desk.in_the_morning(day, n)
        month.books.in_the_morning(day, n)
    if month.has_story:
        _samples(month, day, n)
    if lot is not None:
        _table(month, lot, n)
    if month.has_story:
        _leach(month, day, n)
    loads = []
    for shift in range(SHIFTS):
        odd = story.ODD_FLUSHES.get((n, shift)) if month.has_story else None
        loads.append(work_shift(room, Shift(day, ore, shift, odd)))
    assay_loads(room, day, loads)
    _meters(room, day, ore)
    if month.has_story:
        trouble.later(room, day, n)
        month.desk.later(day, n, ore)
        month.books.later(day, n)


def _table(month: Month, lot: Lot, n: int) -> None:
    """Write the table's run over a lot, and the reports on what came of it."""
    room, has_story = month.room, month.has_story
    if has_story and n == story.LEACH_DAY:
        month.leach.charge(lot, lot.day)
        assay_lot(room, lot, is_tabled=False)
        return
    if has_story and n == story.WRONG_MASS_DAY:
        trouble.run_table_wrongly(room, lot)
    elif has_story and n in story.KEPT_TAILS_DAYS:
        values = table_values(room, lot)
        month.leach.tails.append(keep_tails(room, lot, values))
        say_table(room, lot, values)
    else:
        if has_story and n == story.SCREENED_DAY:
            month.samples.spear(lot)
        run_table(room, lot)
    is_screened = has_story and n == story.SCREENED_DAY
    assay_lot(room, lot, is_screened=is_screened)
    if is_screened:
        month.samples.report_screen(lot)


def _leach(month: Month, day: datetime, n: int) -> None:
    """Write what a day of the leach week brings, counted from the charging."""
    week, cell = month.leach, month.cell
    since = n - story.LEACH_DAY
    if since == 0:
        week.run_through(day)
    elif since == 1:
        week.drain(day)
        cell.close_cell(day)
        cell.run_cell(day, PREGNANT, clock="14:10", hours=17)
    elif since == 2:
        week.use_samples(day)
        week.assay_solutions(day)
        cell.run_cell(day, WASH, clock="08:00", hours=11)
    elif since == 3:
        cell.clean_cell(day)
    elif since == 4:
        cell.calcine(day)
        cell.receive_elution_sludge(day)


def _samples(month: Month, day: datetime, n: int) -> None:
    """Write what a day brings of samples, of the uneven bar and of the contract."""
    samples = month.samples
    if n == 0:
        set_contract(month.room, day)
    if n == story.SAMPLES_NUMBERED_DAY:
        samples.number_from_now_on(day)
    if n == story.DIVIDED_DAY:
        going = month.pours[: story.DISPATCHES[n + 1]]
        samples.divide_dips(going, month.pours[-1], day)
    if n in story.DISPATCHES and month.dispatch is not None and month.dispatch.melts:
        samples.send_portions(day)
        samples.cupel(day)
        settling = Settling(month.room, month.dispatch.melts, samples.divided)
        settling.write(month.first + timedelta(days=story.EXCHANGED_DAY))
    if n == story.GIVEN_BACK_DAY:
        samples.give_back(day)
    if n == story.DRILLED_DAY:
        samples.keep_pulps(day)
        month.remelt = Remelt(month.room, samples, month.pours[-1])
        month.remelt.drill(day)
    if n == story.REMELT_DAY:
        month.remelt.melt(day)


def _smelt(month: Month, day: datetime, turn: int) -> None:
    made = smelt(month.room, day, turn)
    month.pours.append(made)
    if month.has_story:
        month.desk.smelt_day(made, (day - month.first).days, turn)
    is_worksheet_day = (day - month.first).days == story.WORKSHEET_DAY
    if month.has_story and is_worksheet_day:
        month.samples.assay_pour(made, after_d=story.FINAL_ASSAY_AFTER_D)
    elif day + timedelta(days=story.FINAL_ASSAY_AFTER_D) < month.story_end:
        assay_bars(month.room, made, after_d=story.FINAL_ASSAY_AFTER_D)
    if day + timedelta(days=story.FINAL_ASSAY_AFTER_D) < month.story_end:
        release_slag(month.room, made, turn, after_d=story.SLAG_RELEASED_AFTER_D)


def _dispatch(month: Month, day: datetime, count: int) -> None:
    going = month.pours[:count]
    del month.pours[:count]
    month.dispatch = dispatch = Dispatch(month.room, day, going)
    dispatch.send()
    if day + timedelta(days=6) < month.story_end:
        dispatch.arrive()


def _meters(room: Room, day: datetime, ore: OreDay) -> None:
    """Write the day's metered streams and the mill's own figures."""
    end = day + timedelta(days=1)
    for unit, _, _ in mine.STREAMS:
        tonnes = mine.STREAM_T_PER_DAY[unit] * room.chance.spread(
            f"stream/{unit}/{ore.day}", 0.04
        )
        gpt = mine.STREAM_GPT[unit] * room.chance.spread(
            f"stream grade/{unit}/{ore.day}", 0.08
        )
        values = {
            "unit": unit,
            "from_at": day.isoformat(),
            "to_at": end.isoformat(),
            "dry_t": f"{tonnes:.1f}",
            "gold_gpt": f"{gpt:.2f}",
            "silver_gpt": f"{gpt * 0.4:.2f}",
        }
        room.diary.say(
            f"stream/{unit}/{ore.day}", "stream.metered", values, end,
            hands(mine.GATEWAY),
        )  # fmt: skip
    values = {
        "day": ore.day,
        "feed_t": room.look.tonnes(ore),
        "gold_gpt": room.look.head_gpt(ore, "gold"),
        "silver_gpt": room.look.head_gpt(ore, "silver"),
    }
    room.diary.say(
        f"mill day/{ore.day}", "mill_day.reported", values, at(day, "10:00", days=1),
        hands(mine.LABORATORY, mine.METALLURGIST),
    )  # fmt: skip


def cycles_table(room: Room) -> list[dict[str, Any]]:
    """Return the plant's cycles as rows of a table, in local time without offset."""
    return [
        {
            "unit": row["unit"],
            "flush": str(row["flush"]),
            "start": row["started_at"][:19].replace("T", " "),
            "end": row["ended_at"][:19].replace("T", " "),
            "feed_t": row["feed_t"],
            "status": row["status"],
            "reason": row.get("reason", ""),
        }
        for row in room.cycles
    ]
