"""The period's accounted gold beside the gravity circuit's estimate.

Two bars from one zero: the estimate, and below it what is accounted for, its parts in
a row, each with its own filling. A part that is less than nothing (holdings fell)
stands on the other side of zero. A diamond marks what the parts come to.
"""

from dataclasses import dataclass
from decimal import Decimal

from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import Color, white

from goldroom.plots.plot import (
    BOLD,
    FONT,
    GREY,
    PALE,
    TEAL,
    WIDTH,
    Plot,
    box,
    diamond,
    haloed,
    hatched,
    line,
    text,
    whole_grams,
)
from goldroom.reconcile.gravity_check import GravityCheck

COVERAGE = 2
"""Half an interval is this many standard uncertainties."""

HEADINGS = ("Gold", "g", "Standard uncertainty, g")
NOTHING_SAID = "Nothing was poured and nothing estimated in these days."
NO_FIGURE = "no figure"

LEFT, RIGHT = 10, WIDTH - 12
SIZE, ROW, BAR = 16, 24, 26


@dataclass(frozen=True)
class Part:
    """A quantity of gold: its words, grams and uncertainty, and how it is filled."""

    label: str
    grams: Decimal | None
    u_g: float | None
    fill: Color
    is_hatched: bool = False
    dashes: tuple[int, ...] | None = None

    @property
    def figure(self) -> str:
        """Return the grams as reported; words where nothing tells."""
        return NO_FIGURE if self.grams is None else f"{self.grams:f}"

    @property
    def row(self) -> tuple[str, str, str]:
        """Return the part as a row of the table."""
        u_text = "" if self.u_g is None else f"{self.u_g:.3f}"
        return (self.label, self.figure, u_text)


@dataclass(frozen=True)
class Bars:
    """What is drawn: the estimate, the parts of the other bar, and their sum."""

    estimate: Part
    parts: tuple[Part, ...]
    accounted: Part
    unsure: Part

    @property
    def is_empty(self) -> bool:
        """Return whether nothing was estimated and every part is nothing."""
        return self.estimate.grams is None and all(
            part.grams is not None and not part.grams
            for part in (*self.parts, self.unsure)
        )

    @property
    def stacked(self) -> tuple[Part, ...]:
        """Return the parts that have an extent, as they stand in the bar."""
        return tuple(part for part in (*self.parts, self.unsure) if part.grams)

    def ends_g(self) -> tuple[float, float]:
        """Return the least and the most grams that the axis must hold."""
        grams = [float(part.grams or 0) for part in self.stacked]
        ends = [0.0, sum(g for g in grams if g > 0), sum(g for g in grams if g < 0)]
        for part in (self.estimate, self.accounted):
            ends += _interval_g(part)
        return min(ends), max(ends)


def gravity_plot(check: GravityCheck) -> Plot:
    """Return the estimate's bar and the bar of what is accounted for, in its parts."""
    bars = _bars(check)
    shown = (bars.estimate, *bars.parts, bars.accounted)
    if bars.unsure.grams:
        shown += (bars.unsure,)
    return Plot(
        "gravity",
        _nothing_drawn() if bars.is_empty else _drawn(bars),
        _sentence(bars, check),
        HEADINGS,
        tuple(part.row for part in shown),
    )


def _bars(check: GravityCheck) -> Bars:
    told = check.to_json()
    unsure = told["inseparable"]
    assert isinstance(unsure, dict)

    def part(name: str, label: str, fill: Color = white, **look: object) -> Part:
        hatch, dashes = bool(look.get("hatch")), (3, 2) if look.get("dash") else None
        u_g = _number(told.get(f"{name}_u"))
        return Part(label, _decimal(told[name]), u_g, fill, hatch, dashes)

    return Bars(
        estimate=part("estimated", "Circuit's estimate", PALE),
        parts=(
            part("poured", "Poured", TEAL),
            part("holdings_rise", "Rise in holdings", hatch=True),
            part("went_out", "Went out otherwise", GREY, dash=True),
        ),
        accounted=part("accounted", "Accounted for, the sum"),
        unsure=Part(
            "Gravity's or not, cannot be told",
            _decimal(unsure["gold"]),
            _number(unsure["u"]),
            white,
            dashes=(3, 2),
        ),
    )


def _nothing_drawn() -> Drawing:
    drawing = Drawing(WIDTH, 40)
    text(drawing, (LEFT, 14), NOTHING_SAID, size=SIZE)
    return drawing


