"""People: roles, reporting lines, keys and the entries they may sign."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.faces.clock import now
from goldroom.reports.site_people import SiteKey, SitePerson, site_people
from goldroom.web.listing import (
    Cell,
    Listing,
    Table,
    code,
    entry_cell,
    figure,
    forms_here,
    headings,
    listing,
    site_link,
    words,
)
from goldroom.web.page import reader_in, signed_in

FORMS = ("person.enrolled", "key.rotated", "key.revoked", "policy.set")


@signed_in
def people(request: HttpRequest) -> HttpResponse:
    """Show everybody enrolled, and their keys."""
    ledger_id = reader_in(request).ledger_id
    found = site_people(ledger_id, now=now(ledger_id))
    keys = [_key(each, key) for each in found for key in each.keys]
    return listing(
        request,
        Listing(
            title=_("People and keys"),
            lead=_(
                "Who may sign here, in which roles. Two signatures of an act at the"
                " bench are of different reporting lines."
            ),
            tables=(_persons(found), _keys(keys)),
            links=forms_here(request, *FORMS),
            back=site_link(),
        ),
    )


def _persons(found: tuple[SitePerson, ...]) -> Table:
    return Table(
        name="people",
        caption=_("People"),
        headings=headings(
            _("Name"),
            _("Roles"),
            _("Reporting line"),
            _("=Signed in 30 days"),
            _("=Valid keys"),
            _("Enrolled so by"),
        ),
        rows=tuple(
            (
                words(
                    each.name,
                    note=_("%s in files and commands") % each.person,
                    tag=_("a machine") if each.is_machine else "",
                ),
                words(", ".join(_(role) for role in each.roles) or "–"),
                words(each.line),
                figure(each.signed_lately),
                figure(sum(key.is_valid for key in each.keys)),
                entry_cell(each.since_seq),
            )
            for each in found
        ),
        empty=_("Nobody is enrolled."),
    )


def _keys(rows: list[tuple[Cell, ...]]) -> Table:
    return Table(
        name="keys",
        caption=_("Keys, and the entries that each may sign"),
        headings=headings(_("Key"), _("Of"), _("Stands"), _("Entries")),
        rows=tuple(rows),
        empty=_("Nobody has a key."),
    )


def _key(person: SitePerson, key: SiteKey) -> tuple[Cell, ...]:
    span = _("from %d on") % key.from_seq
    if key.until_seq is not None:
        span = _("%(first)d to %(last)d") % {
            "first": key.from_seq,
            "last": key.until_seq,
        }
    suspect = ""
    if key.suspect_from_seq is not None:
        suspect = _("to be looked at from entry %d on") % key.suspect_from_seq
    return (
        code(key.key_id),
        words(person.name),
        words(_("valid") if key.is_valid else _("ended")),
        words(span, note=suspect),
    )
