"""A bar on paper, and the list of bars on hand.

The list is drawn straight on the page, row by row: it may be a thousand bars long.
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.platypus import Flowable, Paragraph

from goldroom.papers.frame import (
    BODY,
    BOLD,
    FONT,
    MARGIN,
    SMALL,
    WIDTH,
    Framed,
    Paper,
    code_of,
    code_of_mark,
    drawn,
    heading,
    shown,
    table,
    words,
)
from goldroom.papers.sheet_parts import (
    NOT_KNOWN,
    each_signed,
    number,
    shares,
    work_cautions,
)
from goldroom.reports.bar import BarAssay, BarReport
from goldroom.reports.entry import EntryTold, Mark
from goldroom.reports.metal import grams_text

NUMBER = ParagraphStyle("number", BODY, fontName=BOLD, fontSize=34, leading=42)
NONE_YET = "no number yet"
ESTIMATED = "estimated"

COLUMNS = (
    ("Number", 0.0, 0.14),
    ("Bar", 0.14, 0.28),
    ("Net mass, g", 0.28, 0.38),
    ("Gold, \u2030", 0.38, 0.48),
    ("Fine gold, g", 0.48, 0.61),
    ("Assay", 0.63, 0.75),
    ("Where", 0.76, 1.0),
)
"""Headings of the list, and from where to where each is set, in parts of its width."""

FLUSH_RIGHT = range(2, 5)
ROW_HEIGHT, SIZE = 13, 7.5
CELL = ParagraphStyle("listed", BODY, fontSize=SIZE, leading=9, spaceAfter=0)


def bar_certificate(
    report: BarReport, mark: Mark, entries: Sequence[EntryTold]
) -> bytes:
    """Return a bar's paper as PDF; `entries` are those of the report's `seqs`."""
    return drawn(
        Paper(
            title="Bar",
            about=f"Bar {report.item}, {report.status}",
            mark=mark,
            code=code_of(entries[-1]),
            figures=report,
        ),
        [
            words(report.stamped or NONE_YET, NUMBER),
            words(report.number_check),
            *_where(report),
            *_masses(report),
            *_assays(report),
            *_metal(report),
            *_sources(report),
            *work_cautions(("bar.numbered", "dispatch.handed_over")),
            *each_signed(entries),
        ],
    )


def _where(report: BarReport) -> list[Flowable]:
    here = report.where
    if here is None:
        return [words("Where it is was never said.")]
    parts = [each for each in (here.vessel, here.place) if each]
    seals = ", ".join(here.seals)
    sealed = f", sealed {seals}" if seals else ", under no seal" if here.vessel else ""
    return [
        heading("Where it is, as last said"),
        words(
            f"{', '.join(parts) or 'no place said'}{sealed}. {here.said},"
            f" {here.since}, signed by {', '.join(here.hands) or 'nobody'} (entry"
            f" {here.seq or NOT_KNOWN})."
        ),
    ]


def _masses(report: BarReport) -> list[Flowable]:
    if not report.masses:
        return [heading("Masses"), words("It was not weighed yet.")]
    *before, last = report.masses
    return [
        heading("Masses"),
        table(
            ("Weighed", "At", "Net mass, g", "Standard u, g", "Entry"),
            [
                (each.said, each.at, number(each.mass_g), each.u_g, str(each.seq or ""))
                for each in (*before, last)
            ],
            shares(4, 3, 2, 2, 1),
            right=(2, 3),
        ),
        words(f"It ships at {number(last.mass_g, 'g net')}, the newest of these."),
    ]


def _assays(report: BarReport) -> list[Flowable]:
    if not report.assays:
        return [heading("Assays"), words("No result was reported yet.")]
    return [
        heading("Assays, parts per thousand, with one standard uncertainty"),
        table(
            ("Standing", "Laboratory", "Way", "Sample", "Gold", "Silver", "Entry"),
            [
                (
                    each.standing,
                    each.laboratory or NOT_KNOWN,
                    _way(each),
                    each.sample,
                    _content(each.gold_permille, each.gold_limit, each.gold_u_permille),
                    _content(
                        each.silver_permille, each.silver_limit, each.silver_u_permille
                    ),
                    str(each.seq or ""),
                )
                for each in report.assays
            ],
            shares(2, 2.4, 2.2, 2.4, 2.4, 2.4, 1),
        ),
        *(words(each) for each in report.questions),
    ]


def _way(assay: BarAssay) -> str:
    many = assay.determinations
    return f"{assay.method}, mean of {many}" if many > 1 else assay.method


def _content(content: Decimal, limit: Decimal | None, u_permille: str) -> str:
    if limit is not None:
        return f"below {number(limit)}"
    return f"{content} \u00b1 {u_permille}"


def _metal(report: BarReport) -> list[Flowable]:
    charge = (
        f"By its charge: gold {report.by_charge_gold}, silver"
        f" {report.by_charge_silver}, estimated."
        if report.by_charge_gold is not None
        else "Nothing tells its fineness by its charge."
    )
    used = report.used
    if used is None:
        return [
            heading("Fine metal"),
            words(f"Not known: no result to go by. {charge}"),
        ]
    return [
        heading("Fine metal"),
        words(
            f"Fine gold {number(report.fine_gold_g, 'g')}, fine silver"
            f" {number(report.fine_silver_g, 'g')}: shipping mass x fineness / 1000, by"
            f" the result for {used.sample} of {used.laboratory or NOT_KNOWN}"
            f" ({used.standing})."
        ),
        words(charge),
    ]


def _sources(report: BarReport) -> list[Flowable]:
    charge = ", ".join(report.charge) or NOT_KNOWN
    blocks: list[Flowable] = [
        heading("Where its metal is from"),
        words(
            f"{report.identity} Poured from {charge}; {len(report.flushes)} flushes lie"
            " behind it by the direct way."
        ),
    ]
    if report.sources.groups:
        blocks.append(
            table(
                ("Source", "Share of gold", "Share of silver"),
                [
                    (e.group, str(e.gold or NOT_KNOWN), str(e.silver or NOT_KNOWN))
                    for e in report.sources.groups
                ],
                shares(3, 2, 2),
            )
        )
    if report.sources.provisional:
        waiting = ", ".join(report.sources.provisional)
        blocks.append(words(f"Resting on figures still to come: {waiting}.", SMALL))
    return blocks


@dataclass(frozen=True, kw_only=True)
class ListedBar:
    """A line of the list; masses are grams, fineness parts per thousand of gold."""

    stamped: str
    item: str
    mass_g: Decimal | None
    gold: str
    fine_gold_g: Decimal | None
    standing: str
    where: str


@dataclass(frozen=True, kw_only=True)
class ListedBars:
    """The list and its sums; `not_summed` have no mass or no fineness by assay."""

    bars: tuple[ListedBar, ...]
    mass_g: Decimal
    fine_gold_g: Decimal
    not_summed: tuple[str, ...]


def bars_paper(reports: Sequence[BarReport], mark: Mark) -> bytes:
    """Return the list of bars on hand as PDF."""
    listed = tuple(_listed(each) for each in reports)
    figures = ListedBars(
        bars=listed,
        mass_g=sum((e.mass_g for e in listed if e.mass_g is not None), Decimal(0)),
        fine_gold_g=sum(
            (e.fine_gold_g for e in listed if e.fine_gold_g is not None), Decimal(0)
        ),
        not_summed=tuple(
            e.item for e in listed if e.mass_g is None or e.fine_gold_g is None
        ),
    )
    paper = Paper(
        title="Bars on hand",
        about=f"{len(listed)} bars in the vault's balance. FOR NAMED READERS ONLY.",
        mark=mark,
        code=code_of_mark(mark),
        figures=figures,
    )
    into = io.BytesIO()
    pages = Framed(into, paper)
    at = _headed(pages)
    for row in _rows(figures):
        cells = [_cell(n, text) for n, text in enumerate(row)]
        height = max(
            [ROW_HEIGHT, *(e.height + 4 for e in cells if isinstance(e, Paragraph))]
        )
        if at - height < pages.bottom + ROW_HEIGHT:
            pages.showPage()
            at = _headed(pages)
        at = _row(pages, cells, at, height)
    for text in _notes(figures):
        pages.drawString(MARGIN, at - 2, text)
    pages.showPage()
    pages.save()
    return into.getvalue()


def _listed(report: BarReport) -> ListedBar:
    used, here = report.used, report.where
    by_charge = report.by_charge_gold
    gold = NOT_KNOWN if by_charge is None else by_charge.permille
    if used is not None:
        limit = used.gold_limit
        gold = str(used.gold_permille) if limit is None else f"below {number(limit)}"
    unused = "" if by_charge is None else ESTIMATED
    return ListedBar(
        stamped=report.stamped or NONE_YET,
        item=report.item,
        mass_g=report.shipping_mass_g,
        gold=gold,
        fine_gold_g=report.fine_gold_g,
        standing=unused if used is None else used.standing,
        where=NOT_KNOWN if here is None else here.vessel or here.place,
    )


def _rows(figures: ListedBars) -> Iterator[tuple[str, ...]]:
    """Yield the cells of each line, and of the sums at the end."""
    for each in figures.bars:
        yield (
            each.stamped,
            each.item,
            number(each.mass_g),
            each.gold,
            number(each.fine_gold_g),
            each.standing,
            each.where,
        )
    sums = (grams_text(figures.mass_g), "", grams_text(figures.fine_gold_g))
    yield ("Together", "", *sums, "", "")


def _notes(figures: ListedBars) -> Iterator[str]:
    """Yield what is to be said under the list."""
    if not figures.bars:
        yield "No bar is on hand."
    elif figures.not_summed:
        yield (
            "Not in the sum of fine gold, for want of a mass or an assay to go by:"
            f" {len(figures.not_summed)} of {len(figures.bars)}."
        )


def _headed(pages: Framed) -> float:
    """Start a page with the headings; return where its first row stands."""
    names = [name for name, _, _ in COLUMNS]
    return _row(pages, names, pages.top - 12, ROW_HEIGHT, font=BOLD)


def _cell(column: int, text: str) -> str | Paragraph:
    """Return a text as it is if it fits its column, else as lines; never a figure."""
    _, left, right = COLUMNS[column]
    room = WIDTH * (right - left) - 4
    said = shown(text)
    if column in FLUSH_RIGHT:
        return said
    if len(said) * SIZE <= room or pdfmetrics.stringWidth(said, FONT, SIZE) <= room:
        return said
    lines = words(text, CELL)
    lines.wrap(room, A4[1])
    return lines


def _row(
    pages: Framed,
    cells: Sequence[str | Paragraph],
    at: float,
    height: float,
    font: str = FONT,
) -> float:
    """Draw a line of the list and its rule; return where the next one stands."""
    pages.setFont(font, SIZE)
    for n, cell in enumerate(cells):
        _, left, right = COLUMNS[n]
        if isinstance(cell, Paragraph):
            cell.drawOn(pages, MARGIN + WIDTH * left, at + SIZE - cell.height)
        elif n in FLUSH_RIGHT:
            pages.drawRightString(MARGIN + WIDTH * right, at, cell)
        elif cell:
            pages.drawString(MARGIN + WIDTH * left, at, cell)
    rule = at + ROW_HEIGHT - 3.5 - height
    pages.line(MARGIN, rule, MARGIN + WIDTH, rule)
    return at - height
