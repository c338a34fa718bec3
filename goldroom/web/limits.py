"""Limits: every one with its value, the default, and the entry that set it."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from goldroom.faces.offered import may_say
from goldroom.reports.limits_told import LimitNow, limits_told
from goldroom.web.listing import (
    Cell,
    Listing,
    Table,
    entry_cell,
    figure,
    forms_here,
    headings,
    listing,
    site_link,
    words,
)
from goldroom.web.page import needs, reader_in

SET = "limit.set"


@needs("limits")
def limits(request: HttpRequest) -> HttpResponse:
    """Show every limit, with a link to set it for those who may."""
    reader = reader_in(request)
    may_set = SET in may_say(reader)
    found = limits_told(reader.ledger_id).values()
    return listing(
        request,
        Listing(
            title=_("Limits"),
            lead=_(
                "What sways a judgement is an entry signed by two, never a setting. A"
                " default is common practice without a published source unless its"
                " meaning names one."
            ),
            tables=(
                Table(
                    name="limits",
                    caption=_("Limits in force"),
                    headings=headings(
                        _("Limit"),
                        _("=Value"),
                        _("Unit"),
                        _("=Default"),
                        _("Set by"),
                        _("Change it"),
                    ),
                    rows=tuple(_row(each, may_set=may_set) for each in found),
                    empty="",
                ),
            ),
            links=forms_here(request, "error_budget.set", "gravity_model.set"),
            back=site_link(),
        ),
    )


def _row(each: LimitNow, *, may_set: bool) -> tuple[Cell, ...]:
    asked = urlencode({"limit": each.name, "unit": each.unit})
    change = Cell(
        text=_("Set another value"),
        said=_("Set another value: %s") % each.meaning,
        address=f"{reverse('say_kind', args=[SET])}?{asked}",
    )
    setter = entry_cell(each.set_seq)
    if each.is_default:
        setter = words(_("the default"))
    return (
        words(each.meaning),
        figure(each.value),
        words(each.unit),
        figure(each.default),
        setter,
        change if may_set else words("–"),
    )
