"""Which days a page or paper is about: as asked, or the month that is being closed."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from goldroom.errors import OutOfRange
from goldroom.faces.clock import now_text
from goldroom.faces.reader import Reader
from goldroom.reconcile.period import PeriodReport
from goldroom.reports.metal import site_clock
from goldroom.reports.month import reconciliation
from goldroom.web.values import moment_text

YEARS = range(1900, 3000)
CLOSING_DAYS = 10
"""Up to this day of a month its predecessor is the one that people work on."""


def chosen_days(reader: Reader, asked: Mapping[str, str]) -> tuple[date, date]:
    """Return the first production day and the last. Raises OutOfRange.

    Without days asked for, those of the month that people are closing: the last one
    in the first days of a month, else the present one.
    """
    first, last = asked.get("from", "").strip(), asked.get("to", "").strip()
    if first or last:
        return _day(first, "from"), _day(last, "to")
    clock = site_clock(reader.ledger_id)
    today = clock.day_of(now_text(reader.ledger_id))
    if today.day <= CLOSING_DAYS:
        today = today.replace(day=1) - timedelta(days=1)
    return month_of(today)


def month_of(day: date) -> tuple[date, date]:
    """Return the first day and the last of a day's calendar month."""
    following = (day.replace(day=28) + timedelta(days=4)).replace(day=1)
    return day.replace(day=1), following - timedelta(days=1)


def chosen_report(reader: Reader, asked: Mapping[str, str]) -> PeriodReport:
    """Return the reconciliation of the days asked for, as known then or now."""
    first, last = chosen_days(reader, asked)
    known_at = asked.get("as_known_at", "").strip()
    return reconciliation(
        reader.ledger_id,
        first_day=first,
        last_day=last,
        as_known_at=_moment(reader, known_at) if known_at else None,
    )


def _moment(reader: Reader, text: str) -> datetime:
    zone = site_clock(reader.ledger_id).zone
    try:
        found = datetime.fromisoformat(moment_text(text, zone, "as_known_at"))
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or found.year not in YEARS:
        raise OutOfRange(
            f"as_known_at: found {text[:40]!r}, expected a day and a time. Write it as"
            " 2026-10-31T18:00.",
            field="as_known_at",
        )
    return found


def _day(text: str, field: str) -> date:
    try:
        found = date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.year not in YEARS:
        raise OutOfRange(
            f"{field}: found {text[:40]!r}, expected a day. Give the first day and the"
            " last, both included, such as 2026-10-31.",
            field=field,
        )
    return found
