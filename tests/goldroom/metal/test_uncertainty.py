"""Measured numbers: effects, cancellation, covariances, and an outside oracle."""

import itertools
import math
import random
import time
from decimal import Decimal

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from goldroom.metal import propagation as pr
from goldroom.metal import uncertainty as un

source = pytest.mark.source


def test_sum_adds_sensitivities_key_by_key():
    a = un.Measured(10.0, {"x": 1.0, "s": 2.0})
    b = un.Measured(20.0, {"y": 3.0, "s": -0.5})
    assert dict((a + b).effects) == {"x": 1.0, "s": 1.5, "y": 3.0}
    assert dict((a - b).effects) == {"x": 1.0, "s": 2.5, "y": -3.0}


def test_product_and_quotient_follow_their_rules():
    a = un.Measured(10.0, {"x": 1.0})
    b = un.Measured(4.0, {"y": 2.0})
    assert dict((a * b).effects) == {"x": 4.0, "y": 20.0}
    assert dict((a / b).effects) == pytest.approx({"x": 0.25, "y": -1.25})
    assert dict((8 / b).effects) == pytest.approx({"y": -1.0})
    assert dict((a**2).effects) == {"x": 20.0}
    assert dict((a**0).effects) == {}


@pytest.mark.parametrize("number", [2, 2.0, Decimal(2)])
def test_plain_numbers_carry_no_error(number):
    a = un.Measured(10.0, {"x": 1.0})
    assert a + number == number + a == un.Measured(12.0, {"x": 1.0})
    assert a - number == un.Measured(8.0, {"x": 1.0})
    assert number - a == un.Measured(-8.0, {"x": -1.0})
    assert a * number == number * a == un.Measured(20.0, {"x": 2.0})
    assert a / number == un.Measured(5.0, {"x": 0.5})
    assert number / a == un.Measured(0.2, {"x": -0.02})


def test_what_cancels_is_dropped():
    a = un.Measured(10.0, {"x": 1.0, "s": 0.1})
    b = un.Measured(20.0, {"y": 1.0, "s": 0.2})
    assert dict((a - a).effects) == {}
    assert set((a + b - b).effects) == {"x", "s"}
    assert set((3 * a * b / b - 3 * a).effects) == set()
    assert dict((a * 0).effects) == {}


def test_errors_are_added_by_scaling_and_shifting():
    weighed = un.reading(Decimal("1363.6"), 0.3, "reading:n")
    weighed = weighed.scaled_by(0.001, "scale:p:slope:1").shifted_by(0.4, "reading:n")
    assert weighed.value == 1363.6
    expected = {"reading:n": 0.7, "scale:p:slope:1": 1.3636}
    assert dict(weighed.effects) == pytest.approx(expected)


def test_arithmetic_never_changes_its_operands():
    a = un.Measured(10.0, {"x": 1.0})
    b = un.Measured(20.0, {"x": 2.0})
    _ = a + b, a - b, a * b, a / b, -a, a.shifted_by(1, "x"), un.total([a, b, a])
    assert dict(a.effects) == {"x": 1.0}
    assert dict(b.effects) == {"x": 2.0}


def test_sum_of_many_equals_total_of_many():
    many = [un.reading(n, 0.1 * n, f"reading:{n % 7}") for n in range(1, 50)]
    assert un.total(many).u == pytest.approx(sum(many).u)
    assert un.total([]) == un.exact(0)


def test_contributions_come_weightiest_first():
    a = un.Measured(1.0, {"b": -3.0, "a": 3.0, "c": 5.0})
    assert a.contributions() == (("c", 5.0), ("a", 3.0), ("b", -3.0))
    assert a.without(["c"]).u == pytest.approx(math.sqrt(18))


def test_shares_of_the_variance_sum_to_one_by_group():
    a = un.Measured(1.0, {"lab:x": 3.0, "lab:y": 4.0, "fse:z": 5.0})
    shares = un.variance_shares(a, lambda key: key.partition(":")[0])
    assert shares == pytest.approx({"fse": 0.5, "lab": 0.5})
    assert list(shares) == ["fse", "lab"]
    assert un.variance_shares(un.exact(1), str) == {}


@pytest.mark.parametrize(
    ("function", "half_width", "u"),
    [
        pytest.param(
            un.rectangular_u, 0.05, 0.02887, marks=source("GUM H.1.3.6; from memory")
        ),
        pytest.param(
            un.arcsine_u, 0.5, 0.35355, marks=source("GUM H.1.3.4; from memory")
        ),
        pytest.param(
            un.triangular_u,
            0.1,
            0.0408,
            marks=source("Eurachem/CITAC QUAM 2012 A1; seen"),
        ),
    ],
)
def test_limits_become_standard_uncertainties(function, half_width, u):
    assert function(half_width) == pytest.approx(u, abs=5e-5)


def test_below_detection_is_half_the_limit_and_covers_nothing_to_all_of_it():
    """A rectangular distribution from 0 to the limit (GUM 4.3.7)."""
    found = un.below_detection(0.6, "rep:a:Au")
    assert found.value == 0.3
    assert found.u == pytest.approx(0.6 / math.sqrt(12))


