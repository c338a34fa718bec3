"""Finding a thing by what is written on it, and going to its page."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from goldroom.reports.find import Match, Matches
from goldroom.reports.find import find as find_report
from goldroom.web.page import page, reader_in, signed_in


@signed_in
def find(request: HttpRequest) -> HttpResponse:
    """Go to the one thing that bears what was typed, or show what might be meant."""
    typed = request.GET.get("q", "").strip()[:80]
    found = find_report(reader_in(request).ledger_id, typed)
    if len(found.exact) == 1:
        return HttpResponseRedirect(address_of(found.exact[0]))
    return found_page(request, typed, found)


def found_page(request: HttpRequest, typed: str, found: Matches) -> HttpResponse:
    """Let one of several things be chosen that bear a text, or begin like it."""
    matches = found.exact or found.like_it
    values = {
        "title": _("Find"),
        "q": typed,
        "matches": [(each, address_of(each)) for each in matches],
        "is_exact": bool(found.exact),
    }
    return page(request, "find", values)


def address_of(match: Match) -> str:
    """Return the address of a thing: its page, or the entries that speak of it."""
    if match.record == "entry":
        return reverse("entry", args=[match.key])
    if match.record == "item":
        return reverse("item", args=[match.key])
    asked = urlencode({"sort": match.record, "thing": match.key})
    return f"{reverse('journal')}?{asked}"
