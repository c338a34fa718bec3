"""Pages for what cannot be shown or done: each says why and what to do next."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from goldroom.errors import Refusal
from ledger.core.errors import LedgerRefusal


def refused_page(
    request: HttpRequest, refusal: Refusal | LedgerRefusal, *, status: int
) -> HttpResponse:
    """Return a page with a refusal's own words."""
    titles = {403: _("Not for your roles"), 404: _("Nothing here by that name")}
    title = titles.get(status, _("This cannot be done so"))
    return _answer(request, title, refusal.message, status)


def bad_request(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer a request that cannot be read."""
    said = _("The request could not be read. Go back, reload the page and try again.")
    return _answer(request, _("This could not be read"), said, 400)


def forbidden(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer a request that is not allowed, a lock after failed tries among them."""
    said = _(
        "This is not open to you as you are signed in. If you tried passphrases too"
        " often, wait 15 minutes. Otherwise ask the security manager."
    )
    return _answer(request, _("Not open to you"), said, 403)


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that comes from a page of an earlier or another sign-in."""
    said = _(
        "The page was from before you signed in, or from another site, so nothing was"
        " done. Go back, reload the page and send it again: what you typed is kept"
        " under Today, where it says 'kept here, not yet recorded'."
    )
    return _answer(request, _("This page is out of date"), said, 403)


def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer an address that leads nowhere."""
    said = _(
        "No page has this address. Check it, or begin again from Today; things of the"
        " record are found by the journal."
    )
    return _answer(request, _("No such page"), said, 404)


def broken(request: HttpRequest) -> HttpResponse:
    """Answer when the program itself fails; nothing acknowledged is lost."""
    said = _(
        "The program failed at this. What was recorded is safe; look in the journal"
        " whether your last act is there before you say it again. If it goes on, use"
        " a numbered paper form and tell whoever runs this server."
    )
    return _answer(request, _("Something failed here"), said, 500)


def _answer(request: HttpRequest, title: str, said: str, status: int) -> HttpResponse:
    values = {"title": title, "said": said, "status": status}
    return render(request, "web/refused.html", values, status=status)
