"""Which months the record tells of."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Max, Min

from goldroom.custody.period import ClosedPeriod
from goldroom.models import JournalLine
from goldroom.reports import rows
from goldroom.reports.metal import site_clock


@dataclass(frozen=True, kw_only=True)
class Month:
    """A calendar month of production days; `closed_as` names it if it was closed."""

    first: date
    last: date
    closed_as: str = ""

    @property
    def name(self) -> str:
        """Return the month as people write it: "2026-10"."""
        return f"{self.first:%Y-%m}"


def months(ledger_id: int) -> tuple[Month, ...]:
    """Return the months from the first thing recorded to the last, oldest first."""
    with rows.readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id)
        ends = lines.aggregate(first=Min("occurred_at"), last=Max("occurred_at"))
    if ends["first"] is None:
        return ()
    clock = site_clock(ledger_id)
    month, last = _month(clock.day_of(ends["first"])), clock.day_of(ends["last"])
    closed = {
        (each.first_day, each.last_day): each.period
        for each in rows.every(ledger_id, ClosedPeriod)
    }
    found = []
    while month.first <= last:
        days = (month.first.isoformat(), month.last.isoformat())
        found.append(
            Month(first=month.first, last=month.last, closed_as=closed.get(days, ""))
        )
        month = _month(month.last + timedelta(days=1))
    return tuple(found)


def _month(day: date) -> Month:
    following = (day.replace(day=28) + timedelta(days=4)).replace(day=1)
    return Month(first=day.replace(day=1), last=following - timedelta(days=1))
