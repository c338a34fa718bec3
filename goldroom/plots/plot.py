"""What a plot is: a drawing, the sentence that tells it, and its figures as a table."""

from dataclasses import dataclass
from decimal import Decimal

from reportlab.graphics.shapes import Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color, HexColor, white

WIDTH = 480
"""Points: the text width of an upright A4 page."""

INK: Color = HexColor("#1a1a1a")
TEAL: Color = HexColor("#0b5c5c")
PALE_TEAL: Color = HexColor("#cfe2e0")
GREY: Color = HexColor("#595959")
PALE: Color = HexColor("#d9d9d9")
FONT, BOLD = "Helvetica", "Helvetica-Bold"
TEXT_SIZE = 12
LEAST_GRAMS = 1


@dataclass(frozen=True)
class Plot:
    """A drawing with what it shows in words and as rows of text."""

    name: str
    drawing: Drawing
    sentence: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def whole_grams(grams: Decimal) -> str:
    """Return grams as a drawing says them: whole ones, for the table is exact.

    A milligram beside an uncertainty of many grams only looks known.
    """
    if 0 < abs(grams) < LEAST_GRAMS:
        return f"under {LEAST_GRAMS} g"
    return f"{grams:.0f} g"


def text(
    drawing: Drawing,
    at: tuple[float, float],
    words: str,
    anchor: str = "start",
    *,
    size: float = TEXT_SIZE,
    font: str = FONT,
) -> None:
    """Write words at a point: start, middle or end of them there."""
    drawing.add(
        String(
            *at,
            words,
            fontName=font,
            fontSize=size,
            fillColor=INK,
            textAnchor=anchor,
        )
    )


def line(
    drawing: Drawing,
    ends: tuple[float, float, float, float],
    colour: Color = INK,
    dashes: tuple[int, ...] | None = None,
) -> None:
    """Draw a line, with dashes if any are given."""
    drawing.add(
        Line(*ends, strokeColor=colour, strokeWidth=1.2, strokeDashArray=dashes)
    )


def haloed(drawing: Drawing, points: tuple[float, ...]) -> None:
    """Draw an ink line through points, on paper that keeps it clear of what it crosses.

    `points` are x and y by turns.
    """
    for colour, width in ((white, 4), (INK, 1.2)):
        drawing.add(PolyLine(list(points), strokeColor=colour, strokeWidth=width))


def hatched(
    drawing: Drawing,
    corner: tuple[float, float],
    size: tuple[float, float],
    gap: float = 6,
) -> None:
    """Fill a rectangle with slanting ink lines, `gap` apart, that end at its edges."""
    (left, low), (wide, high) = corner, size
    for n in range(1, int((wide + high) / gap) + 1):
        along = n * gap
        if along >= wide + high:
            continue
        start = (left + max(0.0, along - high), low + min(along, high))
        end = (left + min(along, wide), low + max(0.0, along - wide))
        line(drawing, (*start, *end))


def box(
    drawing: Drawing,
    corner: tuple[float, float],
    size: tuple[float, float],
    fill: Color = white,
    dashes: tuple[int, ...] | None = None,
) -> None:
    """Draw a rectangle with an ink edge."""
    drawing.add(
        Rect(
            *corner,
            *size,
            fillColor=fill,
            strokeColor=INK,
            strokeWidth=1,
            strokeDashArray=dashes,
        )
    )


def diamond(drawing: Drawing, x: float, y: float, half: float) -> None:
    """Draw an open diamond round a point."""
    drawing.add(
        Polygon(
            [x - half, y, x, y + half, x + half, y, x, y - half],
            fillColor=white,
            strokeColor=INK,
            strokeWidth=1.5,
        )
    )
