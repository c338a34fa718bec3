"""Equipment: instruments and their calibration, vessels and seals, places, units."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from goldroom.faces.clock import now
from goldroom.reports.equipment import (
    Equipment,
    InstrumentNow,
    VesselNow,
    equipment,
)
from goldroom.reports.metal import site_clock
from goldroom.web.listing import (
    Cell,
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

FORMS = (
    "instrument.check_weighed",
    "instrument.calibrated",
    "instrument.registered",
    "instrument.moved",
    "vessel.registered",
    "place.registered",
    "concentrator.registered",
)


@signed_in
def things(request: HttpRequest) -> HttpResponse:
    """Show everything registered at the site."""
    reader = reader_in(request)
    ledger_id, may_count = reader.ledger_id, reader.may_read("vault")
    found = equipment(ledger_id, now=now(ledger_id))
    wall = site_clock(ledger_id).wall_text
    return listing(
        request,
        Listing(
            title=_("Equipment"),
            lead=_(
                "A balance that failed its check weight is blocked until it passes:"
                " nobody weighs on it."
            ),
            tables=(
                _instruments(found, wall),
                _vessels(found, may_count=may_count),
                _units(found),
                _places(found),
            ),
            links=forms_here(request, *FORMS),
            back=site_link(),
        ),
    )


def _instruments(found: Equipment, wall: Callable[[str], str]) -> Table:
    return Table(
        name="instruments",
        caption=_("Balances and other instruments"),
        headings=headings(
            _("Instrument"),
            _("Sort"),
            _("Where"),
            _("Shows up to, by"),
            _("Calibration due"),
            _("Last check weight"),
        ),
        rows=tuple(_instrument(each, wall) for each in found.instruments),
        empty=_("No instrument is registered."),
    )


def _instrument(each: InstrumentNow, wall: Callable[[str], str]) -> tuple[Cell, ...]:
    check = words("–")
    if each.check_seq is not None:
        address = reverse("entry", args=[each.check_seq])
        check = Cell(text=wall(each.checked_at), address=address)
    return (
        words(
            each.instrument,
            note=each.blocked or each.name,
            tag=_("blocked") if each.blocked else "",
        ),
        words(each.sort),
        words(each.place),
        words(each.shows or "–"),
        words(
            each.due or ("–" if each.sort == "oven" else _("never calibrated")),
            note=each.calibration,
            tag=_("out of date") if each.is_overdue else "",
        ),
        check,
    )


def _vessels(found: Equipment, *, may_count: bool) -> Table:
    """Return the vessels; how much is in each only for those who may count a vault."""
    return Table(
        name="vessels",
        caption=_("Vessels and the seals on them now"),
        headings=headings(
            _("Vessel"),
            _("Sort"),
            _("Where"),
            _("=Tare"),
            _("Seals"),
            *((_("=Items in it"),) if may_count else ()),
        ),
        rows=tuple(_vessel(each, may_count=may_count) for each in found.vessels),
        empty=_("No vessel is registered."),
    )


def _vessel(each: VesselNow, *, may_count: bool) -> tuple[Cell, ...]:
    points = "; ".join(
        _("%(point)s: %(seal)s") % {"point": point, "seal": seal or _("no seal")}
        for point, seal in each.points
    )
    asked = urlencode({"sort": "vessel", "thing": each.vessel})
    return (
        Cell(
            text=each.vessel,
            address=f"{reverse('journal')}?{asked}",
            note=each.name,
            tag=_("open") if each.is_open else "",
        ),
        words(each.sort),
        words(each.place),
        figure(each.tare),
        words(points or "–"),
        *((figure(len(each.contents) or None),) if may_count else ()),
    )


def _units(found: Equipment) -> Table:
    return Table(
        name="units",
        caption=_("Concentrators"),
        headings=headings(
            _("Concentrator"), _("Sort"), _("Goes to"), _("=Last flush on a sheet")
        ),
        rows=tuple(
            (
                words(each.unit, note=each.name),
                words(each.sort),
                words(each.goes_to),
                figure(each.last_flush),
            )
            for each in found.units
        ),
        empty=_("No concentrator is registered."),
    )


def _places(found: Equipment) -> Table:
    return Table(
        name="places",
        caption=_("Places"),
        headings=headings(_("Place"), _("Sort")),
        rows=tuple((words(each.name), words(each.sort)) for each in found.places),
        empty=_("No place is registered."),
    )
