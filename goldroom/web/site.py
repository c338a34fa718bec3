"""The site: where its standing things are read, by role."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from goldroom.web.page import page, reader_in, signed_in


@dataclass(frozen=True, kw_only=True)
class Part:
    """A page of the site's things: its name, what it tells, the subject it needs."""

    view: str
    name: str
    tells: str
    subject: str = ""


PARTS = (
    Part(
        view="rooms",
        name=gettext_noop("Who is in which room"),
        tells=gettext_noop("by the entries of the door"),
    ),
    Part(
        view="equipment",
        name=gettext_noop("Equipment"),
        tells=gettext_noop("balances, vessels, concentrators, places"),
    ),
    Part(
        view="seals",
        name=gettext_noop("Seals"),
        tells=gettext_noop("issued, on vessels, used, void"),
    ),
    Part(
        view="numbers",
        name=gettext_noop("Next numbers"),
        tells=gettext_noop("of bars, samples and seals"),
    ),
    Part(
        view="shipments",
        name=gettext_noop("Shipments"),
        tells=gettext_noop("boxes, seals, hands, papers"),
    ),
    Part(
        view="people",
        name=gettext_noop("People and keys"),
        tells=gettext_noop("roles, reporting lines, which entries a key may sign"),
    ),
    Part(
        view="limits",
        name=gettext_noop("Limits"),
        tells=gettext_noop("every limit, its default, who set it"),
        subject="limits",
    ),
    Part(
        view="exports",
        name=gettext_noop("Whole copies"),
        tells=gettext_noop("exports made, and their bundles"),
        subject="exports",
    ),
)


@signed_in
def site(request: HttpRequest) -> HttpResponse:
    """List the pages of the site's things that the reader may open."""
    reader = reader_in(request)
    parts = [
        (_(each.name), _(each.tells), reverse(each.view))
        for each in PARTS
        if not each.subject or reader.may_read(each.subject)
    ]
    return page(request, "site", {"title": _("Site"), "parts": parts})
