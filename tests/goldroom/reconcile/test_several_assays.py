"""Several assays of one bar: own worked examples, a published puzzle, two oracles."""

import numpy as np
import pytest
import scipy.optimize
import scipy.stats
import uncertainties

from goldroom.errors import OutOfRange
from goldroom.metal.uncertainty import Measured, covariance_matrix, exact, reading
from goldroom.reconcile.several_assays import weighted_mean

THREE = (
    reading(842.6, 0.50, "mine"),
    reading(842.1, 0.24, "party"),
    reading(842.3, 0.17, "refiner"),
)


@pytest.mark.source("own worked example: three assays of one bar")
def test_three_assays_of_one_bar():
    found = weighted_mean(THREE)
    assert found.mean.value == pytest.approx(842.2594, abs=5e-5)
    assert found.mean.u == pytest.approx(0.1337, abs=5e-5)
    assert found.chi2 == pytest.approx(0.9622, abs=5e-5)
    assert found.degrees_of_freedom == 2
    assert found.p == pytest.approx(0.6181, abs=5e-5)


@pytest.mark.source("the `uncertainties` package: inverse-variance mean")
def test_independent_assays_are_weighted_by_one_over_their_variance():
    given = [uncertainties.ufloat(each.value, each.u) for each in THREE]
    weights = [1 / each.std_dev**2 for each in given]
    theirs = sum(w * x for w, x in zip(weights, given, strict=True)) / sum(weights)
    ours = weighted_mean(THREE)
    assert ours.mean.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert ours.mean.u == pytest.approx(theirs.std_dev, rel=1e-12)
    assert ours.weights == pytest.approx([w / sum(weights) for w in weights])


@pytest.mark.source("scipy: least squares fit of a constant, chi-squared tail")
def test_mean_and_chi2_are_those_of_a_fitted_constant():
    values, us = [each.value for each in THREE], [each.u for each in THREE]
    best, spread = scipy.optimize.curve_fit(
        lambda _, level: level, [0, 1, 2], values, p0=[842.0], sigma=us,
        absolute_sigma=True,
    )  # fmt: skip
    ours = weighted_mean(THREE)
    assert ours.mean.value == pytest.approx(best[0], rel=1e-9)
    assert ours.mean.u == pytest.approx(spread[0, 0] ** 0.5, rel=1e-6)
    chi2 = sum(((x - best[0]) / u) ** 2 for x, u in zip(values, us, strict=True))
    assert ours.chi2 == pytest.approx(chi2, rel=1e-6)
    assert ours.p == pytest.approx(1 - scipy.stats.chi2(2).cdf(chi2), rel=1e-6)


def shared(value: float, own: float, common: float) -> Measured:
    """Return a value with an own relative error and one that all share."""
    return exact(value).scaled_by(own, f"own:{value}").scaled_by(common, "common")


@pytest.mark.source("Peelle's puzzle (1987), as quoted by D'Agostini; from memory")
def test_a_shared_error_may_pull_the_mean_outside_the_results():
    """1.5 and 1.0, each 10 % of its own and 20 % shared: 0.88 +- 0.22."""
    found = weighted_mean([shared(1.5, 0.1, 0.2), shared(1.0, 0.1, 0.2)])
    assert found.mean.value == pytest.approx(0.88, abs=0.005)
    assert found.mean.u == pytest.approx(0.22, abs=0.005)


@pytest.mark.source("numpy: generalised least squares, solved plainly")
@pytest.mark.parametrize("common", [0.0, 1e-4, 5e-4])
def test_correlated_assays_are_weighted_by_their_covariance(common):
    results = [shared(842.6, 6e-4, common), shared(842.1, 3e-4, common),
               shared(842.3, 2e-4, common)]  # fmt: skip
    inverse = np.linalg.inv(covariance_matrix(results))
    ones, x = np.ones(3), np.array([each.value for each in results])
    u2 = 1 / (ones @ inverse @ ones)
    mean = u2 * (ones @ inverse @ x)
    found = weighted_mean(results)
    assert found.mean.value == pytest.approx(mean, rel=1e-9)
    assert found.mean.u == pytest.approx(u2**0.5, rel=1e-9)
    assert found.chi2 == pytest.approx((x - mean) @ inverse @ (x - mean), rel=1e-6)
    assert found.mean.u >= common * 842


def test_one_assay_is_its_own_mean_and_agrees():
    found = weighted_mean(THREE[:1])
    assert (found.mean.value, found.mean.u) == (842.6, pytest.approx(0.5))
    assert (found.chi2, found.degrees_of_freedom, found.p) == (0.0, 0, 1.0)


@pytest.mark.parametrize(
    "results",
    [
        pytest.param([], id="none"),
        pytest.param([exact(842.6), reading(842.1, 0.2, "a")], id="an exact one"),
        pytest.param(
            [reading(842.6, 0.2, "a"), reading(842.1, 0.2, "a")], id="all shared"
        ),
    ],
)
def test_results_that_cannot_be_weighted_are_refused(results):
    with pytest.raises(OutOfRange):
        weighted_mean(results)
