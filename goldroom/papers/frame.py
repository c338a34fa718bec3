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
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import reportlab
from reportlab.lib.colors import black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    Paragraph,
    SimpleDocTemplate,
    Table,
)

from goldroom.papers.attached import attach, figures_json
from goldroom.plots.qr import draw_qr
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.entry import EntryTold, Mark
from goldroom.statements.cautions import cautions_of

FONT, BOLD = "Vera", "VeraBd"
FONTS = Path(reportlab.__file__).parent / "fonts"
for _name in (FONT, BOLD):
    pdfmetrics.registerFont(TTFont(_name, FONTS / f"{_name}.ttf"))

MARGIN = 57
HEAD = 118
ABOVE, BELOW = 32, 26
"""White above the head and below the foot, in points."""

CODE_SIZE = 92
UNDER_HEADING = 90
"""Room that a heading wants on its page, itself counted, in points."""

LONGEST = 180
"""Characters of a title, a site or a subject that the head has room for."""

WIDTH = A4[0] - 2 * MARGIN

BODY = ParagraphStyle("body", fontName=FONT, fontSize=9, leading=12.5, spaceAfter=5)
HEADING = ParagraphStyle("heading", BODY, fontName=BOLD, fontSize=10.5, spaceBefore=8)
TITLE = ParagraphStyle(
    "title", BODY, fontName=BOLD, fontSize=15, leading=18, spaceAfter=2
)
INVENTED = ParagraphStyle("invented", BODY, fontName=BOLD, fontSize=10)
TINY = ParagraphStyle("tiny", BODY, fontSize=6.5, leading=8.5, spaceAfter=0)
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
    if text.isascii() and text.isprintable():
        return text
    known = pdfmetrics.getFont(FONT).face.charToGlyph
    return "".join(
        each if ord(each) in known or each == "\n" else f"[U+{ord(each):04X}]"
        for each in text
    )


def words(text: str, style: ParagraphStyle = BODY) -> Paragraph:
    """Return a paragraph of plain text."""
    return Paragraph(escape(shown(text)).replace("\n", "<br/>"), style)


def heading(text: str) -> Paragraph:
    """Return a heading; a paper keeps room under it for what follows to begin."""
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
        splitInRow=1,
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


class Leaf(Flowable):  # type: ignore[misc]
    """Says what this page and those that follow belong to, such as a form's number.

    It stands beside the page's number, which then counts the pages of this alone.
    """

    def __init__(self, name: str) -> None:
        """Name what begins on this page."""
        super().__init__()
        self.name = name

    def draw(self) -> None:
        """Tell the canvas."""
        self.canv.leaf = self.name


