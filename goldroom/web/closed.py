"""Closed periods, and drawing up what closes one or restates it, to be signed."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from goldroom.errors import Refusal
from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.faces.reading import NotForYou
from goldroom.reports.closed_told import closed_told
from goldroom.reports.closing import closing, restatement
from goldroom.web.drafting import draft_of
from goldroom.web.page import needs, page, reader_in
from goldroom.web.periods import chosen_days

CLOSED, RESTATED = "period.closed", "period.restated"


class NoReason(Refusal):
    """A closed period was to be restated without a word of why."""

    code = "no_reason_given"


@needs("month")
def closed(request: HttpRequest) -> HttpResponse:
    """Show every closed period: as reported, as now known, what is left to post."""
    reader = reader_in(request)
    mine = may_say(reader)
    values = {
        "title": _("Closed periods"),
        "periods": closed_told(reader.ledger_id),
        "may_restate": RESTATED in mine,
        "may_post": "period.trued_up" in mine,
    }
    return page(request, "closed", values)


@require_POST
@needs("month")
def close(request: HttpRequest) -> HttpResponse:
    """Draw up the statement that closes a period, and go on to whoever signs it."""
    reader = reader_in(request)
    first, last = chosen_days(reader, request.POST.dict())
    data = closing(reader.ledger_id, first_day=first, last_day=last)
    return _on_to_sign(reader, CLOSED, data)


@require_POST
@needs("month")
def restate(request: HttpRequest) -> HttpResponse:
    """Draw up the statement that reports a closed period anew."""
    reader = reader_in(request)
    reason = request.POST.get("reason", "").strip()
    if not reason:
        raise NoReason(
            "A period is restated for a reason. Go back and write what became known.",
            field="reason",
        )
    period = request.POST.get("period", "")
    data = restatement(reader.ledger_id, period=period, reason=reason)
    return _on_to_sign(reader, RESTATED, data)


def _on_to_sign(
    reader: Reader, kind: str, data: Mapping[str, Any]
) -> HttpResponseRedirect:
    if kind not in may_say(reader):
        raise NotForYou(
            "Your roles do not sign this first. Ask the accountant to draw it up."
        )
    return HttpResponseRedirect(
        reverse("say_form", args=[kind, draft_of(reader, kind, data)])
    )
