"""The gravity plot: its parts come to their sum, either side of zero."""

from datetime import date
from decimal import Decimal

import pytest
from reportlab.graphics.shapes import Drawing, PolyLine, Rect
from reportlab.lib.colors import white

from goldroom.metal.uncertainty import Measured
from goldroom.plots.gravity import HEADINGS, NOTHING_SAID, gravity_plot
from goldroom.plots.plot import GREY, PALE, TEAL, WIDTH
from goldroom.reports.month import reconciliation
from tests.goldroom.plots.checks import gravity
from tests.goldroom.plots.drawn import drawn_words

NO_CIRCUIT = gravity(None, ("0", "0", "0"))
FELL = gravity("120.000", ("150.000", "-40.000", "25.000"))


def bars(drawing: Drawing) -> list[Rect]:
    """Return the rectangles of the two bars, without the small ones beside words."""
    return [
        each
        for each in drawing.contents
        if isinstance(each, Rect) and each.height == 26
    ]


def points_a_gram(drawing: Drawing, estimated_g: float) -> float:
    """Return the scale of the estimate's bar."""
    return bars(drawing)[0].width / estimated_g


def test_parts_stand_end_to_end_and_come_to_the_sum():
    drawing = gravity_plot(gravity("130.000", ("80.000", "15.500", "30.250"))).drawing
    estimate, *parts = bars(drawing)
    scale = points_a_gram(drawing, 130)
    assert [part.width for part in parts] == [
        pytest.approx(grams * scale) for grams in (80, 15.5, 30.25)
    ]
    ends = [estimate.x]
    for part in parts:
        assert part.x == pytest.approx(ends[-1])
        ends.append(part.x + part.width)
    assert ends[-1] - estimate.x == pytest.approx(125.75 * scale)


def test_fall_in_holdings_stands_left_of_zero_within_the_drawing():
    drawing = gravity_plot(FELL).drawing
    estimate, poured, fell, out = bars(drawing)
    scale = points_a_gram(drawing, 120)
    zero = estimate.x
    assert (poured.x, out.x) == (
        pytest.approx(zero),
        pytest.approx(zero + 150 * scale),
    )
    assert fell.x + fell.width == pytest.approx(zero)
    assert fell.width == pytest.approx(40 * scale)
    assert fell.x >= 0
    assert "0 g" in drawn_words(drawing)


def test_zero_is_placed_for_an_interval_that_reaches_below_it():
    check = gravity("10.000", ("4.000", "1.000", "0.000"), estimated_u=8.0)
    drawing = gravity_plot(check).drawing
    for each in drawing.contents:
        left, _low, right, _high = each.getBounds()
        assert left >= 0
        assert right <= WIDTH


def test_parts_are_told_apart_without_colour():
    drawing = gravity_plot(gravity("130.000", ("80.000", "15.500", "30.250"))).drawing
    poured, rise, out = bars(drawing)[1:]
    assert (poured.fillColor, rise.fillColor, out.fillColor) == (TEAL, white, GREY)
    assert bars(drawing)[0].fillColor == PALE
    assert out.strokeDashArray
    assert not poured.strokeDashArray
    hatches = [
        each
        for each in drawing.contents
        if type(each).__name__ == "Line"
        and each.x1 != each.x2
        and rise.x <= each.x1 <= rise.x + rise.width
        and rise.y <= min(each.y1, each.y2)
        and max(each.y1, each.y2) <= rise.y + rise.height
    ]
    assert hatches


def test_whiskers_stand_on_paper_within_a_dark_bar():
    drawing = gravity_plot(gravity("130.000", ("80.000", "15.500", "30.250"))).drawing
    strokes = [each for each in drawing.contents if isinstance(each, PolyLine)]
    for halo, ink in zip(strokes[::2], strokes[1::2], strict=True):
        assert halo.points == ink.points
        assert halo.strokeColor == white
        assert halo.strokeWidth > ink.strokeWidth


def test_empty_period_says_so_and_explains_no_whiskers():
    plot = gravity_plot(NO_CIRCUIT)
    assert plot.sentence == NOTHING_SAID
    assert drawn_words(plot.drawing) == [NOTHING_SAID]
    assert ("Circuit's estimate", "no figure", "") in plot.rows


def test_whiskers_are_explained_only_where_they_stand():
    sure = gravity("10.000", ("4.000", "1.000", "0.000"), estimated_u=0.0, u_g=0.0)
    assert "hiskers" not in gravity_plot(sure).sentence
    assert "hiskers" not in " ".join(drawn_words(gravity_plot(sure).drawing))
    assert "hiskers" in gravity_plot(FELL).sentence


def test_poured_without_an_estimate_has_no_ratio():
    plot = gravity_plot(gravity(None, ("4.000", "1.000", "0.000")))
    assert plot.sentence.startswith("Nothing was estimated in these days.")
    assert "over estimated" not in plot.sentence
    assert "not known" not in plot.sentence + " ".join(drawn_words(plot.drawing))


def test_part_without_a_figure_is_named_and_not_summed():
    plot = gravity_plot(gravity("10.000", ("4.000", None, "0.500")))
    assert "risen in holdings no figure" in plot.sentence
    assert "cannot be summed" in plot.sentence
    assert ("Accounted for, the sum", "no figure", "") in plot.rows


def test_gold_that_nobody_can_tell_stands_dashed_beside_the_sum():
    check = gravity("130.000", ("80.000", "15.500", "30.250"), unsure="12.000")
    plot = gravity_plot(check)
    last = bars(plot.drawing)[-1]
    assert last.width == pytest.approx(12 * points_a_gram(plot.drawing, 130))
    assert last.strokeDashArray
    assert plot.rows[-1][:2] == ("Gravity's or not, cannot be told", "12.000")
    assert "Of 12 g more nobody can tell" in plot.sentence


def test_table_gives_the_reports_figures_and_its_parts_sum(told):
    check = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    ).gravity
    plot, json = gravity_plot(check), check.to_json()
    assert plot.headings == HEADINGS
    assert [row[1] for row in plot.rows[:5]] == [
        json[name]
        for name in ("estimated", "poured", "holdings_rise", "went_out", "accounted")
    ]
    assert (plot.rows[0][2], plot.rows[4][2]) == (
        json["estimated_u"],
        json["accounted_u"],
    )
    poured, rise, out, accounted = (Decimal(row[1]) for row in plot.rows[1:5])
    assert poured + rise + out == accounted


def test_ratio_is_the_one_of_the_check():
    ratio = (150 - 40 + 25) / 120
    assert Measured(ratio).value == pytest.approx(FELL.ratio.value)
    assert f"Accounted for over estimated: {ratio:.3f}." in gravity_plot(FELL).sentence
