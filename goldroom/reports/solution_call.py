"""Solution calls from the read tables: every load, or those cleaned lately.

What is asked often (attention) reads only the loads cleaned lately and what went into
and came out of them; a solution that only a mean of all others could value is then
pending, and its call is left to the whole report.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from goldroom.custody.act import utc_text
from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.records import (
    Assay,
    Estimate,
    Instrument,
    Item,
    Mass,
    Record,
    Volume,
)
from goldroom.findings.found import Found, Threshold
from goldroom.findings.solution_call import calls_apart, calls_one_way
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.solution_call import SolutionCall, solution_calls
from goldroom.reports import rows
from goldroom.reports.kept import worked_out

LATELY = timedelta(days=92)
"""How far back a cleanup is still looked at: a quarter, for its last assays to come."""


def every_call(ledger_id: int) -> tuple[SolutionCall, ...]:
    """Return the call of every load, in order of cleanup, open loads last."""
    return solution_calls(
        worked_out(ledger_id).quantities,
        rows.every(ledger_id, CellLoad),
        rows.every(ledger_id, CellRun),
    )


def calls_lately(ledger_id: int, *, now: datetime) -> tuple[SolutionCall, ...]:
    """Return the calls of loads cleaned in the last quarter, without their current."""
    since = utc_text(now - LATELY)
    loads = [
        each
        for each in rows.every(ledger_id, CellLoad, "cleaned")
        if each.cleaned_at >= since
    ]
    if not loads:
        return ()
    items = _around(ledger_id, [each.load for each in loads])
    records: list[Record] = [*items, *_figures(ledger_id, items)]
    records += rows.all_of(ledger_id, Instrument, ErrorBudget)
    return solution_calls(Quantities(LedgerRecords.from_records(records)), loads)


def call_findings(ledger_id: int, *, within: Threshold, now: datetime) -> list[Found]:
    """Return what the cleanups of the last quarter show beside their calls."""
    calls = calls_lately(ledger_id, now=now)
    return [*calls_apart(calls, within=within), *calls_one_way(calls)]


def _around(ledger_id: int, loads: Sequence[str]) -> list[Item]:
    """Return loads, what went in and came out, and what was made or drawn of that."""
    found = rows.by_keys(ledger_id, Item, loads)
    for _ in range(2):
        near = {
            name
            for item in found.values()
            for name in (*item.children, *item.drawn, *_put_in(item))
        }
        found |= rows.by_keys(ledger_id, Item, near - found.keys())
    return list(found.values())


def _put_in(item: Item) -> tuple[str, ...]:
    """Return what went into a load; of other things nobody asks here."""
    return item.parents if item.sort == "cell_load" else ()


def _figures(ledger_id: int, items: Iterable[Item]) -> list[Record]:
    """Return the masses, assays, volumes and estimates of the items."""
    counted = {
        Mass: "masses",
        Assay: "assays",
        Volume: "volumes",
        Estimate: "estimates",
    }
    found: list[Record] = []
    for record_type, count in counted.items():
        keys = [
            f"{item.item}/{n:03d}"
            for item in items
            for n in range(1, getattr(item, count) + 1)
        ]
        found += rows.by_keys(ledger_id, record_type, keys).values()
    return found
