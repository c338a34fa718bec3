"""Lines and words against what they stand on, by the formula of WCAG 2.2."""

import pytest
from reportlab.graphics.shapes import Line, Path, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color, HexColor, black, white

from goldroom.plots.flow import flow_plot
from goldroom.plots.gravity import gravity_plot
from goldroom.plots.plot import INK, PALE, PALE_TEAL, TEAL
from tests.goldroom.plots.checks import gravity
from tests.goldroom.plots.flows import FLOWS

TEXT, GRAPHICS = 4.5, 3.0
"""Least contrast of text (1.4.3) and of graphical objects (1.4.11)."""

PLOTS = {
    **{f"flow, {name}": flow_plot(each) for name, each in FLOWS.items()},
    "gravity": gravity_plot(gravity("130", ("80.000", "15.5", "30.250"), unsure="9")),
    "gravity, a fall": gravity_plot(gravity("130", ("80.000", "-9.5", "3"))),
}
SHAPES = (Line, Path, Polygon, PolyLine, Rect)


def luminance(colour: Color) -> float:
    """Return the relative luminance: WCAG 2.2, definition "relative luminance"."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(part) for part in colour.rgb())
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    """Return the ratio: WCAG 2.2, definition "contrast ratio"."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.source("WCAG 2.2, contrast ratio: from 1 to 21; the greys from memory")
def test_formula_gives_the_known_ratios():
    assert contrast(black, white) == pytest.approx(21)
    assert contrast(white, white) == 1
    assert contrast(HexColor("#767676"), white) == pytest.approx(4.54, abs=0.005)
    assert contrast(HexColor("#777777"), white) == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("name", PLOTS)
@pytest.mark.source("WCAG 2.2, success criterion 1.4.3 Contrast (Minimum)")
def test_words_are_clear_of_the_paper(name):
    words = [each for each in PLOTS[name].drawing.contents if isinstance(each, String)]
    assert words
    for each in words:
        assert contrast(each.fillColor, white) >= TEXT


@pytest.mark.parametrize("name", PLOTS)
@pytest.mark.source("WCAG 2.2, success criterion 1.4.11 Non-text Contrast")
def test_every_shape_has_an_edge_or_a_filling_clear_of_the_paper(name):
    shapes = [each for each in PLOTS[name].drawing.contents if isinstance(each, SHAPES)]
    halos = 0
    for each in shapes:
        colours = [each.strokeColor, getattr(each, "fillColor", None)]
        best = max(contrast(colour, white) for colour in colours if colour is not None)
        if best == 1:
            halos += 1
            continue
        assert best >= GRAPHICS
    assert halos < len(shapes) / 2 or not shapes


@pytest.mark.parametrize("ground", [white, PALE, PALE_TEAL])
@pytest.mark.parametrize("drawn", [INK, TEAL])
@pytest.mark.source("WCAG 2.2, success criterion 1.4.11 Non-text Contrast")
def test_lines_are_clear_of_every_pale_filling(drawn, ground):
    assert contrast(drawn, ground) >= GRAPHICS


@pytest.mark.source("WCAG 2.2, success criterion 1.4.11 Non-text Contrast")
def test_paper_round_whiskers_is_clear_of_the_dark_filling():
    assert contrast(white, TEAL) >= GRAPHICS
    assert contrast(white, INK) >= GRAPHICS