def _drawn(bars: Bars) -> Drawing:
    rows = 3 + len(bars.parts) + (1 if bars.unsure.grams else 0)
    has_whiskers = any(map(_interval_g, (bars.estimate, bars.accounted)))
    low, high = bars.ends_g()
    height = rows * ROW + 2 * BAR + 38 + (ROW if has_whiskers else 0)
    drawing = Drawing(WIDTH, height + (ROW - 8 if low < 0 else 0))
    scale = (RIGHT - LEFT) / ((high - low) or 1.0)
    zero = LEFT - low * scale

    y = drawing.height - ROW
    _label(drawing, y, bars.estimate, font=BOLD)
    y -= BAR + 14
    if bars.estimate.grams is not None:
        wide = float(bars.estimate.grams) * scale
        _bar(drawing, (zero, y), (wide, BAR), bars.estimate)
        _whisker(drawing, y + BAR / 2, zero, scale, bars.estimate)
    line(drawing, (zero, y - 4, zero, y + BAR + 4))
    y -= ROW + 6
    _label(drawing, y, bars.accounted, font=BOLD)
    y -= BAR + 14
    _stack(drawing, (zero, y), scale, bars)
    line(drawing, (zero, y - 4, zero, y + BAR + 4))
    if low < 0:
        text(drawing, (zero, y - 18), "0 g", "middle", size=SIZE)
        y -= ROW - 8
    y -= 8
    for part in (*bars.parts, *([bars.unsure] if bars.unsure.grams else [])):
        y -= ROW
        _bar(drawing, (LEFT, y - 2), (24, 14), part)
        _label(drawing, y, part, indent=32)
    if has_whiskers:
        words = f"Whiskers: {COVERAGE} standard uncertainties either way"
        text(drawing, (LEFT, 8), words, size=SIZE)
    return drawing


def _label(
    drawing: Drawing, y: float, part: Part, *, font: str = FONT, indent: float = 0
) -> None:
    """Write a part's words at the left and its figure at the right of one row."""
    text(drawing, (LEFT + indent, y), part.label, size=SIZE, font=font)
    text(drawing, (RIGHT, y), _in_grams(part), "end", size=SIZE, font=font)


def _bar(
    drawing: Drawing, start: tuple[float, float], size: tuple[float, float], part: Part
) -> None:
    """Draw a part's rectangle; a size less than nothing runs to the left."""
    corner = (start[0] + min(0.0, size[0]), start[1])
    extent = (abs(size[0]), size[1])
    box(drawing, corner, extent, part.fill, part.dashes)
    if part.is_hatched:
        hatched(drawing, corner, extent)


def _stack(
    drawing: Drawing, start: tuple[float, float], scale: float, bars: Bars
) -> None:
    """Draw the parts end to end from zero, either way, and mark what they come to."""
    zero, y = start
    right = left = zero
    for part in bars.stacked:
        wide = float(part.grams or 0) * scale
        _bar(drawing, (right if wide > 0 else left, y), (wide, BAR), part)
        if wide > 0:
            right += wide
        else:
            left += wide
    if bars.accounted.grams is not None:
        _whisker(drawing, y + BAR / 2, zero, scale, bars.accounted)
        diamond(drawing, zero + float(bars.accounted.grams) * scale, y + BAR / 2, 5)


def _whisker(drawing: Drawing, y: float, zero: float, scale: float, part: Part) -> None:
    ends = [zero + end * scale for end in _interval_g(part)]
    if ends:
        haloed(drawing, (ends[0], y, ends[1], y))
    for x in ends:
        haloed(drawing, (x, y - 8, x, y + 8))


def _interval_g(part: Part) -> tuple[float, ...]:
    """Return the interval's two ends; none where there is no uncertainty."""
    if part.grams is None or not part.u_g:
        return ()
    middle, half = float(part.grams), COVERAGE * part.u_g
    return (middle - half, middle + half)


def _sentence(bars: Bars, check: GravityCheck) -> str:
    if bars.is_empty:
        return NOTHING_SAID
    estimate, accounted = bars.estimate, bars.accounted
    told = [
        "Nothing was estimated in these days."
        if estimate.grams is None
        else f"The circuit's estimate is {_in_grams(estimate)} of gold."
    ]
    poured, rise, out = bars.parts
    told.append(
        f"Poured {_in_grams(poured)}, risen in holdings {_in_grams(rise)} and gone out"
        f" otherwise {_in_grams(out)}"
        + (
            f" come to {_in_grams(accounted)}."
            if accounted.grams is not None
            else ": with a figure missing they cannot be summed."
        )
    )
    ratio = check.to_json()["ratio"]
    if ratio is not None:
        told.append(f"Accounted for over estimated: {ratio}.")
    if bars.unsure.grams:
        told.append(
            f"Of {_in_grams(bars.unsure)} more nobody can tell whether gravity caught"
            " it."
        )
    if any(map(_interval_g, (estimate, accounted))):
        told.append(
            f"Whiskers span {COVERAGE} standard uncertainties either way, about 95 % if"
            " errors are normal."
        )
    return " ".join(told)


def _in_grams(part: Part) -> str:
    return part.figure if part.grams is None else whole_grams(part.grams)


def _decimal(value: object) -> Decimal | None:
    return None if value is None else Decimal(str(value))


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))
