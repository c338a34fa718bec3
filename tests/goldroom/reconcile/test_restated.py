"""A provisional figure and the final one: the change, and what explains it."""

import pytest
import uncertainties

from goldroom.metal.uncertainty import exact, reading
from goldroom.reconcile.restated import Restated


def bar(fineness, *, bias, repeat, drilling=0.0, segregation=0.0, assay):
    """Return the gold of a bar of 8412.3 g by an assay of its own laboratory."""
    mass = reading(8412.3, 0.2, "reading").scaled_by(2e-5, "slope")
    content = (
        exact(fineness / 1000)
        .scaled_by(bias, f"lab:{assay}")
        .scaled_by(repeat, f"rep:{assay}")
        .scaled_by(drilling, "drill")
        .scaled_by(segregation, "segregation")
    )
    return mass * content


PROVISIONAL = bar(845.5, bias=0.003, repeat=0.004, assay="spectrometer")
FINAL = bar(
    842.6, bias=3e-4, repeat=2e-4, drilling=3e-4, segregation=5e-4, assay="fire"
)


@pytest.mark.source("own worked example: a provisional bar restated")
def test_a_bar_restated_from_the_spectrometer_to_the_fire_assay():
    found = Restated(PROVISIONAL, FINAL)
    assert (found.before.value, found.before.u) == (
        pytest.approx(7112.600, abs=5e-4),
        pytest.approx(35.564, abs=5e-4),
    )
    assert (found.after.value, found.after.u) == (
        pytest.approx(7088.204, abs=5e-4),
        pytest.approx(4.864, abs=5e-4),
    )
    assert found.change.value == pytest.approx(-24.396, abs=5e-4)
    assert found.change.u == pytest.approx(35.893, abs=1.5e-3)
    assert found.z == pytest.approx(-0.680, abs=5e-4)
    assert not found.is_surprise


@pytest.mark.source("the `uncertainties` package: a difference with a shared weighing")
def test_the_weighing_that_both_share_cancels_in_the_change():
    mass = uncertainties.ufloat(8412.3, (0.2**2 + (8412.3 * 2e-5) ** 2) ** 0.5)
    before = mass * 0.8455 * uncertainties.ufloat(1, (0.003**2 + 0.004**2) ** 0.5)
    own = (3e-4**2 + 2e-4**2 + 3e-4**2 + 5e-4**2) ** 0.5
    after = mass * 0.8426 * uncertainties.ufloat(1, own)
    found = Restated(PROVISIONAL, FINAL)
    assert found.change.value == pytest.approx((after - before).nominal_value)
    assert found.change.u == pytest.approx((after - before).std_dev)


def test_a_change_that_its_errors_do_not_explain_is_a_surprise():
    assert Restated(FINAL, FINAL + reading(30.0, 5.0, "other")).is_surprise
    assert not Restated(FINAL, FINAL + reading(9.0, 5.0, "other")).is_surprise


def test_the_same_figure_again_is_no_change():
    same = Restated(FINAL, FINAL)
    assert (same.change.value, same.z, same.is_surprise) == (0.0, None, False)
    assert Restated(exact(1.0), exact(2.0)).is_surprise
