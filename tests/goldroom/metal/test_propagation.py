"""Propagation through functions: the GUM's end gauge and correlated impedance."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from goldroom.errors import NotACorrelation
from goldroom.metal import propagation as pr
from goldroom.metal import uncertainty as un

source = pytest.mark.source
OBSERVATIONS = Path(__file__).parents[3] / "fixtures/metal/gum_h2_observations.csv"


# ------------------------------------------------------- GUM H.1, end gauge

END_GAUGE_DOF = {
    "standard": 18,
    "repeat": 24,
    "comparator random": 5,
    "comparator shared": 8,
    "expansion difference": 50,
    "temperature difference": 2,
}


def end_gauge():
    """Return the length l = l_s + d - l_s (da theta + a_s dtheta), in nanometres."""
    standard = un.reading(50_000_623, 25, "standard")
    difference = (
        un.reading(215, 5.8, "repeat")
        .shifted_by(3.9, "comparator random")
        .shifted_by(6.7, "comparator shared")
    )
    expansion_difference = un.reading(0, un.rectangular_u(1e-6), "expansion difference")
    temperature_difference = un.reading(
        0, un.rectangular_u(0.05), "temperature difference"
    )
    expansion = un.reading(11.5e-6, un.rectangular_u(2e-6), "expansion")
    deviation = un.reading(-0.1, 0.2, "bed").shifted_by(un.arcsine_u(0.5), "cycle")
    return (
        standard
        + difference
        - standard
        * (expansion_difference * deviation + expansion * temperature_difference)
    )


H1 = "JCGM 100:2008 H.1; seen"


@pytest.mark.parametrize(
    ("keys", "contribution", "tolerance"),
    [
        pytest.param(["standard"], 25, 1e-3, marks=source(H1)),
        pytest.param(
            ["repeat", "comparator random", "comparator shared"],
            9.68,
            0.005,
            marks=source(H1),
        ),
        pytest.param(["expansion difference"], 2.887, 5e-4, marks=source(H1)),
        pytest.param(["temperature difference"], 16.599, 5e-4, marks=source(H1)),
        pytest.param(["expansion", "bed", "cycle"], 0.0, 1e-9, marks=source(H1)),
    ],
)
def test_end_gauge_contributions(keys, contribution, tolerance):
    effects = end_gauge().effects
    found = math.hypot(*(effects.get(key, 0.0) for key in keys))
    assert found == pytest.approx(contribution, abs=tolerance)


@pytest.mark.parametrize(
    ("what", "expected", "tolerance"),
    [
        pytest.param("length", 50_000_838, 0.5, marks=source(H1)),
        pytest.param("u", 31.66, 0.005, marks=source(H1)),
        pytest.param("rounded u", 32, 0, marks=source(H1)),
        pytest.param("dof", 16.7, 0.06, marks=source(H1)),
        pytest.param("t99", 2.92, 0.005, marks=source(H1)),
        pytest.param("U99", 93, 0.6, marks=source(H1)),
    ],
)
def test_end_gauge_result(what, expected, tolerance):
    gauge = end_gauge()
    dof = pr.effective_dof(gauge, END_GAUGE_DOF)
    t99 = scipy.stats.t.ppf(0.995, math.floor(dof))
    found = {
        "length": gauge.value,
        "u": gauge.u,
        "rounded u": round(gauge.u),
        "dof": dof,
        "t99": t99,
        "U99": t99 * gauge.u,
    }
    assert found[what] == pytest.approx(expected, abs=tolerance)


def test_effective_dof_is_infinite_when_every_effect_is_known():
    assert pr.effective_dof(end_gauge(), {}) == math.inf


# ------------------------------------------- GUM H.2, correlated observations


def observed_inputs():
    """Return voltage, current in amperes and phase from the raw observations."""
    with OBSERVATIONS.open(newline="") as lines:
        rows = [[float(x) for x in row.values()] for row in csv.DictReader(lines)]
    table = np.array(rows) * [1.0, 1e-3, 1.0]
    return pr.correlated(
        table.mean(axis=0).tolist(),
        uncertainties=(table.std(axis=0, ddof=1) / math.sqrt(len(table))).tolist(),
        correlations=np.corrcoef(table.T).tolist(),
        key="impedance",
    )


def rounded_inputs():
    return pr.correlated(
        [4.999, 19.661e-3, 1.04446],
        uncertainties=[3.2e-3, 9.5e-6, 0.75e-3],
        correlations=[[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]],
        key="impedance",
    )


def impedance(inputs):
    voltage, current, phase = inputs
    return {
        "R": voltage * pr.cosine(phase) / current,
        "X": voltage * pr.sine(phase) / current,
        "Z": voltage / current,
    }


H2 = "JCGM 100:2008 H.2 Table H.4; seen"


@pytest.mark.parametrize(
    ("name", "value", "u"),
    [
        pytest.param("R", 127.732, 0.0711, marks=source(H2)),
        pytest.param("X", 219.847, 0.2956, marks=source(H2)),
        pytest.param("Z", 254.260, 0.2363, marks=source(H2)),
    ],
)
def test_impedance_from_raw_observations(name, value, u):
    found = impedance(observed_inputs())[name]
    assert found.value == pytest.approx(value, abs=5.1e-4)
    assert found.u == pytest.approx(u, abs=5.1e-5)


@pytest.mark.parametrize(
    ("one", "other", "correlation"),
    [
        pytest.param("R", "X", -0.588, marks=source(H2)),
        pytest.param("R", "Z", -0.485, marks=source(H2)),
        pytest.param("X", "Z", 0.993, marks=source(H2)),
    ],
)
def test_impedance_results_are_correlated(one, other, correlation):
    found = impedance(observed_inputs())
    correlated = un.corr(found[one], found[other])
    assert correlated == pytest.approx(correlation, abs=5.1e-4)


@pytest.mark.parametrize(
    ("index", "u"),
    [
        pytest.param(0, 0.003209, marks=source(H2)),
        pytest.param(1, 0.009471e-3, marks=source(H2)),
        pytest.param(2, 0.000752, marks=source(H2)),
    ],
)
def test_observed_inputs_keep_their_uncertainty(index, u):
    assert observed_inputs()[index].u == pytest.approx(u, rel=2e-4)


@pytest.mark.parametrize(
    ("one", "other", "correlation"),
    [
        pytest.param(0, 1, -0.3553, marks=source(H2)),
        pytest.param(0, 2, 0.8576, marks=source(H2)),
        pytest.param(1, 2, -0.6451, marks=source(H2)),
    ],
)
def test_observed_inputs_keep_their_correlation(one, other, correlation):
    inputs = observed_inputs()
    found = un.corr(inputs[one], inputs[other])
    assert found == pytest.approx(correlation, abs=5.1e-5)


@pytest.mark.parametrize(
    ("name", "u"),
    [
        pytest.param("R", 0.0700, marks=source(f"{H2}, rounded inputs")),
        pytest.param("X", 0.2957, marks=source(f"{H2}, rounded inputs")),
        pytest.param("Z", 0.2366, marks=source(f"{H2}, rounded inputs")),
    ],
)
def test_impedance_from_rounded_inputs(name, u):
    assert impedance(rounded_inputs())[name].u == pytest.approx(u, abs=5.1e-5)


@pytest.mark.parametrize(("name", "wrong"), [("R", 0.194), ("X", 0.201), ("Z", 0.204)])
def test_ignoring_the_correlation_would_be_wrong_in_both_directions(name, wrong):
    """The trap: independent inputs of the same uncertainties."""
    apart = [
        un.reading(q.value, q.u, f"alone:{n}") for n, q in enumerate(observed_inputs())
    ]
    assert impedance(apart)[name].u == pytest.approx(wrong, abs=6e-4)
    right = impedance(observed_inputs())[name].u
    assert abs(wrong / right - 1) > 0.13


@pytest.mark.parametrize("name", ["R", "X"])
def test_numeric_derivatives_agree_with_the_analytic_ones(name):
    inputs = observed_inputs()
    part, slope = {"R": (math.cos, lambda p: -math.sin(p)), "X": (math.sin, math.cos)}[
        name
    ]
    numeric = pr.propagate(lambda v, i, p: v * part(p) / i, inputs)
    analytic = pr.propagate(
        lambda v, i, p: v * part(p) / i,
        inputs,
        derivatives=[
            lambda v, i, p: part(p) / i,
            lambda v, i, p: -v * part(p) / i**2,
            lambda v, i, p: v * slope(p) / i,
        ],
    )
    by_operators = impedance(inputs)[name]
    assert analytic.u == pytest.approx(by_operators.u, rel=1e-9)
    assert numeric.u == pytest.approx(by_operators.u, rel=1e-8)


@pytest.mark.parametrize("rho", [1.0, -1.0, 0.0, 0.999])
def test_perfect_correlation_can_be_built_too(rho):
    a, b = pr.correlated(
        [1, 2], uncertainties=[0.1, 0.3], correlations=[[1, rho], [rho, 1]], key="pair"
    )
    assert un.corr(a, b) == pytest.approx(rho, abs=1e-12)
    assert (a.u, b.u) == pytest.approx((0.1, 0.3))


@pytest.mark.parametrize(
    ("values", "uncertainties", "table"),
    [
        ([1, 2], [1, 1], [[1, 0.5], [0.4, 1]]),
        ([1, 2], [1, 1], [[1, 0.5], [0.5, 0.9]]),
        ([1, 2], [1], [[1, 0.5], [0.5, 1]]),
        ([1, 2], [1, 1], [[1]]),
        ([1, 2], [1, 1], [[1, 1.2], [1.2, 1]]),
        ([1, 2, 3], [1, 1, 1], [[1, 0.9, -0.9], [0.9, 1, 0.9], [-0.9, 0.9, 1]]),
    ],
)
def test_correlations_that_contradict_themselves_are_refused(
    values, uncertainties, table
):
    with pytest.raises(NotACorrelation):
        pr.correlated(
            values, uncertainties=uncertainties, correlations=table, key="bad"
        )


def test_numeric_slope_at_zero_uses_the_uncertainty_as_its_scale():
    x = un.reading(0.0, 0.5, "x")
    found = pr.propagate(lambda value: 3 * value + value**2, [x])
    assert found.u == pytest.approx(1.5)
    exact = pr.propagate(lambda value: value + 1, [un.exact(0.0)])
    assert exact == un.exact(1.0)
