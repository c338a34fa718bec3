"""Weighings, their digits and their smallest net."""

import math
from decimal import Decimal

import pytest

from goldroom.errors import (
    MoreDigitsThanInstrument,
    NegativeFigure,
    NotAFigure,
    NotOnScaleDivision,
    TareOverGross,
)
from goldroom.metal import weighing
from goldroom.metal.uncertainty import reading, total

source = pytest.mark.source


def test_net_is_gross_less_tare_to_the_last_digit():
    weighed = weighing.Weighing(Decimal("10000.1"), Decimal("0.0001"))
    assert weighed.net_g == Decimal("10000.0999")


@pytest.mark.parametrize(
    ("gross", "tare", "refusal"),
    [("5", "5.1", TareOverGross), ("5", "-1", NegativeFigure)],
)
def test_weighing_that_contradicts_itself_is_refused(gross, tare, refusal):
    with pytest.raises(refusal) as refused:
        weighing.Weighing(Decimal(gross), Decimal(tare))
    assert refused.value.field == "tare"


@pytest.mark.parametrize(
    ("text", "interval", "refusal"),
    [
        ("12441.3", "0.1", None),
        ("12441.30", "0.1", MoreDigitsThanInstrument),
        ("12441.35", "0.1", MoreDigitsThanInstrument),
        ("12441", "0.1", None),
        ("500.5", "0.5", None),
        ("500.3", "0.5", NotOnScaleDivision),
        ("501", "2", NotOnScaleDivision),
        ("1e3", "1", NotAFigure),
    ],
)
def test_reading_has_the_digits_its_instrument_can_show(text, interval, refusal):
    step = Decimal(interval)
    if refusal is None:
        assert weighing.check_digits(text, scale_interval=step) == Decimal(text)
        return
    with pytest.raises(refusal) as refused:
        weighing.check_digits(text, scale_interval=step, field="gross")
    assert refused.value.field == "gross"


@pytest.mark.parametrize(
    ("repeatability", "interval", "net"),
    [
        pytest.param("0.005", "0.001", "10", marks=source("USP 41; seen")),
        pytest.param("0.001", "0.01", "8.2", marks=source("USP 41; from memory")),
    ],
)
def test_smallest_net_follows_repeatability_or_the_display(
    repeatability, interval, net
):
    found = weighing.smallest_net_g(
        repeatability_g=Decimal(repeatability), scale_interval_g=Decimal(interval)
    )
    assert found == Decimal(net)


@pytest.mark.parametrize(
    ("interval", "u"),
    [pytest.param("1", 0.2887, marks=source("GUM F.2.2.1: u = 0.29 d; from memory"))],
)
def test_display_rounding_is_a_rectangular_error(interval, u):
    assert weighing.resolution_u(Decimal(interval)) == pytest.approx(u, abs=5e-5)


def test_net_of_two_readings_has_root_two_of_their_uncertainty():
    """Own example."""
    net = reading(1000, 0.5, "reading:gross") - reading(200, 0.5, "reading:tare")
    assert net.u == pytest.approx(0.7071, abs=5e-5)


def test_three_bars_share_a_calibration_or_do_not():
    """Own example."""
    apart = total(reading(1000, 0.5, f"reading:{n}") for n in range(3))
    shared = total(reading(1000, 0.5, "scale:a:slope:1") for _ in range(3))
    assert apart.u == pytest.approx(0.866, abs=5e-4)
    assert shared.u == pytest.approx(1.5)


def test_handover_limit_is_three_standard_uncertainties():
    """Own worked example: one balance, and two with a slope of 2e-5 each."""
    slope_g = 8412.3 * 2e-5
    assert weighing.handover_limit_g(0.2, 0.2) == pytest.approx(0.849, abs=5e-4)
    two = weighing.handover_limit_g(0.2, 0.2, slope_g, slope_g)
    assert two == pytest.approx(1.109, abs=1e-3)
    assert two == pytest.approx(3 * math.hypot(0.2, 0.2, slope_g, slope_g))
