"""One split of feed into two products that fits the assays of several metals."""

import math

import numpy as np
import pytest
import uncertainties
from scipy import optimize, stats
from uncertainties import ufloat

from goldroom.errors import NotTwoProducts
from goldroom.metal import two_product
from goldroom.metal.two_products import Grades, recovery_amplification, split_of
from goldroom.metal.uncertainty import exact

source = pytest.mark.source
WILLS = "Wills' Mineral Processing Technology, chapter 3, from memory; own figures"
GOLD, SILVER = (2084, 340_000, 800), (313, 47_500, 132)
RELATIVE = (0.05, 0.015, 0.04)


def grades(values, name, relative=RELATIVE):
    return Grades(
        *(
            exact(value).scaled_by(u, f"{name}:{product}")
            for value, u, product in zip(values, relative, "fct", strict=True)
        )
    )


def both():
    return split_of([grades(GOLD, "Au"), grades(SILVER, "Ag")])


@source(WILLS)
def test_gold_and_silver_of_the_table_give_one_yield():
    found = both()
    assert found.mass_yield == pytest.approx(0.00380185, abs=5e-9)
    assert found.u == pytest.approx(0.00023968, abs=5e-9)
    assert found.chi2 == pytest.approx(0.005533, abs=5e-7)
    assert found.degrees_of_freedom == 1
    assert found.recovered == pytest.approx((0.618605, 0.578648), abs=5e-7)


@source(WILLS)
@pytest.mark.parametrize(
    ("values", "expected"), [(GOLD, 0.00378538), (SILVER, 0.00382115)]
)
def test_one_metal_alone_gives_its_two_product_yield(values, expected):
    found = split_of([grades(values, "one")])
    assert found.mass_yield == pytest.approx(expected, abs=5e-9)
    feed, concentrate, tails = map(exact, values)
    known = {"feed": feed, "concentrate": concentrate, "tails": tails}
    assert found.mass_yield == pytest.approx(
        two_product.mass_yield(**known).value, rel=1e-13
    )
    assert found.recovered[0] == pytest.approx(
        two_product.metal_recovery(**known).value, rel=1e-12
    )
    assert found.chi2 == pytest.approx(0, abs=1e-18)


@source("the `uncertainties` package: the two-product yield of one metal")
def test_one_metals_yield_is_as_uncertain_as_an_outside_library_says():
    f, c, t = (ufloat(v, v * u) for v, u in zip(GOLD, RELATIVE, strict=True))
    found = split_of([grades(GOLD, "Au")])
    assert found.u == pytest.approx(uncertainties.std_dev((f - t) / (c - t)), rel=1e-9)


def sum_of_squares(guess, metals):
    """Return the squares of all adjustments over their uncertainties."""
    seen = np.array([[v for v in each] for each in metals], dtype=float)
    u = seen * np.array(RELATIVE)
    return (((np.reshape(guess, seen.shape) - seen) / u) ** 2).sum()


@source("scipy.optimize.minimize, SLSQP: adjusted grades under one held yield")
def test_adjusted_grades_are_the_nearest_ones_that_hold():
    metals, found = (GOLD, SILVER), both()
    held = [
        {
            "type": "eq",
            "fun": lambda x, n=n: (
                x[3 * n]
                - found.mass_yield * x[3 * n + 1]
                - (1 - found.mass_yield) * x[3 * n + 2]
            ),
        }
        for n in range(2)
    ]
    start = np.array(metals, dtype=float).ravel()
    best = optimize.minimize(
        sum_of_squares, start, args=(metals,), constraints=held, method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 500},
    )  # fmt: skip
    assert best.fun == pytest.approx(found.chi2, rel=1e-5)
    assert np.ravel(found.adjusted) == pytest.approx(best.x, rel=1e-6)
    for feed, concentrate, tails in found.adjusted:
        mixed = found.mass_yield * concentrate + (1 - found.mass_yield) * tails
        assert mixed == pytest.approx(feed, rel=1e-12)


