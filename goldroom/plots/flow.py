"""Gold's way through the gold room: widths are grams, from the circuit to the vault."""

from decimal import Decimal
from itertools import pairwise

from reportlab.graphics.shapes import Drawing, Path, Polygon, PolyLine
from reportlab.lib.colors import Color, white
from reportlab.pdfbase.pdfmetrics import stringWidth

from goldroom.plots.flow_layout import (
    BAR_HALF,
    GAP,
    ROOM,
    TAB,
    THINNEST,
    Layout,
    Level,
    Slot,
    laid_out,
    turn_of,
)
from goldroom.plots.flow_steps import (
    HELD,
    IN,
    OUT,
    UNACCOUNTED,
    Branch,
    Way,
    said_sort,
    said_step,
    steps_of,
    ways_of,
)
from goldroom.plots.plot import (
    BOLD,
    FONT,
    GREY,
    INK,
    PALE_TEAL,
    TEAL,
    WIDTH,
    Plot,
    box,
    haloed,
    hatched,
    line,
    text,
    whole_grams,
)
from goldroom.reconcile.amounts import shown_u
from goldroom.reconcile.network import CLOSING, OPENING
from goldroom.reports.flow import Edge, Flow

HEADINGS = ("From", "To", "Material", "g", "Standard uncertainty, g")
NOTHING_SAID = "No gold was held, came in or went out in these days."

LEFT, WORDS, RIGHT = 8.0, 208.0, WIDTH - 4.0
SIZE, LEAST_SIZE, DROP = 16, 11, 5.5
"""Sizes of words, and how far their foot lies below the middle of their row."""

FOOT, SCALE_Y = 58, 36
"""Height under the steps for the scale and its words, and where the scale lies."""

FILLS: dict[str, Color] = {HELD: white, OUT: GREY, IN: PALE_TEAL, UNACCOUNTED: white}
BEND_STEEPNESS = 0.5


def flow_plot(flow: Flow) -> Plot:
    """Return the period's gold as ribbons between steps, with branches in and out."""
    return Plot("flow", _drawing(flow), _sentence(flow), HEADINGS, _table(flow))


def _drawing(flow: Flow) -> Drawing:
    steps, ways = steps_of(flow), ways_of(flow)
    if not steps:
        drawing = Drawing(WIDTH, 40)
        text(drawing, (LEFT, 14), NOTHING_SAID, size=SIZE)
        return drawing
    layout = laid_out(steps, ways, LEFT)
    drawing = Drawing(WIDTH, layout.height + FOOT + 6)
    for level in layout.levels:
        level.y, level.top = level.y + FOOT, level.top + FOOT
        level.bottom += FOOT
    for way in ways:
        if not layout.is_back(way):
            _ribbon(drawing, layout, way)
    for way in ways:
        if layout.is_back(way):
            _way_back(drawing, layout, way)
    for level in layout.levels:
        _step(drawing, layout, level)
    _foot(drawing, layout)
    return drawing


def _ribbon(drawing: Drawing, layout: Layout, way: Way) -> None:
    """Draw a way on: straight past the rows of words, bent between two steps."""
    start, end = layout.level(way.from_name), layout.level(way.to_name)
    stretch = layout.levels[layout.levels.index(start) : layout.levels.index(end) + 1]
    edges = []
    for level in stretch:
        slot = _slot_of(way, level, is_end=level is end)
        top = level.y - BAR_HALF if level is start else level.top
        low = level.y + BAR_HALF if level is end else level.bottom
        edges += [(slot.x, slot.wide, top), (slot.x, slot.wide, low)]
    left = [(x, y) for x, _wide, y in edges]
    right = [(x + wide, y) for x, wide, y in edges]
    is_plain = way.grams > 0
    path = Path(
        fillColor=PALE_TEAL if is_plain else white,
        strokeColor=TEAL if is_plain else INK,
        strokeWidth=1.2,
        strokeDashArray=None if is_plain else (3, 2),
    )
    path.moveTo(*left[0])
    _follow(path, left)
    path.lineTo(*right[-1])
    _follow(path, right[::-1])
    path.closePath()
    drawing.add(path)


def _follow(path: Path, points: list[tuple[float, float]]) -> None:
    """Draw on through points: straight down, or bent where they lie aside."""
    for (x, y), (to_x, to_y) in pairwise(points):
        half = (to_y - y) * BEND_STEEPNESS
        path.curveTo(x, y + half, to_x, to_y - half, to_x, to_y)


def _slot_of(way: Way, level: Level, *, is_end: bool) -> Slot:
    slots = level.above if is_end else (*level.below, *level.passing)
    return next(slot for slot in slots if slot.thing == way)