def test_consecutive_hopper_readings_cancel_in_the_sum_of_increments():
    """Own worked example: 48 increments have 0.707 kg, independent pairs 4.899."""
    readings = [un.reading(20.0 * n, 0.5, f"reading:{n}") for n in range(49)]
    chained = [later - earlier for earlier, later in itertools.pairwise(readings)]
    assert un.total(chained).u == pytest.approx(0.7071, abs=5e-5)
    apart = [
        un.reading(20.0, 0.5, f"reading:a{n}") - un.reading(0.0, 0.5, f"reading:b{n}")
        for n in range(48)
    ]
    assert un.total(apart).u == pytest.approx(4.899, abs=5e-4)


def test_correlation_of_an_exact_number_is_nothing():
    a = un.reading(1, 0.1, "x")
    assert un.corr(a, un.exact(2)) == 0.0
    assert un.corr(a, a) == pytest.approx(1.0)
    assert un.corr(a, -a) == pytest.approx(-1.0)


@pytest.mark.parametrize("seed", range(20))
def test_covariance_matrix_is_sensitivities_times_their_transpose(seed):
    """Oracle: numpy."""
    rng = np.random.default_rng(seed)
    sensitivities = rng.normal(size=(8, 15)) * (rng.random((8, 15)) < 0.4)
    quantities = [
        un.Measured(float(n), {f"e{k}": float(c) for k, c in enumerate(row) if c})
        for n, row in enumerate(sensitivities)
    ]
    expected = sensitivities @ sensitivities.T
    found = un.covariance_matrix(quantities)
    np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-13)
    pair = un.cov(quantities[0], quantities[1])
    assert pair == pytest.approx(expected[0, 1], abs=1e-13)


OPERATIONS = ("add", "sub", "mul", "div", "sin", "cos", "exp", "log", "sqrt", "pow")


def grow(rng, ours, theirs, steps):
    """Return one random expression, built the same way in both libraries."""
    a, b = rng.choice(ours), None
    x = theirs[ours.index(a)]
    for _ in range(steps):
        other = rng.randrange(len(ours))
        b, y = ours[other], theirs[other]
        match rng.choice(OPERATIONS):
            case "add":
                a, x = a + b, x + y
            case "sub":
                a, x = a - 0.3 * b, x - 0.3 * y
            case "mul":
                a, x = a * b, x * y
            case "div":
                a, x = a / b, x / y
            case "sin":
                a, x = pr.sine(a) + b, umath.sin(x) + y
            case "cos":
                a, x = pr.cosine(a) + b, umath.cos(x) + y
            case "exp":
                a, x = pr.exponential(-(a * a) / 50), umath.exp(-(x * x) / 50)
            case "log":
                a, x = pr.logarithm(a * a + 1), umath.log(x * x + 1)
            case "sqrt":
                a, x = pr.square_root(a * a + b), umath.sqrt(x * x + y)
            case "pow":
                a, x = (a * a + 1) ** 0.7, (x * x + 1) ** 0.7
        if abs(a.value) > 1e4:
            a, x = a / 1e4, x / 1e4
    return a, x


@pytest.mark.parametrize("seed", range(240))
def test_random_expressions_agree_with_the_uncertainties_package(seed):
    """Oracle: the `uncertainties` package, to 1e-9 relative for u and covariance."""
    rng = random.Random(seed)
    values = [rng.uniform(1, 9) for _ in range(5)]
    spreads = [value * rng.uniform(0.001, 0.2) for value in values]
    pairs = list(zip(values, spreads, strict=True))
    ours = [un.reading(v, u, f"e{n}") for n, (v, u) in enumerate(pairs)]
    theirs = [uncertainties.ufloat(v, u) for v, u in pairs]
    a, x = grow(rng, ours, theirs, rng.randint(2, 12))
    b, y = grow(rng, ours, theirs, rng.randint(2, 12))
    assert a.value == pytest.approx(x.nominal_value, rel=1e-12)
    assert a.u == pytest.approx(x.std_dev, rel=1e-9)
    assert b.u == pytest.approx(y.std_dev, rel=1e-9)
    matrix = uncertainties.covariance_matrix([x, y])
    assert un.cov(a, b) == pytest.approx(matrix[0][1], rel=1e-9, abs=1e-9 * a.u * b.u)
    together = a * b - a
    assert together.u == pytest.approx((x * y - x).std_dev, rel=1e-9)


def test_a_hundred_thousand_operations_take_seconds_not_minutes():
    """A year of one mine is some hundred thousand products and sums."""
    mass = un.reading(1000, 0.5, "reading:m").scaled_by(1e-3, "scale:a:slope:1")
    grade = un.reading(2000, 5, "rep:a:Au").scaled_by(5e-3, "lab:l:fa:Au:1")
    began = time.perf_counter()
    metal = un.total(mass * grade for _ in range(50_000))
    assert time.perf_counter() - began < 20
    assert metal.value == pytest.approx(50_000 * 2e6)
    assert len(metal.effects) == 4
