"""Custody over time: a lane for each place, a tick for each act, hatching for gaps.

Time runs evenly from act to act rather than by the clock where acts crowd: each
stretch has at least the width of its tick, the rest is shared by the square root of
its length, so that an hour in the room shows beside a week in the safe.
"""

from datetime import timedelta
from math import sqrt

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import white

from goldroom.plots.plot import GREY, INK, TEAL, WIDTH, Plot, line, text
from goldroom.reconcile.production_days import SiteClock, moment
from goldroom.reports.lanes import NOBODY, SEALED, Lanes, Stretch

LANE = 36
HEAD, FOOT = 44, 66
BAR = 16
LEAST = 7.0
HATCH_EVERY = 6
ONGOING = timedelta(days=1)
COVER_WORDS = {"sealed": "under seal", "people": "people, no seal", "nobody": "nobody"}
HEADINGS = ("From", "Until", "Place", "Vessel", "Seals", "Put there by", "Entry")


def lanes_plot(found: Lanes, clock: SiteClock) -> Plot:
    """Return the custody of an item as lanes; times are the site's."""
    count = max(1, len(found.places))
    height = HEAD + LANE * count + FOOT
    drawing = Drawing(WIDTH, height)
    name = found.label or found.item
    text(drawing, (0, height - 14), f"{name}: where it was, and what stood for it")
    if found.stretches:
        _draw(drawing, found, clock, height)
    _legend(drawing)
    rows = tuple(
        (
            clock.wall_text(each.from_at),
            clock.wall_text(each.until) if each.until else "",
            each.place,
            each.vessel,
            ", ".join(each.seals) or "not sealed",
            each.hands,
            "" if each.seq is None else str(each.seq),
        )
        for each in found.stretches
    )
    return Plot("custody", drawing, _sentence(found, name), HEADINGS, rows)


def _draw(drawing: Drawing, found: Lanes, clock: SiteClock, height: int) -> None:
    edges = _edges(found.stretches)
    tops = {place: height - HEAD - LANE * n for n, place in enumerate(found.places)}
    for place, top in tops.items():
        text(drawing, (0, top - 12), place)
        line(drawing, (0, top - LANE + 2, WIDTH, top - LANE + 2), GREY, (1, 3))
    for each, left, right in zip(found.stretches, edges, edges[1:], strict=False):
        _stretch(drawing, each, (left, right), tops[each.place] - LANE + 4)
    first, last = found.stretches[0], found.stretches[-1]
    text(drawing, (0, FOOT - 16), clock.wall_text(first.from_at))
    if len(found.stretches) > 1:
        until = last.until or last.from_at
        text(drawing, (WIDTH, FOOT - 16), clock.wall_text(until), "end")


def _stretch(
    drawing: Drawing, each: Stretch, span: tuple[float, float], bottom: float
) -> None:
    left, right = span
    is_sealed = each.cover == SEALED
    drawing.add(
        Rect(
            left,
            bottom,
            right - left,
            BAR,
            fillColor=TEAL if is_sealed else white,
            strokeColor=INK,
            strokeWidth=1,
            strokeDashArray=(2, 2) if each.cover == NOBODY else None,
        )
    )
    if each.cover == NOBODY:
        at = left + HATCH_EVERY
        while at < right:
            line(drawing, (max(left, at - BAR / 2), bottom, at, bottom + BAR), INK)
            at += HATCH_EVERY
    line(drawing, (left, bottom - 3, left, bottom + BAR + 3))


def _edges(stretches: tuple[Stretch, ...]) -> list[float]:
    """Return where each stretch begins, and where the last one ends, in points."""
    lengths = []
    for each in stretches:
        until = moment(each.until) if each.until else moment(each.from_at) + ONGOING
        seconds = max(0.0, (until - moment(each.from_at)).total_seconds())
        lengths.append(sqrt(seconds))
    least = min(LEAST, WIDTH / len(stretches))
    spare = WIDTH - least * len(stretches)
    whole = sum(lengths) or 1.0
    edges = [0.0]
    for length in lengths:
        edges.append(edges[-1] + least + spare * length / whole)
    return edges


def _legend(drawing: Drawing) -> None:
    across = WIDTH / len(COVER_WORDS)
    for n, (cover, word) in enumerate(COVER_WORDS.items()):
        left = across * n
        each = Stretch(
            place="", vessel="", from_at="", until="", act="", seq=None,
            seals=(), hands="", cover=cover,
        )  # fmt: skip
        _stretch(drawing, each, (left + 2, left + 26), 8)
        text(drawing, (left + 32, 11), word)


def _sentence(found: Lanes, name: str) -> str:
    if not found.stretches:
        return f"Nothing is recorded of where {name} was."
    gaps = [each for each in found.stretches if each.cover == NOBODY]
    places = len(found.places)
    where = "one place" if places == 1 else f"{places} places"
    acts = len(found.stretches)
    moved = "one act" if acts == 1 else f"{acts} acts"
    said = f"{name} was in {where}, put there by {moved}, each signed by two."
    if not gaps:
        return f"{said} At every time it was under seal or in the charge of people."
    word = "stretch" if len(gaps) == 1 else "stretches"
    return f"{said} {len(gaps)} {word} with nobody and no seal, hatched."
