"""Solution calls as pages show them: rows of figures, what each waits for."""

from dataclasses import dataclass

from goldroom.reconcile.quantities import METALS
from goldroom.reconcile.solution_call import SolutionCall
from goldroom.reports.metal import Figure, figure_of, site_clock
from goldroom.reports.solution_call import every_call


@dataclass(frozen=True, kw_only=True)
class CallRow:
    """One metal of a load: called, found, missing; `percent` is of the call.

    `cleaned_at` is the site's wall clock, "" while the load is in its cell.
    """

    load: str
    cell: str
    metal: str
    cleaned_at: str
    called: Figure
    found: Figure
    missing: Figure
    percent: str
    waiting: tuple[str, ...]
    is_provisional: bool


def solution_calls_told(ledger_id: int) -> tuple[CallRow, ...]:
    """Return each metal of every load, in order of cleanup, open loads last."""
    wall = site_clock(ledger_id).wall_text
    return tuple(
        _row(call, metal, wall(call.load.cleaned_at) if call.load.cleaned_at else "")
        for call in every_call(ledger_id)
        for metal in METALS
    )


def _row(call: SolutionCall, metal: str, cleaned_at: str) -> CallRow:
    percent = call.percent(metal)
    return CallRow(
        load=call.load.load,
        cell=call.load.cell,
        metal=metal,
        cleaned_at=cleaned_at,
        called=figure_of(call.called.amount(metal)),
        found=figure_of(call.found.amount(metal)),
        missing=figure_of(call.missing(metal)),
        percent="" if percent is None else f"{percent:.2f} %",
        waiting=call.waiting,
        is_provisional=call.is_provisional,
    )