def _way_back(drawing: Drawing, layout: Layout, way: Way) -> None:
    """Draw a way to an earlier step: down, aside, and up at the far left."""
    start, end = layout.level(way.from_name), layout.level(way.to_name)
    out = _slot_of(way, start, is_end=False)
    into = _slot_of(way, end, is_end=True)
    lane = layout.lanes[way.from_name, way.to_name]
    low = start.y - turn_of(start.below, out) + out.wide / 2
    high = end.y + turn_of(end.above, into) - out.wide / 2
    points = [out.middle, start.y - BAR_HALF, out.middle, low, lane, low]
    points += [lane, high, into.middle, high, into.middle, end.y + BAR_HALF]
    for colour, wide in ((white, out.wide + 4), (GREY, out.wide)):
        drawing.add(
            PolyLine(points, strokeColor=colour, strokeWidth=wide, strokeLineJoin=1)
        )
    if out.wide >= 6:
        half, y = out.wide / 3, (low + high) / 2
        tip = [lane - half, y, lane, y + 2 * half, lane + half, y]
        drawing.add(Polygon(tip, fillColor=white, strokeColor=None))


def _step(drawing: Drawing, layout: Layout, level: Level) -> None:
    """Draw a step's bar and name, its branches, and a row of words for each slot."""
    box(
        drawing,
        (level.x - 2, level.y - BAR_HALF),
        (level.right - level.x + 4, 2 * BAR_HALF),
        INK,
    )
    line(drawing, (level.right + 2, level.y, WORDS - 4, level.y))
    name = level.step.name
    ends = ("", "" if level.step.is_balanced else " (not balanced)")
    _words(drawing, level.y, _fitted(name, ends, "", BOLD), "", font=BOLD)
    for slot, y in level.told_above:
        _leader(drawing, level, slot, y)
        _branch(drawing, slot, level.y + BAR_HALF + TAB)
        _told(drawing, slot, y)
    for slot, y in level.told_below:
        is_back = isinstance(slot.thing, Way) and layout.is_back(slot.thing)
        (_leader_back if is_back else _leader)(drawing, level, slot, y)
        if isinstance(slot.thing, Branch):
            _branch(drawing, slot, level.y - BAR_HALF)
        _told(drawing, slot, y, is_back=is_back)


def _leader(drawing: Drawing, level: Level, slot: Slot, y: float) -> None:
    """Draw the line from a branch's end, or from a ribbon's side, to a row of words."""
    if isinstance(slot.thing, Branch):
        reach = BAR_HALF + TAB
        end = level.y + (reach if y > level.y else -reach)
        haloed(drawing, (slot.middle, end, slot.middle, y, WORDS - 4, y))
    else:
        haloed(drawing, (slot.x + slot.wide + 0.6, y, WORDS - 4, y))


def _leader_back(drawing: Drawing, level: Level, slot: Slot, y: float) -> None:
    """Draw the line from where a way turns back to its row of words."""
    low = level.y - turn_of(level.below, slot)
    if y < low:
        haloed(drawing, (slot.x, low, slot.x, y, WORDS - 4, y))
    else:
        haloed(drawing, (slot.x + slot.wide + 0.6, y, WORDS - 4, y))


def _branch(drawing: Drawing, slot: Slot, top: float) -> None:
    """Draw a branch from its top down: a tab whose point shows the way gold takes."""
    assert isinstance(slot.thing, Branch)
    is_open = slot.thing.sort == UNACCOUNTED
    point = min(5.0, slot.wide / 2)
    shoulder, low = top - TAB + point, top - TAB
    left, right = slot.x, slot.x + slot.wide
    drawing.add(
        Polygon(
            [left, top, right, top, right, shoulder, slot.middle, low, left, shoulder],
            fillColor=FILLS[slot.thing.sort],
            strokeColor=INK,
            strokeWidth=1,
            strokeDashArray=(3, 2) if is_open else None,
        )
    )
    if slot.thing.sort == HELD:
        hatched(drawing, (left, shoulder), (slot.wide, TAB - point))


def _told(drawing: Drawing, slot: Slot, y: float, *, is_back: bool = False) -> None:
    thing = slot.thing
    is_worded = isinstance(thing, Branch) and thing.sort == UNACCOUNTED
    figure = whole_grams(abs(thing.grams) if is_worded else thing.grams)
    if isinstance(thing, Branch):
        words = thing.words
    else:
        start = "Back to " if is_back else "On to "
        words = _fitted(thing.to_name, (start, ""), figure, FONT)
    _words(drawing, y, words, figure)


def _fitted(name: str, ends: tuple[str, str], figure: str, font: str) -> str:
    """Return a balance's name between words; its first and last step if it is long."""
    before, after = ends
    words = before + said_step(name) + after
    if _size(words, figure, font) < LEAST_SIZE:
        first, *_between, last = name.split("+")
        words = f"{before}{first}\N{EN DASH}{last}{after}"
    return words[:1].upper() + words[1:]