@source("scipy.optimize.least_squares: grades and yield sought together")
def test_holding_the_weights_moves_the_yield_by_far_less_than_its_uncertainty():
    metals, found = (GOLD, SILVER), both()
    seen = np.array(metals, dtype=float)
    u = seen * np.array(RELATIVE)

    def residuals(x):
        products = x[1:].reshape(2, 2)
        feed = x[0] * products[:, 0] + (1 - x[0]) * products[:, 1]
        now = np.column_stack([feed, products])
        return ((now - seen) / u).ravel()

    start = np.concatenate([[found.mass_yield], seen[:, 1:].ravel()])
    best = optimize.least_squares(
        residuals, start, x_scale=np.abs(start), xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    assert abs(best.x[0] - found.mass_yield) < 0.01 * found.u
    assert 2 * best.cost == pytest.approx(found.chi2, rel=0.01)


@source("scipy.stats.chi2: distribution of the weighted sum of squares")
def test_the_sum_of_squares_is_distributed_as_chi_squared():
    rng = np.random.default_rng(11)
    true_yield, found = 0.0038, []
    products = [(340_000.0, 800.0), (47_500.0, 132.0), (9_000.0, 60.0)]
    truth = np.array(
        [(true_yield * c + (1 - true_yield) * t, c, t) for c, t in products]
    )
    for _ in range(2000):
        seen = truth * (1 + np.array(RELATIVE) * rng.standard_normal(truth.shape))
        if not all(c > f > t for f, c, t in seen):
            continue
        split = split_of([grades(row, str(n)) for n, row in enumerate(seen)])
        found.append(split.chi2)
    assert len(found) > 1900
    assert np.mean(found) == pytest.approx(2, abs=0.15)
    assert stats.kstest(found, stats.chi2(2).cdf).pvalue > 0.001


def test_an_assay_that_is_wrong_shows_in_the_fit():
    wrong = (GOLD[0] * 1.5, *GOLD[1:])
    found = split_of(
        [grades(wrong, "Au"), grades(SILVER, "Ag"), grades((95, 11_000, 52), "Cu")]
    )
    assert found.chi2 > stats.chi2(2).ppf(0.999)


@source("closed form of a published abstract on recovery formulas (2023); own figures")
def test_recovery_is_amplified_by_about_the_rule():
    exactly, rule = recovery_amplification(feed=2, concentrate=25, tails=0.4)
    assert rule == pytest.approx(0.3536, abs=5e-5)
    assert exactly == pytest.approx(0.3426, abs=5e-5)


@source("the `uncertainties` package: the recovery formula")
@pytest.mark.parametrize("values", [(2, 25, 0.4), (4, 2400, 2.2), GOLD, (2, 40, 0.3)])
def test_amplification_is_what_an_outside_library_propagates(values):
    f, c, t = (ufloat(value, value * 1e-3) for value in values)
    told = c * (f - t) / (f * (c - t))
    relative = uncertainties.std_dev(told) / uncertainties.nominal_value(told)
    exactly, _ = recovery_amplification(
        feed=values[0], concentrate=values[1], tails=values[2]
    )
    assert exactly == pytest.approx(relative / 1e-3, rel=1e-9)


@pytest.mark.parametrize(
    "metals",
    [
        pytest.param([], id="no metal at all"),
        pytest.param([grades((14, 12, 20), "x")], id="grades out of order"),
        pytest.param([grades((2, 10, 2), "x")], id="tails as rich as the feed"),
        pytest.param(
            [grades(GOLD, "Au", (0, 0.015, 0))], id="exact grades of feed and tails"
        ),
    ],
)
def test_what_is_no_split_is_refused(metals):
    with pytest.raises(NotTwoProducts):
        split_of(metals)


def test_metals_that_contradict_each_other_settle_on_no_yield():
    """Both exact where the other is not: each round throws the yield across."""
    first = Grades(
        exact(154).shifted_by(0.001, "f1"),
        exact(154.69).shifted_by(0.1, "c1"),
        exact(94.18).shifted_by(0.1, "t1"),
    )
    second = Grades(
        exact(147.4).shifted_by(0.1, "f2"),
        exact(162.58).shifted_by(0.001, "c2"),
        exact(36.89).shifted_by(10, "t2"),
    )
    with pytest.raises(NotTwoProducts, match="never settle"):
        split_of([first, second])


def test_amplification_of_what_is_no_split_is_refused():
    with pytest.raises(NotTwoProducts, match="do not fall in that order"):
        recovery_amplification(feed=14, concentrate=12, tails=20)


def test_weights_follow_the_yield_until_it_stands():
    """A rich concentrate's error counts by the square of the yield alone."""
    found = split_of([grades((500, 1000, 10), "a"), grades((400, 1100, 20), "b")])
    again = [
        1 / (f.feed.variance + found.mass_yield**2 * f.concentrate.variance
             + (1 - found.mass_yield) ** 2 * f.tails.variance)
        for f in (grades((500, 1000, 10), "a"), grades((400, 1100, 20), "b"))
    ]  # fmt: skip
    spread = [990, 1080]
    told = sum(
        w * d * s for w, d, s in zip(again, (490, 380), spread, strict=True)
    ) / sum(w * s * s for w, s in zip(again, spread, strict=True))
    assert found.mass_yield == pytest.approx(told, rel=1e-12)
    assert math.isfinite(found.u)
