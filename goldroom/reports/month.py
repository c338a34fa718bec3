"""The month: a period of production days reconciled from the read tables.

The period runs from the start of the first day to the end of the last, at the
site's cut-off and zone as the opening entry fixes them. Shown as known at an
earlier time, it is what somebody saw then.
"""

from datetime import date, datetime

from goldroom.custody.act import utc_text
from goldroom.custody.period import ClosedPeriod
from goldroom.errors import OutOfRange
from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.production_days import Period
from goldroom.reports import rows
from goldroom.reports.journal import lines_of
from goldroom.reports.kept import worked_out
from goldroom.reports.metal import last_known_at, site_clock


def reconciliation(
    ledger_id: int,
    *,
    first_day: date,
    last_day: date,
    as_known_at: datetime | None = None,
) -> PeriodReport:
    """Return the balances of production days, first and last included.

    Without `as_known_at`, as known at the ledger's last entry. Raises OutOfRange and
    NothingRecorded.
    """
    if last_day < first_day:
        raise OutOfRange(
            f"to: the last day, {last_day}, is before the first, {first_day}. Give"
            " the first day and the last, both included.",
            field="to",
        )
    clock = site_clock(ledger_id)
    known_at = (
        last_known_at(ledger_id) if as_known_at is None else utc_text(as_known_at)
    )
    period = Period.of_days(first_day, last_day, as_known_at=known_at, clock=clock)
    return worked_out(ledger_id).reconciled(period)


def closing_entries(ledger_id: int, period: Period) -> tuple[int, ...]:
    """Return the numbers of the entries by which just these days were closed."""
    found = [
        each.entry
        for each in rows.every(ledger_id, ClosedPeriod)
        if (each.from_at, each.to_at) == (period.from_at, period.to_at)
    ]
    return tuple(sorted(line.seq for line in lines_of(ledger_id, found).values()))