class Framed(Canvas):  # type: ignore[misc]
    """A canvas that puts a paper's head and foot on its pages, their number known."""

    def __init__(self, into: Any, paper: Paper, **given: Any) -> None:
        """Start with no page ended yet; what is drawn stays between head and foot."""
        given |= {"pagesize": A4, "invariant": 1}
        super().__init__(into, **given)
        self.setTitle(shown(paper.title))
        self.setAuthor(shown(paper.mark.site))
        self.setSubject(shown(paper.about))
        self._ended: list[dict[str, Any]] = []
        self._paper = paper
        self.leaf = ""
        self._head, self._foot = _head(paper), _foot(paper.mark)

    @property
    def top(self) -> float:
        """Return where the head ends, in points from the foot of the sheet."""
        return float(A4[1] - max(HEAD, ABOVE + _height(self._head) + 12))

    @property
    def bottom(self) -> float:
        """Return where the foot begins, in points from the foot of the sheet."""
        return float(BELOW + _height(self._foot) + 12)

    def showPage(self) -> None:
        """Keep the page until it is known how many there are."""
        self._ended.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Put head and foot on every page and the figures into the file."""
        ended = self._ended
        leaves = [state["leaf"] for state in ended]
        self.beginForm("code", 0, 0, CODE_SIZE, CODE_SIZE)
        draw_qr(self, self._paper.code, CODE_SIZE)
        self.endForm()
        for n, state in enumerate(ended):
            self.__dict__.update(state)
            self._frame(1 + leaves[:n].count(self.leaf), leaves.count(self.leaf))
            super().showPage()
        attach(self._doc, figures_json(self._paper.figures))
        super().save()

    def _frame(self, number: int, pages: int) -> None:
        at = A4[1] - ABOVE
        for each in self._head:
            at -= each.height
            each.drawOn(self, MARGIN, at)
            at -= each.style.spaceAfter
        self.saveState()
        self.translate(A4[0] - MARGIN - CODE_SIZE, A4[1] - 18 - CODE_SIZE)
        self.doForm("code")
        self.restoreState()
        self.line(MARGIN, self.bottom - 6, A4[0] - MARGIN, self.bottom - 6)
        at = self.bottom - 9
        for each in self._foot:
            at -= each.height
            each.drawOn(self, MARGIN, at)
        self.setFont(FONT, 8)
        named = f"{shown(self.leaf)}, " if self.leaf else ""
        self.drawRightString(
            A4[0] - MARGIN, BELOW + 2, f"{named}page {number} of {pages}"
        )


def drawn(paper: Paper, blocks: Sequence[Flowable]) -> bytes:
    """Return the paper as PDF."""
    into = io.BytesIO()
    frame = Framed(io.BytesIO(), paper)

    def pages(_: Any, **given: Any) -> Framed:
        return Framed(into, paper, **given)

    SimpleDocTemplate(
        into,
        pagesize=A4,
        leftMargin=MARGIN - 6,
        rightMargin=MARGIN - 6,
        topMargin=A4[1] - frame.top,
        bottomMargin=frame.bottom,
        title=shown(paper.title),
        author=shown(paper.mark.site),
        subject=shown(paper.about),
        invariant=1,
    ).build([*_in_full(paper), *_with_room(blocks)], canvasmaker=pages)
    return into.getvalue()


def _with_room(blocks: Iterable[Flowable]) -> Iterator[Flowable]:
    """Yield the blocks, each heading on a page that has room for more than itself.

    Kept with all that follows, a heading would leave half a page empty above a long
    table.
    """
    for each in blocks:
        if isinstance(each, Paragraph) and each.style is HEADING:
            yield CondPageBreak(UNDER_HEADING)
        yield each


def _head(paper: Paper) -> list[Paragraph]:
    """Return title, site and what it is about, beside the code and clear of it."""
    said = [
        words(_cut(paper.title), TITLE),
        words(_cut(paper.mark.site)),
        words(_cut(paper.about)),
    ]
    if paper.mark.is_demo:
        said.append(words("INVENTED: people, mine and figures", INVENTED))
    for each in said:
        each.wrap(WIDTH - CODE_SIZE - 8, A4[1])
    return said


def _cut(text: str) -> str:
    line = _line(text)
    return line if len(line) <= LONGEST else f"{line[:LONGEST]} ..."


def _line(text: str) -> str:
    return " ".join(shown(text).split())


def _in_full(paper: Paper) -> list[Paragraph]:
    """Return what the head had no room for, to stand on the first page."""
    said = (paper.title, paper.mark.site, paper.about)
    return [words(each) for each in said if len(_line(each)) > LONGEST]


def _foot(mark: Mark) -> list[Paragraph]:
    clock = SiteClock(mark.zone, "00:00")
    said = [
        f"Chain mark: {mark.origin}, size {mark.size}",
        f"Root {mark.root}",
        f"As known at {clock.wall_text(mark.known_at)} ({mark.zone}),"
        f" UTC {mark.known_at}",
    ]
    found = [words(each, TINY) for each in said]
    for each in found:
        each.wrap(WIDTH - 70, A4[1])
    return found


def _height(blocks: Sequence[Paragraph]) -> float:
    return float(sum(each.height + each.style.spaceAfter for each in blocks))