def _size(words: str, figure: str, font: str) -> float:
    """Return the size at which words have room before a figure."""
    room = RIGHT - WORDS - (stringWidth(figure, font, SIZE) + 6 if figure else 0)
    return min(SIZE, SIZE * room / float(stringWidth(words, font, SIZE)))


def _words(
    drawing: Drawing, y: float, words: str, figure: str, *, font: str = FONT
) -> None:
    """Write one row: words, and a figure at its right end."""
    size = _size(words, figure, font)
    text(drawing, (WORDS, y - DROP), words, size=size, font=font)
    if figure:
        text(drawing, (RIGHT, y - DROP), figure, "end", size=SIZE, font=font)


def _foot(drawing: Drawing, layout: Layout) -> None:
    """Draw the scale, and say what else the widths and the letter u mean."""
    grams = _round_grams(ROOM / 2 / layout.scale)
    end = LEFT + float(grams) * layout.scale
    line(drawing, (LEFT, SCALE_Y, end, SCALE_Y))
    for x in (LEFT, end):
        line(drawing, (x, SCALE_Y - 4, x, SCALE_Y + 4))
    text(drawing, (end + GAP, SCALE_Y - DROP), f"{grams:f} g of gold", size=SIZE)
    things = [
        slot.thing for level in layout.levels for slot in (*level.above, *level.below)
    ]
    least = THINNEST / layout.scale
    said = []
    if any(abs(float(thing.grams)) < least for thing in things):
        said.append(f"Under {least:.0f} g all is drawn alike.")
    if any(isinstance(each, Branch) and each.sort == UNACCOUNTED for each in things):
        said.append("u: standard uncertainty.")
    if said:
        text(drawing, (LEFT, 8), " ".join(said), size=SIZE)


def _round_grams(most: float) -> Decimal:
    """Return the greatest 1, 2 or 5 times a power of ten that is not above `most`."""
    power = Decimal(1).scaleb(Decimal(repr(most)).adjusted())
    return next(power * n for n in (5, 2, 1) if float(power * n) <= most)


def _table(flow: Flow) -> tuple[tuple[str, ...], ...]:
    rows = [
        (*_ends(edge), said_sort(edge.sort), f"{edge.grams:f}", f"{edge.u_g:.3f}")
        for edge in flow.edges
    ]
    for each in flow.unaccounted:
        figures = (
            ("no figure", "")
            if each.grams is None or each.u_g is None
            else (f"{each.grams:f}", f"{each.u_g:.3f}")
        )
        name = said_step(each.step).capitalize()
        rows.append((name, "Not accounted for", "", *figures))
    return tuple(rows)


def _ends(edge: Edge) -> tuple[str, str]:
    start = "Held at the start" if edge.role == OPENING else edge.from_step or "Outside"
    end = "Held at the end" if edge.role == CLOSING else edge.to_step or "Outside"
    return start.capitalize(), end.capitalize()


def _sentence(flow: Flow) -> str:
    if not steps_of(flow):
        return NOTHING_SAID
    edges = flow.edges
    held = sum((e.grams for e in edges if e.role == OPENING), Decimal("0.000"))
    left = sum((e.grams for e in edges if e.role == CLOSING), Decimal("0.000"))
    passed = [e for e in edges if e.role not in (OPENING, CLOSING)]
    came = sum((e.grams for e in passed if not e.from_step), Decimal("0.000"))
    went = sum((e.grams for e in passed if not e.to_step), Decimal("0.000"))
    told = [
        f"{whole_grams(held)} of gold was held at the start, {whole_grams(came)} came"
        f" in, {whole_grams(went)} went out and {whole_grams(left)} was held at the"
        " end."
    ]
    if not passed:
        told = [
            f"Nothing passed in these days; {whole_grams(held)} of gold was held at the"
            f" start and {whole_grams(left)} at the end."
        ]
    told += [
        f"{said_step(each.step).capitalize()}: {whole_grams(abs(each.grams))}"
        f" {'missing' if each.grams > 0 else 'found too much'}"
        f" (standard uncertainty {shown_u(each.u_g or 0.0)} g)."
        for each in flow.unaccounted
        if each.grams
    ]
    unbalanced = [said_step(e.step) for e in flow.unaccounted if e.grams is None]
    if unbalanced:
        told.append(f"Not balanced: {', '.join(unbalanced)}.")
    if flow.unmeasured:
        told.append(
            f"Nothing tells how much gold is in {', '.join(flow.unmeasured[:5])}"
            + (
                f" and {len(flow.unmeasured) - 5} more."
                if len(flow.unmeasured) > 5
                else "."
            )
        )
    return " ".join(told)
