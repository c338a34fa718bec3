"""Month end: poured gold against the circuit's estimate, balances, what may change."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.http import urlencode
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.papers.month import GOLD, gold_row
from goldroom.plots.cleanups import cleanup_plot
from goldroom.plots.flow import flow_plot
from goldroom.plots.gravity import gravity_plot
from goldroom.plots.plot import Plot
from goldroom.plots.svg import svg_of
from goldroom.reconcile.period import PeriodReport
from goldroom.reports.cleanups import cleanups
from goldroom.reports.flow import flow
from goldroom.reports.metal import site_clock
from goldroom.reports.month_told import MonthTold, month_told
from goldroom.reports.periods import months
from goldroom.web.drawings import Drawings
from goldroom.web.page import REFUSALS, needs, page, reader_in
from goldroom.web.periods import chosen_days, chosen_report
from goldroom.web.problems import Problem, problem_of

DRAWINGS = Drawings()


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A plot as a page shows it: picture, words, table."""

    name: str
    svg: SafeString
    plot: Plot


@needs("month")
def month(request: HttpRequest) -> HttpResponse:
    """Show the reconciliation of a period, of the month being closed unless asked."""
    reader, asked = reader_in(request), request.GET.dict()
    problems: tuple[Problem, ...] = ()
    told = None
    try:
        told = month_told(chosen_report(reader, asked))
    except REFUSALS as refusal:
        problems = (problem_of(refusal),)
    values = _values(reader, asked, told) | {"problems": problems}
    return page(request, "month", values, status=422 if problems else 200)


def _values(
    reader: Reader, asked: Mapping[str, str], told: MonthTold | None
) -> dict[str, Any]:
    """Return what the page shows; of the report nothing where there is none."""
    usual = chosen_days(reader, {})
    days = usual if told is None else (told.first_day, told.last_day)
    known = months(reader.ledger_id)
    known_at = asked.get("as_known_at", "")
    query = {"from": str(days[0]), "to": str(days[1])}
    paper = query | ({"as_known_at": known_at} if known_at else {})
    return {
        "title": _("Month end"),
        "first": asked.get("from") or days[0].isoformat(),
        "last": asked.get("to") or days[1].isoformat(),
        "known": known_at,
        "query": urlencode(query),
        "paper_query": urlencode(paper),
        "months": known,
        "closed_as": next(
            (each.closed_as for each in known if (each.first, each.last) == days), ""
        ),
        "told": told,
        "gold": [] if told is None else _gold(told),
        "plots": [] if told is None else _plots(reader, told),
        "may_close": "period.closed" in may_say(reader) and not known_at,
    }


def _gold(told: MonthTold) -> list[tuple[str, ...]]:
    return [gold_row(_(label), name, told.gravity) for name, label in GOLD.items()]


def _plots(reader: Reader, told: MonthTold) -> list[Drawn]:
    period = told.report.period
    clock = site_clock(reader.ledger_id)
    units = cleanups(reader.ledger_id, from_at=period.from_at, to_at=period.to_at)
    may_see = reader.may_read("limits")
    of_report = DRAWINGS.of(told.report, "month", _of_report)
    of_units = [cleanup_plot(each, clock, with_limits=may_see) for each in units]
    return [
        *of_report,
        *(_drawn(each, f"units-{n}") for n, each in enumerate(of_units)),
    ]


def _of_report(report: PeriodReport) -> list[Drawn]:
    """Return the plots that follow from the report alone."""
    return [
        _drawn(flow_plot(flow(report)), "flow"),
        _drawn(gravity_plot(report.gravity), "gravity"),
    ]


def _drawn(plot: Plot, name: str) -> Drawn:
    """Return a plot ready for a page; the picture is our own drawing, as text."""
    return Drawn(name=name, svg=mark_safe(svg_of(plot, name)), plot=plot)
