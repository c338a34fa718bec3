"""Dry mass that a flush brought, load by load, with the limits of its own history."""

from collections.abc import Callable
from decimal import Decimal

from reportlab.graphics.shapes import Circle, Drawing, PolyLine

from goldroom.plots.plot import GREY, INK, TEAL, WIDTH, Plot, diamond, line, text
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.cleanups import UnitCleanups

HEIGHT = 230
LEFT, RIGHT, BOTTOM, TOP = 64, 14, 40, 34
DOT = 3.2
OUTSIDE_HALF = 6
PLACES = Decimal("0.01")
HEADINGS = ("Load", "Weighed", "Flushes", "Dry mass, kg", "kg per flush", "Limits")


def cleanup_plot(each: UnitCleanups, clock: SiteClock, *, with_limits: bool) -> Plot:
    """Return the plot of one family of loads; limits only for those who may read them.

    A point outside is a diamond, one inside a dot.
    """
    drawing = Drawing(WIDTH, HEIGHT)
    name = " and ".join(each.units)
    text(drawing, (0, HEIGHT - 14), f"{name}: dry kg per flush")
    has_limits = with_limits and each.centre_kg is not None
    if each.cleanups:
        _draw(drawing, each, clock, has_limits=has_limits)
    else:
        text(drawing, (LEFT, HEIGHT / 2), "No load was weighed in these days.")
    rows = tuple(
        (
            one.load,
            clock.wall_text(one.at),
            str(one.flushes),
            _shown(one.dry_kg),
            _shown(one.kg_per_flush),
            _word(one.is_outside, has_limits=has_limits),
        )
        for one in each.cleanups
    )
    sentence = _sentence(each, name, has_limits=has_limits, may_read=with_limits)
    return Plot(f"cleanups-{'-'.join(each.units)}", drawing, sentence, HEADINGS, rows)


def _draw(
    drawing: Drawing, each: UnitCleanups, clock: SiteClock, *, has_limits: bool
) -> None:
    values = [float(one.kg_per_flush) for one in each.cleanups]
    shown = [*values]
    if has_limits:
        shown += [float(limit) for limit in (each.low_kg, each.high_kg) if limit]
    low, high = min(shown), max(shown)
    room = (high - low) * 0.12 or max(high * 0.1, 0.1)
    low, high = low - room, high + room
    across = WIDTH - LEFT - RIGHT
    up = HEIGHT - BOTTOM - TOP

    def y_of(value: float) -> float:
        return BOTTOM + up * (value - low) / (high - low)

    line(drawing, (LEFT, BOTTOM, LEFT, HEIGHT - TOP))
    line(drawing, (LEFT, BOTTOM, WIDTH - RIGHT, BOTTOM))
    if has_limits:
        _limits(drawing, each, y_of)
    else:
        for value in (min(values), max(values)):
            text(drawing, (LEFT - 6, y_of(value) - 4), f"{value:.2f}", "end")
    step = across / max(len(values), 1)
    points = [
        (LEFT + step * (n + 0.5), y_of(float(one.kg_per_flush)))
        for n, one in enumerate(each.cleanups)
    ]
    way = [part for point in points for part in point]
    drawing.add(PolyLine(way, strokeColor=GREY, strokeWidth=1.2))
    for one, (x, y) in zip(each.cleanups, points, strict=True):
        if has_limits and one.is_outside:
            diamond(drawing, x, y, OUTSIDE_HALF)
        else:
            drawing.add(Circle(x, y, DOT, fillColor=TEAL, strokeColor=INK))
    first, last = each.cleanups[0], each.cleanups[-1]
    text(drawing, (LEFT, 20), clock.wall_text(first.at)[:10])
    if len(each.cleanups) > 1:
        text(drawing, (WIDTH - RIGHT, 20), clock.wall_text(last.at)[:10], "end")


def _limits(
    drawing: Drawing, each: UnitCleanups, y_of: Callable[[float], float]
) -> None:
    for value, dashes in (
        (each.low_kg, (6, 3)),
        (each.centre_kg, None),
        (each.high_kg, (6, 3)),
    ):
        assert value is not None
        y = y_of(float(value))
        line(drawing, (LEFT, y, WIDTH - RIGHT, y), GREY, dashes)
        text(drawing, (LEFT - 6, y - 4), f"{value:.2f}", "end")


def _sentence(
    each: UnitCleanups, name: str, *, has_limits: bool, may_read: bool
) -> str:
    count = len(each.cleanups)
    loads = f"{count} load" if count == 1 else f"{count} loads"
    mixed = (
        " A load mixes flushes of both, so what one concentrator brought cannot be"
        " told apart."
        if len(each.units) > 1
        else ""
    )
    begin = f"{loads} of {name}, dry kilograms per flush.{mixed}"
    if not may_read:
        return begin
    if not has_limits:
        return f"{begin} Fewer than eight loads so far: no limits are drawn yet."
    outside = sum(one.is_outside for one in each.cleanups)
    return (
        f"{begin} Centre {_shown(each.centre_kg)} kg; limits {_shown(each.low_kg)} to"
        f" {_shown(each.high_kg)} kg, three sigma by the moving range of this site's"
        f" own loads; {outside} outside, shown as diamonds."
    )


def _shown(value: Decimal | None) -> str:
    return "" if value is None else format(value.quantize(PLACES), "f")


def _word(is_outside: bool, *, has_limits: bool) -> str:
    if not has_limits:
        return ""
    return "outside" if is_outside else "inside"
