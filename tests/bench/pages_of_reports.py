"""How long each report takes, and in how many queries, on a ledger told before.

    GOLDROOM_DATABASE_URL=sqlite:///var/demo/goldroom.sqlite3 \
        python -m tests.bench.pages_of_reports [--rounds 5] [--ledger SLUG]

Run by hand; pytest does not collect it. Each report three times, in milliseconds, the
least of some rounds: *first* with nothing kept, as in a process just started; *new
entry* with only the records read before, as after an append, every figure worked out
anew; *again* with no row changed since. The last column is *new entry* over a bare
decoding of every row in the tables, so that tables of two machines can be compared.
"""

import argparse
import json
import os
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

import django
from django.db import connection
from django.test.utils import CaptureQueriesContext

Report = Callable[[], Any]
COLUMNS = ("first", "new entry", "again", "queries", "/ decoding")


def reports_of(ledger_id: int) -> dict[str, Report]:
    """Return the reports to time, by name: of the month before the last entry."""
    from goldroom.custody.dealings import Outturn
    from goldroom.custody.leach import LeachBatch
    from goldroom.reports import rows
    from goldroom.reports.attention import attention
    from goldroom.reports.closed import closed_periods
    from goldroom.reports.holdings import holdings
    from goldroom.reports.leach import leach_report
    from goldroom.reports.metal import last_known_at, site_clock
    from goldroom.reports.month import reconciliation
    from goldroom.reports.settlement import settlements
    from goldroom.reports.solution_call import every_call
    from goldroom.reports.trail import trail

    known_at = last_known_at(ledger_id)
    now = datetime.fromisoformat(known_at)
    last: date = site_clock(ledger_id).day_of(known_at)
    first = last - timedelta(days=30)
    found: dict[str, Report] = {
        "month": lambda: reconciliation(ledger_id, first_day=first, last_day=last),
        "closed periods": lambda: closed_periods(ledger_id),
        "settlements": lambda: settlements(ledger_id),
        "holdings": lambda: holdings(ledger_id),
        "attention": lambda: attention(ledger_id, now=now),
        "solution calls": lambda: every_call(ledger_id),
    }
    for outturn in rows.every(ledger_id, Outturn)[:1]:
        bar = outturn.items[0]
        found[f"trail of {bar}"] = partial(trail, ledger_id, bar)
    for batch in rows.every(ledger_id, LeachBatch)[:1]:
        name = f"leach batch {batch.batch}"
        found[name] = partial(leach_report, ledger_id, batch.batch)
    return found


def forget(*, records: bool) -> None:
    """Drop what was worked out; with `records`, the records read from texts too."""
    from goldroom.reports import kept, rows

    kept._worked_out.cache_clear()
    if records:
        rows._decoded.cache_clear()


def decode_all(ledger_id: int) -> None:
    """Read every row of the ledger as plain values: what no report can do without."""
    from goldroom.models import Row

    for (text,) in Row.objects.filter(ledger_id=ledger_id).values_list("value"):
        json.loads(text)


def least_ms(what: Report, rounds: int, before: Report | None = None) -> float:
    """Return the least milliseconds that it took, each time after `before`."""
    taken = []
    for _ in range(rounds):
        if before is not None:
            before()
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return 1000 * min(taken)


def main() -> None:
    """Print the table."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    django.setup()
    from ledger.management.options import chosen_ledger

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5, help="the least counts")
    parser.add_argument("--ledger", help="the ledger's slug, if there are several")
    options = parser.parse_args()
    ledger_id, rounds = chosen_ledger(options.ledger).pk, options.rounds
    decoding_ms = least_ms(lambda: decode_all(ledger_id), rounds)
    print(f"{'':20}" + "".join(f"{each:>12}" for each in COLUMNS))
    for name, report in reports_of(ledger_id).items():
        first = least_ms(report, rounds, lambda: forget(records=True))
        anew = least_ms(report, rounds, lambda: forget(records=False))
        again = least_ms(report, rounds)
        with CaptureQueriesContext(connection) as asked:
            report()
        print(
            f"{name:20}{first:12.1f}{anew:12.1f}{again:12.1f}{len(asked):12}"
            f"{anew / decoding_ms:12.2f}"
        )
    print(f"{'bare decoding':20}{decoding_ms:12.1f}")


if __name__ == "__main__":
    main()
