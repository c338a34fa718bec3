"""Production days and periods at the site's own clock.

A production day starts at the site's cut-off (often 06:00) on the wall clock of its
zone, not at midnight; on the days when the clock changes it has 23 or 25 hours. A
period is [from, to) in UTC text, with the time at which it is to be seen as known.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from goldroom.custody.act import utc_text
from goldroom.errors import OutOfRange

ONE_DAY = timedelta(days=1)
TIMES_KEPT = 50_000
"""How many times already read a process keeps: the same are asked for all along."""


@dataclass(frozen=True)
class SiteClock:
    """The zone (IANA name) and wall-clock time at which the site's day starts."""

    zone: str
    day_start: str

    def __post_init__(self) -> None:
        try:
            _ = (self._zone, self._start)
        except (ZoneInfoNotFoundError, ValueError) as wrong:
            raise OutOfRange(
                f"found zone {self.zone!r} and day start {self.day_start!r}; expected"
                " a zone by its IANA name (such as Africa/Johannesburg) and a time"
                " such as 06:00. Correct the site's settings.",
                field="zone",
            ) from wrong

    @cached_property
    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @cached_property
    def _start(self) -> time:
        return time.fromisoformat(self.day_start)

    def start_of(self, day: date) -> str:
        """Return when a production day starts, as UTC text."""
        return _start_of(self, day)

    def day_of(self, at: str) -> date:
        """Return the production day that a time (UTC text) belongs to."""
        day = moment(at).astimezone(self._zone).date()
        if at < self.start_of(day):
            return day - ONE_DAY
        return day + ONE_DAY if at >= self.start_of(day + ONE_DAY) else day

    def wall_text(self, at: str) -> str:
        """Return a time as people at the site read it: day and minutes."""
        return moment(at).astimezone(self._zone).strftime("%Y-%m-%d %H:%M")

    def utc_of(self, wall: datetime) -> str:
        """Return a time of the site's clock, without an offset, as UTC text."""
        return utc_text(wall.replace(tzinfo=self._zone))


@dataclass(frozen=True)
class Period:
    """What to reconcile: from (included) to (excluded), as known at a time.

    All three are UTC texts as records have them. Raises OutOfRange when the period
    ends before it starts, or a time or the zone cannot be read.
    """

    from_at: str
    to_at: str
    as_known_at: str
    zone: str
    day_start: str

    def __post_init__(self) -> None:
        for name in ("from_at", "to_at", "as_known_at"):
            _check_moment(getattr(self, name), name)
        if self.from_at >= self.to_at:
            raise OutOfRange(
                f"The period starts {self.from_at} and ends {self.to_at}; it must end"
                " after it starts.",
                field="to_at",
            )
        _ = self.clock

    @cached_property
    def clock(self) -> SiteClock:
        """Return the site's clock."""
        return SiteClock(self.zone, self.day_start)

    def includes(self, at: str) -> bool:
        """Return whether a time lies in the period."""
        return self.from_at <= at < self.to_at

    def days(self) -> list[date]:
        """Return the production days that the period touches, in order."""
        first = self.clock.day_of(self.from_at)
        last = self.clock.day_of(utc_text(moment(self.to_at) - timedelta(seconds=1)))
        return [first + n * ONE_DAY for n in range((last - first).days + 1)]

    @classmethod
    def of_days(
        cls, first: date, last: date, *, as_known_at: str, clock: SiteClock
    ) -> Period:
        """Return the period of production days, both included."""
        return cls(
            clock.start_of(first),
            clock.start_of(last + ONE_DAY),
            as_known_at,
            clock.zone,
            clock.day_start,
        )

    @classmethod
    def of_month(
        cls, year: int, month: int, *, as_known_at: str, clock: SiteClock
    ) -> Period:
        """Return the period of a calendar month's production days."""
        first = date(year, month, 1)
        following = date(year + month // 12, month % 12 + 1, 1)
        return cls.of_days(
            first, following - ONE_DAY, as_known_at=as_known_at, clock=clock
        )


@lru_cache(maxsize=TIMES_KEPT)
def moment(at: str) -> datetime:
    """Return a record's UTC text as an aware time."""
    return datetime.strptime(at, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)


@lru_cache(maxsize=TIMES_KEPT)
def _start_of(clock: SiteClock, day: date) -> str:
    return utc_text(datetime.combine(day, clock._start, clock._zone))


def _check_moment(text: str, field: str) -> None:
    """Refuse a text that is not a record's UTC time."""
    try:
        moment(text)
    except ValueError as wrong:
        raise OutOfRange(
            f"{field}: found {text!r}; expected UTC to the second, such as"
            " 2026-10-01T04:00:00Z.",
            field=field,
        ) from wrong
