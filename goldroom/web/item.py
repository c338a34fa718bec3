"""One item: where it is, its figures, where it came from, who held it when."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from goldroom.errors import UnknownItem
from goldroom.faces import reading
from goldroom.faces.clock import now_text
from goldroom.plots.lanes import lanes_plot
from goldroom.plots.svg import svg_of
from goldroom.reports.find import find
from goldroom.reports.held_at import HeldAt, held_at, wall_moment
from goldroom.reports.item_told import item_told
from goldroom.reports.lanes import lanes
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import SeveralBars, Trail
from goldroom.web.find import address_of, found_page
from goldroom.web.page import REFUSALS, page, reader_in, signed_in
from goldroom.web.problems import Problem, problem_of
from goldroom.web.refused import refused_page


@signed_in
def item(request: HttpRequest, item: str) -> HttpResponse:
    """Show an item; of several bars that bear a number, let one be chosen."""
    reader = reader_in(request)
    try:
        trail = reading.trail(reader, item)
    except UnknownItem as refusal:
        return _something_else(request, item, refusal)
    except SeveralBars:
        return found_page(request, item, find(reader.ledger_id, item))
    clock = site_clock(reader.ledger_id)
    answer, problems = _answer(request, trail)
    told = item_told(reader.ledger_id, trail, clock)
    at = now_text(reader.ledger_id)
    values = {
        "title": f"{_(told.sort).capitalize()} {told.label or told.item}",
        "told": told,
        "papers": _papers(trail),
        "plot": _custody(reader.ledger_id, trail),
        "answer": answer,
        "at": request.GET.get("at", clock.wall_text(at).replace(" ", "T")),
        "problems": problems,
    }
    return page(request, "item", values, status=422 if problems else 200)


def _something_else(
    request: HttpRequest, name: str, refusal: UnknownItem
) -> HttpResponse:
    """Go to what else bears the name, a seal or a vessel; otherwise say why not."""
    others = find(reader_in(request).ledger_id, name).exact
    if others:
        return HttpResponseRedirect(address_of(others[0]))
    return refused_page(request, refusal, status=404)


def _custody(ledger_id: int, trail: Trail) -> str:
    """Return where the item was as lanes over time; "" if nobody said where."""
    found = lanes(trail)
    if not found.stretches:
        return ""
    plot = lanes_plot(found, site_clock(ledger_id))
    return mark_safe(svg_of(plot, "custody"))  # the writer of XML escapes every text


def _answer(
    request: HttpRequest, trail: Trail
) -> tuple[HeldAt | None, tuple[Problem, ...]]:
    """Return who held the item at the time asked for, or what cannot be read."""
    asked = request.GET.get("at", "").strip()
    if not asked:
        return None, ()
    clock = site_clock(reader_in(request).ledger_id)
    try:
        return held_at(trail, wall_moment(asked, clock), clock), ()
    except REFUSALS as refusal:
        return None, (problem_of(refusal),)


def _papers(trail: Trail) -> list[tuple[str, str]]:
    """Return name and address of the papers that can be drawn of an item."""
    found = {
        "bar": (_("Bar certificate"), "paper_bar"),
        "charge": (_("Smelt sheet"), "paper_smelt"),
    }.get(trail.item.sort)
    if found is None:
        return []
    name, view = found
    return [(name, reverse(view, args=[trail.item.item]))]
