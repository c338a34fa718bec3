"""How a page is made: who may see it, what every page has, times as people read them.

A view takes a request that has a Reader and returns a response. `page` renders a
template; `needs` guards a subject. Refusals that reach here become a page that says
what to do.
"""

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.errors import Refusal
from goldroom.faces.reader import Reader, who_asks
from goldroom.faces.reading import NotForYou
from goldroom.roles import READING
from goldroom.web import unsent
from goldroom.web.refused import refused_page
from ledger.core.errors import LedgerRefusal
from ledger.errors import NoSuchEntry, NoSuchLedger, NoSuchProposal

View = Callable[..., HttpResponseBase]
REFUSALS = (Refusal, LedgerRefusal)
NOT_HERE = (NoSuchEntry, NoSuchLedger, NoSuchProposal)


def reader_in(request: HttpRequest) -> Reader:
    """Return who is asking; only views marked by `signed_in` may ask."""
    reader = who_asks(request)
    assert reader is not None, "the view is not marked as for signed-in people"
    return reader


def signed_in(view: View) -> View:
    """Let only signed-in people see a page; what cannot be shown says why."""

    @wraps(view)
    def seen(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if who_asks(request) is None:
            return to_sign_in(request)
        try:
            return view(request, *args, **kwargs)
        except NotForYou as refusal:
            return refused_page(request, refusal, status=403)
        except NOT_HERE as refusal:
            return refused_page(request, refusal, status=404)
        except REFUSALS as refusal:
            return refused_page(request, refusal, status=400)

    return seen


def needs(subject: str) -> Callable[[View], View]:
    """Let only those see a page whose roles may read the subject."""

    def guard(view: View) -> View:
        @wraps(view)
        def seen(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            check_may_read(reader_in(request), subject)
            return view(request, *args, **kwargs)

        return signed_in(seen)

    return guard


def check_may_read(reader: Reader, subject: str) -> None:
    """Refuse a subject that the reader's roles may not read. Raises NotForYou."""
    if not reader.may_read(subject):
        _, what = READING[subject]
        raise NotForYou(
            f"Only some roles read {what}. Ask the security manager if you need it"
            " for your work.",
        )


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """Send somebody to sign in, and afterwards back to where they wanted to go."""
    where = request.get_full_path() if request.method == "GET" else request.path
    typed = unsent.wrapped(request)
    if typed:
        return page(
            request,
            "session_over",
            {"next": where, "typed": typed, "title": _("You were signed out")},
            status=401,
        )
    asked = urlencode({"next": where})
    return HttpResponseRedirect(f"{reverse('sign_in')}?{asked}")


def page(
    request: HttpRequest,
    template: str,
    values: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    """Return a page of the template `web/<template>.html`."""
    return render(request, f"web/{template}.html", dict(values or {}), status=status)
