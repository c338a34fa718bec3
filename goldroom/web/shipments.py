"""Shipments: what left when, in which boxes under which seals, in whose hands."""

from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces import shipping
from goldroom.reports.metal import grams_text
from goldroom.reports.shipment import ShipmentReport
from goldroom.reports.shipment_list import ShipmentLine
from goldroom.web.listing import (
    Cell,
    Link,
    Listing,
    Table,
    code,
    figure,
    forms_here,
    headings,
    item_cell,
    listing,
    site_link,
    words,
)
from goldroom.web.page import page, reader_in, signed_in

FORMS = ("dispatch.advised", "dispatch.handed_over", "dispatch.received")
STATUSES = {
    "advised": "announced, not left yet",
    "handed_over": "handed over",
    "received": "received",
    "melted": "melted at the refinery",
}


@signed_in
def shipments(request: HttpRequest) -> HttpResponse:
    """List the shipments that the reader may know of."""
    found = shipping.shipments(reader_in(request))
    table = Table(
        name="shipments",
        caption=_("Shipments, the newest first"),
        headings=headings(
            _("Shipment"),
            _("Stands at"),
            _("Last word"),
            _("=Bars"),
            _("To"),
            _("Carrier"),
        ),
        rows=tuple(_row(each) for each in found),
        empty=_("No shipment that you may read of."),
    )
    return listing(
        request,
        Listing(
            title=_("Shipments"),
            lead="",
            tables=(table,),
            links=forms_here(request, *FORMS),
            back=site_link(),
        ),
    )


def _row(each: ShipmentLine) -> tuple[Cell, ...]:
    return (
        Cell(text=each.shipment, address=reverse("shipment", args=[each.shipment])),
        words(_(STATUSES[each.status])),
        words(each.at),
        figure(each.bars),
        words(each.refinery),
        words(each.carrier),
    )


@signed_in
def shipment(request: HttpRequest, shipment_id: str) -> HttpResponse:
    """Show a shipment whole, with its papers."""
    report = shipping.shipment(reader_in(request), shipment_id)
    values = {
        "title": _("Shipment %s") % report.shipment,
        "report": report,
        "status": _(STATUSES[report.status]),
        "tables": (_bars(report), _boxes(report), _melts(report)),
        "back": Link(name=_("Shipments"), address=reverse("shipments")),
    }
    return page(request, "shipment", values)


def _bars(report: ShipmentReport) -> Table:
    return Table(
        name="bars",
        caption=_("Bars"),
        headings=headings(_("Bar"), _("Number"), _("=Mass, g"), _("=Gold"), _("Assay")),
        rows=tuple(
            (
                item_cell(each.item),
                code(each.stamped),
                figure(_grams(each.mass_g)),
                figure(each.gold),
                words(each.standing or "–"),
            )
            for each in report.bars
        ),
        empty="",
    )


def _boxes(report: ShipmentReport) -> Table:
    return Table(
        name="boxes",
        caption=_("Boxes as handed over"),
        headings=headings(
            _("Box"),
            _("Bars in it"),
            _("=Bars together, g"),
            _("=Gross, as displayed"),
            _("Seals"),
            _("=Gross at the refinery, g"),
        ),
        rows=tuple(
            (
                words(each.box, note=each.name),
                words(", ".join(bar.item for bar in each.bars)),
                figure(_grams(each.bars_g)),
                figure(each.gross),
                words(", ".join(f"{one.point}: {one.seal}" for one in each.seals)),
                figure(_grams(each.received_gross_g)),
            )
            for each in report.boxes
        ),
        empty=_("Nothing was handed over yet."),
    )


def _melts(report: ShipmentReport) -> Table:
    return Table(
        name="melts",
        caption=_("Melted at the refinery"),
        headings=headings(
            _("Melt"), _("=After melting, g"), _("=Gold, ‰"), _("Whose assay")
        ),
        rows=tuple(
            (
                item_cell(each.melt),
                figure(_grams(each.after_melt_g)),
                figure(each.gold_permille),
                words(each.standing, note=each.report),
            )
            for each in report.melts
        ),
        empty=_("Nothing was melted yet."),
    )


def _grams(grams: Decimal | None) -> str:
    return "" if grams is None else grams_text(grams)
