"""The month end: a period closed, reported anew, and its differences posted.

A closed period keeps what was reported for ever. What becomes known later changes
what the record comes to, never what was said: the difference is posted as a true-up
in the period in which it became known, or the period is restated, with the reason.
(Common practice, no source.)
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from goldroom.custody.act import Act, utc_text
from goldroom.custody.lookups import the
from goldroom.custody.period import (
    LAST_CLOSED,
    ClosedPeriod,
    Reported,
    Restatement,
    TrueUp,
)
from goldroom.custody.records import Marker, Record, Said
from goldroom.custody.state import State
from goldroom.errors import (
    AlreadyRegistered,
    NotInThisState,
    OccurredInFuture,
    PeriodNotNext,
)
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.reported import (
    FURTHEST,
    METALS,
    ReportRow,
    check_report,
    check_step,
    unaccounted_words,
)
from goldroom.statements.wording import listed

CAUSES = {
    "timing": "metal on its way at the cut-off",
    "measurement": "a figure became better known",
    "known_loss": "a loss whose cause is known",
    "unexplained": "nobody can say why",
    "physical_adjustment": "metal itself found or gone",
    "book_adjustment": "an error of the book put right",
}
"""What a difference comes from. Metal found is not an error of the book."""


@kind("period.closed", group="month", title="Period closed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class PeriodClosed(Statement):
    """A run of whole production days closed, with its figures as reported."""

    period: str = fields.code("Period", help="A new name, such as 2026-10")
    first_day: date = fields.day("First production day")
    last_day: date = fields.day("Last production day, included")
    from_at: datetime = fields.moment("Starts", help="When the first day starts")
    to_at: datetime = fields.moment("Ends", help="When the day after the last starts")
    report: ReportRow = fields.one("As reported", ReportRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse part of a day, a gap, an overlap, the future, sums that are none."""
        if state.get(ClosedPeriod, self.period) is not None:
            raise AlreadyRegistered(
                f"period: {self.period} was closed before. Say period.restated to"
                " report it anew, or give this period a name of its own.",
                field="period",
            )
        self._check_days(state)
        if self.to_at > act.occurred_at:
            raise OccurredInFuture(
                f"to_at: the period ends {self.to_at}, after it is closed"
                f" ({act.occurred_at}). Close it when its last day is over.",
                field="to_at",
            )
        last = last_closed(state)
        if last is not None and utc_text(self.from_at) != last.to_at:
            raise PeriodNotNext(
                f"first_day: {last.period} was closed up to {last.last_day}, included;"
                f" found {self.first_day}. Start with the day after it.",
                field="first_day",
            )
        check_report(act, self.report)

    def _check_days(self, state: State) -> None:
        """Refuse days in the wrong order, and times that are not their cut-offs."""
        if self.last_day < self.first_day:
            raise BadField(
                f"last_day: {self.last_day} is before the first day,"
                f" {self.first_day}. Write the first and the last day, both included.",
                field="last_day",
            )
        for field, found, day in (
            ("from_at", self.from_at, self.first_day),
            ("to_at", self.to_at, self.last_day + timedelta(days=1)),
        ):
            expected = _start_of(state, day)
            if found != expected:
                raise BadField(
                    f"{field}: found {found}, expected {expected.isoformat()}, when"
                    f" the production day {day} starts at the site. Write it so.",
                    field=field,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the period closed, and that it is the last."""
        last = last_closed(state)
        yield ClosedPeriod(
            period=self.period,
            first_day=self.first_day.isoformat(),
            last_day=self.last_day.isoformat(),
            from_at=utc_text(self.from_at),
            to_at=utc_text(self.to_at),
            before="" if last is None else last.period,
            reported=self.report.record(),
            restated=0,
            trued_up=0,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )
        yield Marker(name=LAST_CLOSED, value=self.period, entry=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Period {self.period} was closed, {self.first_day} to {self.last_day},"
            f" with {self.report.standing} figures as known"
            f" {self.report.as_known_at:%Y-%m-%d %H:%M}: unaccounted"
            f" {unaccounted_words(self.report)}."
        )


@kind("period.restated", group="month", title="Period restated", can_void=True)
@dataclass(frozen=True, kw_only=True)
class PeriodRestated(Statement):
    """A closed period reported anew, with the reason; the first report stays."""

    period: str = fields.code("Period", table="closed_period")
    reason: str = fields.text("Reason", help="What became known, and from where")
    report: ReportRow = fields.one("As reported now", ReportRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse a period not closed, a report that says nothing new, bad sums."""
        closed = the(state, ClosedPeriod, self.period, "period")
        check_report(act, self.report)
        before = last_report(state, closed)
        now = self.report.record()
        if (now.balances, now.gravity) == (before.balances, before.gravity):
            raise NotInThisState(
                f"report: these are the figures that {self.period} was reported with."
                " Restate a period when its figures have changed.",
                field="report",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the restatement beside what was reported before."""
        closed = state.get(ClosedPeriod, self.period)
        assert closed is not None
        yield replace(closed, restated=closed.restated + 1)
        yield Restatement(
            period=self.period,
            version=closed.restated + 1,
            reason=self.reason,
            reported=self.report.record(),
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Period {self.period} was restated, with {self.report.standing} figures:"
            f" unaccounted {unaccounted_words(self.report)}. Reason: {self.reason}."
        )


@dataclass(frozen=True, kw_only=True)
class TrueUpRow:
    """One difference: where, of which metal, how much, and what it comes from."""

    step: str = fields.text("Step", help="As it was reported; or all")
    metal: str = fields.choice("Metal", METALS)
    amount_g: Decimal = fields.number(
        "Change of the unaccounted", "g", low=f"-{FURTHEST}", is_figure=False,
        help="As now known less as reported; more is missing if it is positive",
    )  # fmt: skip
    cause: str = fields.choice("Comes from", tuple(CAUSES))
    reason: str = fields.text("Reason")


@kind("period.trued_up", group="month", title="True-up posted", can_void=True)
@dataclass(frozen=True, kw_only=True)
class PeriodTruedUp(Statement):
    """Differences of a closed period, posted in the period when they became known."""

    period: str = fields.code(
        "Refers back to", table="closed_period", help="The period that they belong to"
    )
    entries: tuple[str, ...] = fields.codes(
        "Became known by", table="said", help="The entries that brought it to light"
    )
    lines: tuple[TrueUpRow, ...] = fields.rows("Differences", TrueUpRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse a period not closed, a posting into a closed one, and nothing."""
        the(state, ClosedPeriod, self.period, "period")
        last = last_closed(state)
        assert last is not None
        if act.at < last.to_at:
            raise NotInThisState(
                f"occurred_at: {act.at} lies in {last.period}, which is closed. Post"
                " in the period in which the difference became known.",
                field="occurred_at",
            )
        for n, entry in enumerate(self.entries):
            the(state, Said, entry, f"entries[{n}]")
        for n, row in enumerate(self.lines):
            check_step(row.step, f"lines[{n}].step")
            if not row.amount_g:
                raise BadField(
                    f"lines[{n}].amount_g: found 0; nothing changed. Leave the line"
                    " out.",
                    field=f"lines[{n}].amount_g",
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield each difference, and that the period has one posting more."""
        closed = state.get(ClosedPeriod, self.period)
        assert closed is not None
        yield replace(closed, trued_up=closed.trued_up + 1)
        for n, row in enumerate(self.lines, start=1):
            yield TrueUp(
                period=self.period,
                number=closed.trued_up + 1,
                n=n,
                step=row.step,
                metal=row.metal,
                amount_g=row.amount_g,
                cause=row.cause,
                reason=row.reason,
                entries=self.entries,
                at=act.at,
                entry=act.entry,
                known_at=act.known_at,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        lines = "; ".join(
            f"{row.amount_g:+f} g of {row.metal} unaccounted at"
            f" {'all steps' if row.step == 'all' else row.step},"
            f" {row.cause.replace('_', ' ')} ({CAUSES[row.cause]}): {row.reason}"
            for row in self.lines
        )
        return f"Trued up for {self.period}, by {listed(self.entries)}: {lines}."


def last_closed(state: State) -> ClosedPeriod | None:
    """Return the period closed last; None before the first."""
    marker = state.get(Marker, LAST_CLOSED)
    return None if marker is None else state.get(ClosedPeriod, marker.value)


def last_report(state: State, closed: ClosedPeriod) -> Reported:
    """Return what the period was reported with last."""
    again = state.get(Restatement, f"{closed.period}/{closed.restated:03d}")
    return closed.reported if again is None else again.reported


def _start_of(state: State, day: date) -> datetime:
    """Return when a production day starts, at the site's cut-off and zone."""
    start = the(state, Marker, "production_day_start", "first_day")
    zone = the(state, Marker, "time_zone", "first_day")
    return datetime.combine(day, time.fromisoformat(start.value), ZoneInfo(zone.value))
