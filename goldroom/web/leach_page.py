"""Leach batches with their accounts, and the solution calls of the cells."""

from collections.abc import Iterable, Iterator

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.reports.leach import LeachMetal, LeachPart, LeachReport
from goldroom.reports.leach_batches import leach_batches
from goldroom.reports.leach_words import STATUS_WORDS
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.solution_calls_told import CallRow, solution_calls_told
from goldroom.web.listing import (
    Cell,
    Link,
    Listing,
    Table,
    figure,
    headings,
    item_cell,
    listing,
    words,
)
from goldroom.web.page import needs, reader_in


@needs("month")
def leach(request: HttpRequest) -> HttpResponse:
    """Show every batch's account, and every solution call."""
    ledger_id = reader_in(request).ledger_id
    batches, known = leach_batches(ledger_id), names(ledger_id)
    wall = site_clock(ledger_id).wall_text
    overview = tuple(
        (
            item_cell(each.batch),
            words(known.vessel(each.vessel)),
            words(wall(each.charged_at)),
            words(
                _(STATUS_WORDS[each.status]),
                tag=_("provisional") if each.is_provisional else "",
            ),
            Cell(text=_("The paper (PDF)"), address=_paper(each)),
        )
        for each in batches
    )
    tables = [_batches(overview)]
    for each in batches:
        tables += [_account(each), _parts(each)]
    tables.append(_calls(solution_calls_told(ledger_id)))
    return listing(
        request,
        Listing(
            title=_("Leach batches and solution calls"),
            lead=_(
                "What went into each batch, what came out of it, and what the cells"
                " should hold by volume and assay. Figures with one standard"
                " uncertainty."
            ),
            tables=tuple(tables),
            back=Link(name=_("Month end"), address=reverse("month")),
        ),
    )


def _paper(batch: LeachReport) -> str:
    return reverse("paper_leach", args=[batch.batch])


def _batches(found: tuple[tuple[Cell, ...], ...]) -> Table:
    return Table(
        name="batches",
        caption=_("Leach batches"),
        headings=headings(
            _("Leach batch"), _("Vessel"), _("Charged"), _("Stands at"), _("Paper")
        ),
        rows=found,
        empty=_("No leach batch was charged."),
    )


def _account(batch: LeachReport) -> Table:
    left = _("=Unaccounted") if batch.has_ended else _("=In the vessel, by difference")
    return Table(
        name=f"account-{batch.batch}",
        caption=_("%s: its account") % batch.batch,
        headings=headings(
            _("Metal"),
            _("=Charged"),
            _("=In solution"),
            _("=In the residue"),
            left,
            _("=Head, calculated"),
            _("=Leached, of the calculated head"),
            _("=Calculated of the assayed head"),
        ),
        rows=tuple(_metal(each) for each in batch.metals),
        empty="",
    )


def _metal(line: LeachMetal) -> tuple[Cell, ...]:
    return (
        words(_(line.metal.capitalize())),
        figure(line.charged),
        figure(line.dissolved),
        figure(line.residue),
        figure(line.left),
        figure(line.calculated_head),
        figure(line.recovery),
        figure(line.accountability),
    )


def _parts(batch: LeachReport) -> Table:
    return Table(
        name=f"parts-{batch.batch}",
        caption=_("%s: what went in and what came out") % batch.batch,
        headings=headings(
            _("Item"), _("Which way"), _("=Volume, L"), _("=Gold"), _("=Silver")
        ),
        rows=(
            *_rows(batch.charged, _("charged")),
            *_rows(batch.solutions, _("drained")),
            *_rows(batch.samples, _("sampled")),
            *_rows(batch.residues, _("residue")),
        ),
        empty="",
    )


def _rows(parts: Iterable[LeachPart], way: str) -> Iterator[tuple[Cell, ...]]:
    for part in parts:
        yield (
            item_cell(part.item),
            words(way, tag=_("provisional") if part.is_provisional else ""),
            figure(part.litres),
            figure(part.gold),
            figure(part.silver),
        )


def _calls(found: tuple[CallRow, ...]) -> Table:
    return Table(
        name="calls",
        caption=_("Solution calls"),
        lead=_(
            "Called is what was put in by volume and assay, less what was drawn off;"
            " found is the sludge, dried and assayed. A call stands open while a"
            " solution or a sludge has no result."
        ),
        headings=headings(
            _("Load"),
            _("Metal"),
            _("Cleaned"),
            _("=Called"),
            _("=Found"),
            _("=Called less found"),
            _("=Of the call"),
        ),
        rows=tuple(_call(each) for each in found),
        empty=_("No cell has been run."),
    )


def _call(row: CallRow) -> tuple[Cell, ...]:
    waits = _("no result yet: %s") % ", ".join(row.waiting) if row.waiting else ""
    return (
        Cell(text=row.load, address=reverse("item", args=[row.load]), note=row.cell),
        words(_(row.metal), tag=_("provisional") if row.is_provisional else ""),
        words(row.cleaned_at or _("still in the cell"), note=waits),
        figure(row.called),
        figure(row.found),
        figure(row.missing),
        figure(row.percent),
    )
