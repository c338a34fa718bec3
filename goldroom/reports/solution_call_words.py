"""Solution calls in plain words, for reading aloud."""

from collections.abc import Iterator, Sequence

from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.production_days import SiteClock
from goldroom.reconcile.quantities import METALS
from goldroom.reconcile.solution_call import SolutionCall
from goldroom.reports.metal import figure_of
from goldroom.statements.wording import plain


def text_of(calls: Sequence[SolutionCall], clock: SiteClock) -> str:
    """Return the calls for reading; times are the site's."""
    if not calls:
        return "No cell has been run."
    told = ["\n".join(_lines(call, clock)) for call in calls]
    return "\n\n".join([*told, f"Times are the site's ({clock.zone})."])


def _lines(call: SolutionCall, clock: SiteClock) -> Iterator[str]:
    load = call.load
    runs = f"{len(load.runs)} run{'' if len(load.runs) == 1 else 's'}"
    ended = "still in the cell"
    if load.cleaned_at:
        ended = f"cleaned {clock.wall_text(load.cleaned_at)}"
    source = "" if call.source == "gravity" else f", {call.source} metal"
    yield f"Load {load.load} of {load.cell}{source}: {runs}, {ended}."
    for metal in METALS:
        yield f"    {metal}: {_metal_words(call, metal)}"
    if call.waiting:
        yield f"    No result yet: {', '.join(call.waiting)}."
    elif call.is_provisional:
        yield "    Provisional: a figure in it is expected to change."
    yield f"    {_current_words(call)}"


def _metal_words(call: SolutionCall, metal: str) -> str:
    called = f"called {figure_of(call.called.amount(metal))}"
    missing, percent = call.missing(metal), call.percent(metal)
    if missing is None:
        return called
    found = f"found {figure_of(call.found.amount(metal))}"
    words = "missing" if missing.posted_g >= 0 else "more than called"
    size = figure_of(missing if missing.posted_g >= 0 else _turned(call, metal))
    share = "" if percent is None else f" ({abs(percent):.2f} % of the call)"
    return f"{called}, {found}; {size} {words}{share}"


def _turned(call: SolutionCall, metal: str) -> Amount:
    called, found = call.called.amount(metal), call.found.amount(metal)
    assert called is not None
    assert found is not None
    return found - called


def _current_words(call: SolutionCall) -> str:
    if call.charge_ah is None:
        return "Current: not known."
    efficiency = call.efficiency_percent
    share = "" if efficiency is None else f"; {efficiency:.3f} % of it plated metal"
    return (
        f"Current: {plain(call.charge_ah)} Ah{share}. Faraday's law is a ceiling, not"
        " an estimate; commonly under 10 % for gold (common practice, no source)."
    )
