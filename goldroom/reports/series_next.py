"""The numbers that come next, of every series in force."""

from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.custody.number_series import NumberSeries
from goldroom.reports import rows
from goldroom.reports.numbers import next_numbers

SHOWN = 3
"""How many numbers are told ahead."""


@dataclass(frozen=True, kw_only=True)
class SeriesNext:
    """A series of bars, samples or seals, and the numbers that follow the last used."""

    what: str
    prefix: str
    with_check: bool
    since: str
    following: tuple[str, ...]


def series_next(ledger_id: int, *, now: datetime) -> tuple[SeriesNext, ...]:
    """Return every series in force with its next numbers; `since` is UTC text."""
    at = utc_text(now)
    return tuple(
        SeriesNext(
            what=each.numbers,
            prefix=series.prefix,
            with_check=series.with_check,
            since=series.from_at,
            following=next_numbers(
                ledger_id, each.numbers, now=now, count=SHOWN, prefix=series.prefix
            ),
        )
        for each in rows.every(ledger_id, NumberSeries)
        for series in each.series
        if series.from_at <= at
    )
