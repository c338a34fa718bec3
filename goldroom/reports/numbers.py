"""The next free numbers of a series, as the tables show what was used."""

from collections.abc import Iterable
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.custody.number_series import NumberSeries, Series
from goldroom.custody.numbers import count_of, numbered
from goldroom.custody.records import Marker
from goldroom.errors import Refusal
from goldroom.models import Row
from goldroom.reports import rows

STAMPED = "stamp:"
LAST_BAR = "last_bar_number"


class NoNumberSeries(Refusal):
    """Nobody said how such things are numbered."""

    code = "no_number_series"


def next_numbers(
    ledger_id: int, what: str, *, now: datetime, count: int = 1, prefix: str = ""
) -> tuple[str, ...]:
    """Return numbers that follow the highest used of a series, in order.

    The series is the one of this prefix, or that set last, of those in force
    now. Raises NoNumberSeries.
    """
    series = _series(ledger_id, what, at=utc_text(now), prefix=prefix)
    counts = [count_of(series, each) for each in _used(ledger_id, what, series)]
    last = max((each for each in counts if each is not None), default=0)
    return tuple(numbered(series, last + n) for n in range(1, count + 1))


def _series(ledger_id: int, what: str, *, at: str, prefix: str) -> Series:
    known = rows.one(ledger_id, NumberSeries, what)
    found = [
        each
        for each in (known.series if known is not None else ())
        if each.from_at <= at and prefix in ("", each.prefix)
    ]
    if not found:
        named = f" with prefix {prefix}" if prefix else ""
        raise NoNumberSeries(
            f"No series of {what} numbers{named} is in force. Say number_series.set"
            " first, or name the prefix of one that is.",
        )
    return found[-1]


def _used(ledger_id: int, what: str, series: Series) -> Iterable[str]:
    """Return the texts that may be numbers of a series: keys that begin like it."""
    table = {"bar": "marker", "sample": "item", "seal": "seal"}[what]
    lead = STAMPED if what == "bar" else ""
    with rows.readable():
        found = list(
            Row.objects.filter(
                ledger_id=ledger_id, record=table, key__startswith=lead + series.prefix
            ).values_list("key", flat=True)
        )
    last = rows.one(ledger_id, Marker, LAST_BAR) if what == "bar" else None
    opened_with = [] if last is None else [last.value]
    return [*(each.removeprefix(lead) for each in found), *opened_with]
