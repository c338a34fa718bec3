"""The frame every paper stands in: head, foot, signers, code, attached figures.

A paper is a pure function of report objects:

    def some_paper(report: SomeReport, mark: Mark) -> bytes:
        return drawn(
            Paper(
                title="Some sheet",
                about="What it is about, in a sentence",
                mark=mark,
                code=code_of(entry),          # or code_of_mark(mark)
                figures=report,               # attached as JSON, see `attached`
            ),
            [
                heading("Masses"),
                table(("Scale", "Gross, g"), rows, widths=(240, 240)),
                words("A sentence."),
                *signed(entry),
                *cautions("bar.weighed"),
            ],
        )

All text given to these functions is plain: markup in it shows as text. Drawing again
from the same mark gives the same bytes. Letters that the font lacks (it holds the
Latin ones) show as their code, [U+0416]; the attached figures keep them as they are.
No tagging and no archive profile is claimed.
"""

import io
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import reportlab
from reportlab.graphics import renderPDF
from reportlab.lib.colors import black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Table

from goldroom.papers.attached import attach, figures_json
from goldroom.plots.qr import qr_drawing
from goldroom.reports.entry import EntryTold, Mark
from goldroom.statements.cautions import cautions_of

FONT, BOLD = "Vera", "VeraBd"
FONTS = Path(reportlab.__file__).parent / "fonts"
for _name in (FONT, BOLD):
    pdfmetrics.registerFont(TTFont(_name, FONTS / f"{_name}.ttf"))

MARGIN = 57
HEAD = 118
FOOT = 62
CODE_SIZE = 92
WIDTH = A4[0] - 2 * MARGIN

BODY = ParagraphStyle("body", fontName=FONT, fontSize=9, leading=12.5, spaceAfter=5)
HEADING = ParagraphStyle(
    "heading", BODY, fontName=BOLD, fontSize=10.5, spaceBefore=8, keepWithNext=1
)
SMALL = ParagraphStyle("small", BODY, fontSize=7, leading=9, wordWrap="CJK")


@dataclass(frozen=True, kw_only=True)
class Paper:
    """What stands on every page of a paper, and the figures attached to it."""

    title: str
    about: str
    mark: Mark
    code: str
    figures: Any


def code_of(entry: EntryTold) -> str:
    """Return what an entry's code holds: its number and half its leaf hash."""
    return f"GOLDROOM:ENTRY {entry.seq} {entry.leaf_hash[:32].upper()}"


def code_of_mark(mark: Mark) -> str:
    """Return what a mark's code holds: its size and half its root."""
    return f"GOLDROOM:MARK {mark.size} {mark.root_hex[:32].upper()}"


def shown(text: str) -> str:
    """Return text in letters the font has; any other as its code, [U+0416]."""
    known = pdfmetrics.getFont(FONT).face.charToGlyph
    return "".join(
        each if ord(each) in known or each == "\n" else f"[U+{ord(each):04X}]"
        for each in text
    )


def words(text: str, style: ParagraphStyle = BODY) -> Paragraph:
    """Return a paragraph of plain text."""
    return Paragraph(escape(shown(text)).replace("\n", "<br/>"), style)


def heading(text: str) -> Paragraph:
    """Return a heading that stays with what follows it."""
    return words(text, HEADING)


def table(
    headings: Sequence[str],
    rows: Iterable[Sequence[str]],
    widths: Sequence[float],
    *,
    right: Container[int] = (),
) -> Table:
    """Return a ruled table whose cells wrap; its headings stand on every page.

    The columns of these numbers, 0 the first, are set flush right.
    """
    head = ParagraphStyle("head", BODY, fontName=BOLD, fontSize=8, spaceAfter=0)
    cell = ParagraphStyle("cell", BODY, fontSize=8, leading=10.5, spaceAfter=0)

    def laid(row: Sequence[str], style: ParagraphStyle) -> list[Paragraph]:
        flush = ParagraphStyle("right", style, alignment=TA_RIGHT)
        return [words(t, flush if n in right else style) for n, t in enumerate(row)]

    return Table(
        [laid(headings, head), *(laid(row, cell) for row in rows)],
        colWidths=widths,
        repeatRows=1,
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.9, black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, black),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ],
        spaceAfter=8,
    )


def signed(entry: EntryTold) -> list[Flowable]:
    """Return who signed an entry, and which entry it is."""
    rows = [
        (
            each.name,
            each.role,
            each.meaning
            + (" (sealed key file: lower assurance)" if each.is_file_key else ""),
        )
        for each in entry.signers
    ]
    return [
        heading(f"Signed: entry {entry.seq}, {entry.title}"),
        table(("Name", "Role", "Meaning"), rows, (WIDTH / 3,) * 3),
        words(f"Entry id {entry.entry_id}\nLeaf hash {entry.leaf_hash}", SMALL),
    ]


def cautions(kind: str) -> list[Flowable]:
    """Return the usual cautions of a kind of work, or nothing."""
    found = cautions_of(kind)
    if not found:
        return []
    return [
        heading("Usual cautions"),
        *(words(f"{each.hazard}. {each.caution}") for each in found),
    ]


def drawn(paper: Paper, blocks: Sequence[Flowable]) -> bytes:
    """Return the paper as PDF."""

    class Pages(Canvas):  # type: ignore[misc]
        """A canvas that knows the number of its pages before it ends them."""

        def __init__(self, *args: Any, **given: Any) -> None:
            super().__init__(*args, **given)
            self._ended: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self._ended.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, state in enumerate(self._ended, 1):
                self.__dict__.update(state)
                _page(self, paper, number, len(self._ended))
                super().showPage()
            attach(self._doc, figures_json(paper.figures))
            super().save()

    into = io.BytesIO()
    SimpleDocTemplate(
        into,
        pagesize=A4,
        leftMargin=MARGIN - 6,
        rightMargin=MARGIN - 6,
        topMargin=HEAD,
        bottomMargin=FOOT,
        title=shown(paper.title),
        author=shown(paper.mark.site),
        subject=shown(paper.about),
        invariant=1,
    ).build(list(blocks), canvasmaker=Pages)
    return into.getvalue()


def _page(canvas: Canvas, paper: Paper, number: int, count: int) -> None:
    top = A4[1] - 48
    canvas.setFont(BOLD, 15)
    canvas.drawString(MARGIN, top, shown(paper.title))
    canvas.setFont(FONT, 9)
    canvas.drawString(MARGIN, top - 17, shown(paper.mark.site))
    if paper.mark.is_demo:
        canvas.setFont(BOLD, 10)
        canvas.drawString(MARGIN, top - 62, "INVENTED: people, mine and figures")
    about = words(paper.about)
    about.wrapOn(canvas, WIDTH - CODE_SIZE - 8, 30)
    about.drawOn(canvas, MARGIN, top - 22 - about.height)
    renderPDF.draw(
        qr_drawing(paper.code, CODE_SIZE),
        canvas,
        A4[0] - MARGIN - CODE_SIZE,
        A4[1] - 18 - CODE_SIZE,
    )
    mark = paper.mark
    canvas.line(MARGIN, FOOT - 8, A4[0] - MARGIN, FOOT - 8)
    canvas.setFont(FONT, 6.5)
    canvas.drawString(
        MARGIN,
        FOOT - 19,
        shown(f"Chain mark: {mark.origin}, size {mark.size}"),
    )
    canvas.drawString(
        MARGIN, FOOT - 30, f"Root {mark.root}; record as known at {mark.known_at}"
    )
    canvas.setFont(FONT, 8)
    canvas.drawRightString(A4[0] - MARGIN, FOOT - 30, f"page {number} of {count}")
