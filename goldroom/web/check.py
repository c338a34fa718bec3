"""Check: whether the record holds, the chain mark of now, and how others check it."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from goldroom.faces import verification
from goldroom.reports.entry import mark
from goldroom.reports.metal import site_clock
from goldroom.reports.trusted import policy_text
from goldroom.web.page import page, reader_in, signed_in


@signed_in
def check(request: HttpRequest) -> HttpResponse:
    """Show the last verdict, in detail for those who watch, and the chain mark."""
    reader = reader_in(request)
    last = verification.last_verdict(reader)
    wall = site_clock(reader.ledger_id).wall_text
    values = {
        "title": _("Check"),
        "last": last,
        "checked_at": "" if last is None else wall(last.checked_at),
        "may_see": reader.may_read("findings"),
        "mark": mark(reader.ledger_id),
        "policy": policy_text(reader.ledger_id),
        "never_proved": verification.never_proved(),
    }
    return page(request, "check", values)


@require_POST
@signed_in
def check_now(request: HttpRequest) -> HttpResponse:
    """Check the whole record, keep the verdict, and show it."""
    verification.check_whole_record(reader_in(request))
    return HttpResponseRedirect(reverse("check"))
