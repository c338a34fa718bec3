"""The period's accounted gold beside the gravity circuit's estimate."""

from decimal import Decimal

from reportlab.graphics.shapes import Drawing

from goldroom.plots.plot import GREY, PALE, TEAL, WIDTH, Plot, box, line, text
from goldroom.reconcile.gravity_check import GravityCheck

COVERAGE = 2
"""Half an error bar is this many standard uncertainties."""

HEADINGS = ("Gold", "g", "Standard uncertainty, g")
LEFT, WIDE = 10, 460


def gravity_plot(check: GravityCheck) -> Plot:
    """Return bars of the estimate and of what is accounted for, with error bars."""
    told = check.to_json()
    names = {
        "estimated": "Circuit's estimate",
        "poured": "Poured",
        "holdings_rise": "Rise in holdings",
        "went_out": "Went out otherwise",
        "accounted": "Accounted for",
    }
    rows = tuple(
        (label, _shown(told[name]), _shown(told.get(f"{name}_u"), ""))
        for name, label in names.items()
    )
    values = {name: _number(told[name]) for name in names}
    most = max([1.0, *(each for each in values.values() if each is not None)])
    u_most = max(_number(told.get(f"{n}_u")) or 0 for n in ("estimated", "accounted"))
    scale = WIDE / (most + COVERAGE * u_most)
    drawing = Drawing(WIDTH, 40 * len(names) + 40)
    for n, (name, label) in enumerate(names.items()):
        y = drawing.height - 40 * n - 38
        value = values[name]
        text(drawing, (LEFT, y + 22), f"{label}: {_shown(told[name])} g")
        if value is None:
            continue
        fill = {"estimated": PALE, "accounted": TEAL}.get(name, GREY)
        start = LEFT + min(0.0, value) * scale
        box(drawing, (max(0.0, start), y + 2), (abs(value) * scale, 14), fill)
        u_g = _number(told.get(f"{name}_u"))
        if u_g:
            _error_bar(drawing, y + 9, value, u_g, scale)
    text(drawing, (LEFT, 8), f"Whiskers: {COVERAGE} standard uncertainties either way")
    return Plot("gravity", drawing, _sentence(told), HEADINGS, rows)


def _error_bar(
    drawing: Drawing, y: float, value: float, u_g: float, scale: float
) -> None:
    low, high = (LEFT + (value + way * COVERAGE * u_g) * scale for way in (-1, 1))
    line(drawing, (max(0.0, low), y, high, y))
    for x in (max(0.0, low), high):
        line(drawing, (x, y - 10, x, y + 10))


def _sentence(told: dict[str, object]) -> str:
    return (
        f"The circuit's estimate is {_shown(told['estimated'])} g of gold; poured,"
        f" risen in holdings and gone out otherwise come to {_shown(told['accounted'])} g"
        f" (ratio {_shown(told['ratio'])}). Whiskers span {COVERAGE} standard"
        " uncertainties either way, about 95 % if errors are normal."
    )


def _shown(value: object, otherwise: str = "not known") -> str:
    return otherwise if value is None else str(value)


def _number(value: object) -> float | None:
    return None if value is None else float(Decimal(str(value)))
