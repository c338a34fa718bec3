"""Refinery melts: mine and refinery side by side, what was decided, what is paid."""

from collections.abc import Iterator
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces.reader import Reader
from goldroom.reports.metal import grams_text, site_clock, standing_text
from goldroom.reports.people import Names, names
from goldroom.reports.settlement import MeltSettlement, MetalLine, settlements
from goldroom.reports.settlement_words import UNITS
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
    words,
)
from goldroom.web.page import needs, reader_in

FORMS = (
    "dispatch.melted",
    "assay.exchanged",
    "umpire.reported",
    "melt.settled",
    "refining_contract.set",
)


@needs("month")
def melts(request: HttpRequest) -> HttpResponse:
    """Show every refinery melt, the newest first."""
    reader = reader_in(request)
    found = settlements(reader.ledger_id)[::-1]
    known = names(reader.ledger_id)
    tables = [_overview(reader, found, known)]
    for each in found:
        tables += [_sides(each), _assays(each, known)]
    return listing(
        request,
        Listing(
            title=_("Refinery melts"),
            lead=_(
                "Mine and refinery side by side, in grams. A difference is judged by"
                " z, the difference over its uncertainty."
            ),
            tables=tuple(tables),
            links=forms_here(request, *FORMS),
            back=Link(name=_("Month end"), address=reverse("month")),
        ),
    )


def _overview(reader: Reader, found: tuple[MeltSettlement, ...], known: Names) -> Table:
    wall = site_clock(reader.ledger_id).wall_text
    return Table(
        name="melts",
        caption=_("All melts"),
        headings=headings(
            _("Melt"),
            _("Bars"),
            _("Melted at"),
            _("When"),
            _("Stands at"),
            _("Contract"),
        ),
        rows=tuple(
            (
                item_cell(each.melt),
                words(", ".join(each.bars)),
                words(known.place(each.refinery), note=each.shipment),
                words(wall(each.melted_at)),
                words(_(each.status)),
                words("–" if each.contract is None else each.contract.reference),
            )
            for each in found
        ),
        empty=_("No refinery melt is on record."),
    )


def _sides(melt: MeltSettlement) -> Table:
    masses = (
        words(_("Mass of the bars, g")),
        figure(_grams(melt.bars_g)),
        figure(_grams(melt.as_received_g)),
        figure(_difference(melt)),
        figure(""),
        words("–"),
        words(_passed(melt)),
    )
    return Table(
        name=f"sides-{melt.melt}",
        caption=_("%s: mine and refinery side by side") % melt.melt,
        headings=headings(
            _("What"),
            _("=Mine"),
            _("=Refinery"),
            _("=Difference"),
            _("=z"),
            _("Splitting limit"),
            _("Settled"),
        ),
        rows=(masses, *_metals(melt)),
        empty="",
    )


def _passed(melt: MeltSettlement) -> str:
    if melt.melt_loss_percent is None:
        return ""
    lost = _("after melting %(after)s g, %(percent)s %% less") % {
        "after": _grams(melt.after_melt_g),
        "percent": melt.melt_loss_percent,
    }
    if melt.contract is None:
        return lost
    let = _("the contract lets %s %% pass") % melt.contract.melt_loss_percent
    return f"{lost}; {let}"


def _metals(melt: MeltSettlement) -> Iterator[tuple[Cell, ...]]:
    for line in melt.metals:
        yield (
            words(_(line.metal.capitalize())),
            figure(line.mine),
            figure(line.refinery),
            figure(line.difference),
            figure(line.z),
            words(_limit(line, melt)),
            words(_settled(line)),
        )


def _limit(line: MetalLine, melt: MeltSettlement) -> str:
    """Return the limit of the contract, and how far the exchanged assays are apart."""
    if melt.contract is None:
        return "–"
    contract = melt.contract
    limits = {"gold": contract.gold_splitting, "silver": contract.silver_splitting}
    limit = limits[line.metal]
    said = f"{limit.limit} {_(UNITS[limit.unit])}"
    if line.decision is None or line.apart_permille is None:
        return said
    apart = _("apart %(apart)s ‰ of %(limit)s ‰") % {
        "apart": abs(line.apart_permille),
        "limit": line.decision.splitting_limit,
    }
    return f"{said}; {apart}"


def _settled(line: MetalLine) -> str:
    told = []
    if line.decision is not None and line.decision.settled is not None:
        told.append(f"{line.decision.settled} ‰")
    if line.payable_g is not None and line.credited_g is not None:
        told.append(_("payable %s g") % grams_text(line.payable_g))
        told.append(_("credited %s g") % grams_text(line.credited_g))
    return "; ".join(told) or "–"


def _assays(melt: MeltSettlement, known: Names) -> Table:
    return Table(
        name=f"assays-{melt.melt}",
        caption=_("%s: assays, the newest last") % melt.melt,
        headings=headings(
            _("Whose"), _("Laboratory"), _("Sample"), _("=Gold, ‰"), _("=Silver, ‰")
        ),
        rows=tuple(
            (
                words(standing_text(each.standing), note=each.method.replace("_", " ")),
                words(known.place(each.laboratory)),
                code(each.sample),
                figure(each.gold_permille),
                figure(each.silver_permille),
            )
            for each in melt.assays
        ),
        empty=_("No assay yet."),
    )


def _difference(melt: MeltSettlement) -> str:
    """Return the mine's mass less the refinery's, as received."""
    if melt.bars_g is None or melt.as_received_g is None:
        return ""
    return grams_text(melt.bars_g - melt.as_received_g)


def _grams(grams: Decimal | None) -> str:
    return "" if grams is None else grams_text(grams)
