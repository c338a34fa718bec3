"""Rooms: who is in which one now, by the entries of the door."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.reports.journal import Line, lines_of
from goldroom.reports.metal import site_clock
from goldroom.reports.occupancy import Present, RoomNow, occupancy
from goldroom.reports.people import Names, names
from goldroom.web.listing import (
    Cell,
    Listing,
    Table,
    entry_cell,
    forms_here,
    headings,
    listing,
    site_link,
    words,
)
from goldroom.web.page import reader_in, signed_in

FORMS = ("room.entered", "room.left")


@signed_in
def rooms(request: HttpRequest) -> HttpResponse:
    """Show who is in each room."""
    ledger_id = reader_in(request).ledger_id
    found = occupancy(ledger_id)
    lines = lines_of(ledger_id, (one.entry for each in found for one in each.present))
    known, wall = names(ledger_id), site_clock(ledger_id).wall_text
    tables = tuple(
        Table(
            name=f"room-{n}",
            caption=each.name,
            lead=_lead(each, wall(each.last_change_at)),
            headings=headings(_("Who"), _("In since"), _("With"), _("Entry")),
            rows=tuple(
                _row(one, wall(one.since), known, lines) for one in each.present
            ),
            empty=_("Nobody is in it."),
        )
        for n, each in enumerate(found)
    )
    return listing(
        request,
        Listing(
            title=_("Who is in which room"),
            lead=_(
                "By the entries of the door, and only as good as they are. In danger"
                " nobody waits for them: get out, get others out, count heads."
            ),
            tables=tables,
            links=forms_here(request, *FORMS),
            back=site_link(),
        ),
    )


def _lead(room: RoomNow, changed_at: str) -> str:
    told = _("Last change: %s.") % changed_at
    if room.is_one_alone:
        return _("One person is alone in it.") + " " + told
    return told


def _row(
    one: Present, since: str, known: Names, lines: dict[str, Line]
) -> tuple[Cell, ...]:
    line = lines.get(one.entry)
    escort = _("visitor, with %s") % known.person(one.escort) if one.is_visitor else ""
    return (
        words(one.name, note=one.organisation),
        words(since),
        words(escort or "–"),
        entry_cell(None if line is None else line.seq),
    )
