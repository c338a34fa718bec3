"""Numbers: which comes next for bars, samples and seals."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.faces.clock import now
from goldroom.reports.metal import site_clock
from goldroom.reports.series_next import series_next
from goldroom.web.listing import (
    Listing,
    Table,
    code,
    forms_here,
    headings,
    listing,
    site_link,
    words,
)
from goldroom.web.page import reader_in, signed_in


@signed_in
def numbers(request: HttpRequest) -> HttpResponse:
    """Show the next numbers of every series in force."""
    ledger_id = reader_in(request).ledger_id
    wall = site_clock(ledger_id).wall_text
    rows = tuple(
        (
            words(_(each.what), note=each.prefix),
            code(each.following[0]),
            code(", ".join(each.following[1:])),
            words(_("yes") if each.with_check else _("no")),
            words(wall(each.since)),
        )
        for each in series_next(ledger_id, now=now(ledger_id))
    )
    table = Table(
        name="numbers",
        caption=_("Series in force"),
        headings=headings(
            _("For"),
            _("Next number"),
            _("Then"),
            _("Check character"),
            _("In force since"),
        ),
        rows=rows,
        empty=_("No series is set. Say first how bars and samples are numbered."),
    )
    return listing(
        request,
        Listing(
            title=_("Next numbers"),
            lead=_(
                "A check character at the end of a number shows a slip of the pen: MOD"
                " 37,36 of ISO/IEC 7064."
            ),
            tables=(table,),
            links=forms_here(request, "number_series.set"),
            back=site_link(),
        ),
    )
