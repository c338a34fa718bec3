"""Seals by series: what is in stock, on vessels, used up, void."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.reports.people import Names, names
from goldroom.reports.seals_stock import SealSeries, seals_stock
from goldroom.web.listing import (
    Cell,
    Heading,
    Listing,
    Table,
    figure,
    forms_here,
    headings,
    listing,
    site_link,
    words,
)
from goldroom.web.page import reader_in, signed_in

FORMS = ("seals.issued", "seal.fitted", "seal.inspected", "seal.removed")
NUMBERS_SHOWN = 8
NUMBERS_AT = 7


@signed_in
def seals(request: HttpRequest) -> HttpResponse:
    """Show the stock of seals."""
    reader = reader_in(request)
    ledger_id, known = reader.ledger_id, names(reader.ledger_id)
    with_numbers = reader.may_read("findings")
    return listing(
        request,
        Listing(
            title=_("Seals"),
            lead=_("A seal is fitted once. Its number is read off the seal itself."),
            tables=(
                Table(
                    name="stock",
                    caption=_("Seals by series"),
                    headings=_headings(with_numbers),
                    rows=tuple(
                        _row(each, known)[: NUMBERS_AT + with_numbers]
                        for each in seals_stock(ledger_id)
                    ),
                    empty=_("No seal was issued."),
                ),
            ),
            links=forms_here(request, *FORMS),
            back=site_link(),
        ),
    )


def _headings(with_numbers: bool) -> tuple[Heading, ...]:
    """Return the headings; numbers still to be used only for those who watch."""
    every = headings(
        _("Series"),
        _("Issued to"),
        _("=Issued"),
        _("=Used and taken off"),
        _("=On vessels now"),
        _("=Not used yet"),
        _("=Void"),
        _("Not used yet: numbers"),
    )
    return every[: NUMBERS_AT + with_numbers]


def _row(each: SealSeries, known: Names) -> tuple[Cell, ...]:
    span = _("%(first)s to %(last)s") % {"first": each.first, "last": each.last}
    return (
        words(each.series, note=span),
        words(known.people(each.issued_to)),
        figure(each.count),
        figure(each.removed),
        figure(len(each.fitted)),
        figure(len(each.unused)),
        figure(len(each.void)),
        words(_some(each.unused)),
    )


def _some(numbers: Sequence[str]) -> str:
    """Return the first numbers, and how many more there are."""
    shown = ", ".join(numbers[:NUMBERS_SHOWN])
    more = len(numbers) - NUMBERS_SHOWN
    if more <= 0:
        return shown or "–"
    return _("%(shown)s and %(more)d more") % {"shown": shown, "more": more}
