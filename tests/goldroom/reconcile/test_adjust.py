"""Adjustment, correlated balances, and an outside library as oracle."""

import itertools
import random

import numpy as np
import pytest
import uncertainties
from uncertainties import ufloat

from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.adjust import adjust
from goldroom.reconcile.amounts import Amount, posted
from goldroom.reconcile.balance import balance_of
from goldroom.reconcile.network import Parcel, Way, incidence
from goldroom.reconcile.quantities import Contents

AT = "2026-10-05T08:00:00Z"


def parcel(name: str, amount: Amount, from_step: str, to_step: str) -> Parcel:
    contents = Contents(name, "assay", amount, amount, amount)
    return Parcel(Way("passed", from_step, to_step, AT), name, "lot", contents)


def three_steps(*, middle_t: float = 385.0) -> list[Parcel]:
    """Return our own worked example: C-L, L-X-T, X-B-S with a shared laboratory."""
    rows = (
        ("C", 1000.0, 20.0, True, "", "one"),
        ("L", 980.0, 20.0, True, "one", "two"),
        ("X", 610.0, 5.0, False, "two", "three"),
        ("T", middle_t, 10.0, True, "two", ""),
        ("B", 604.0, 0.5, False, "three", ""),
        ("S", 2.0, 0.5, False, "three", ""),
    )
    parcels = []
    for name, value, u, is_assayed, from_step, to_step in rows:
        quantity = exact(value).shifted_by(u, f"own:{name}")
        if is_assayed:
            quantity = quantity.scaled_by(0.005, "lab")
        parcels.append(parcel(name, posted(quantity), from_step, to_step))
    return parcels


STEPS = [frozenset({name}) for name in ("one", "two", "three")]


def adjusted(parcels: list[Parcel]):
    quantities = [each.contents.gold.measured for each in parcels]
    return adjust(incidence(parcels, STEPS), quantities)


def test_three_steps_give_the_unaccounted_and_covariance_of_the_worked_example():
    found = adjusted(three_steps())
    assert found.unaccounted == pytest.approx([20, -15, 4])
    assert found.unaccounted_covariance == pytest.approx(
        np.array([[800.01, -399.7025, 0], [-399.7025, 533.850625, -25], [0, -25, 25.5]])
    )
    assert found.z == pytest.approx([0.7071, -0.6492, 0.7921], abs=5e-5)
    assert found.chi2 == pytest.approx(1.13125, abs=5e-6)
    assert found.p == pytest.approx(0.76954, abs=5e-6)


def test_three_steps_give_the_adjusted_quantities_of_the_worked_example():
    found = adjusted(three_steps())
    assert found.values == pytest.approx(
        [990.7416, 990.7416, 606.0767, 384.6649, 604.0384, 2.0384], abs=5e-5
    )
    assert found.u == pytest.approx(
        [8.6748, 8.6748, 0.6996, 8.6638, 0.4973, 0.4973], abs=5e-5
    )


def test_sixty_grams_taken_at_the_second_step_are_seen_by_the_whole():
    found = adjusted(three_steps(middle_t=325.0))
    assert found.unaccounted[1] == pytest.approx(45)
    # the worked example keeps the covariance of the untouched figures
    kept = adjusted(three_steps()).unaccounted_covariance
    r = np.array([20.0, 45.0, 4.0])
    assert r @ np.linalg.solve(kept, r) == pytest.approx(12.33676, abs=5e-6)
    assert 45 / np.sqrt(kept[1, 1]) == pytest.approx(1.95, abs=5e-3)


def test_balances_of_the_same_parcels_agree_with_the_matrix():
    parcels = three_steps()
    found = adjusted(parcels)
    for n, step in enumerate(STEPS):
        balance = balance_of(parcels, step, "gold").unaccounted
        assert float(balance.posted_g) == pytest.approx(found.unaccounted[n])
        assert balance.u_g**2 == pytest.approx(found.unaccounted_covariance[n, n])
    whole = balance_of(parcels, frozenset().union(*STEPS), "gold").unaccounted
    assert float(whole.posted_g) == pytest.approx(9.0)
    assert whole.u_g == pytest.approx(22.5822, abs=5e-5)


@pytest.mark.source("weighted least squares by hand: 100 = 60.5 + 41.0, check value M9")
def test_a_split_is_adjusted_by_its_variances():
    quantities = [
        exact(100.0).shifted_by(1.0, "a"),
        exact(60.5).shifted_by(0.5, "b"),
        exact(41.0).shifted_by(0.5, "c"),
    ]
    found = adjust(np.array([[1.0, -1.0, -1.0]]), quantities)
    assert found.unaccounted == pytest.approx([-1.5])
    assert found.values == pytest.approx([101.00, 60.25, 40.75])
    assert found.chi2 == pytest.approx(1.5)
    assert found.chi2 < 3.84
    assert found.degrees_of_freedom == 1


@pytest.mark.source(
    "Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000):"
    " heat exchanger with by-pass, measured flows and adjusted values"
)
def test_a_published_network_is_adjusted_to_its_published_flows():
    flows = (101.91, 64.45, 34.65, 64.2, 36.44, 98.88)
    network = np.array(
        [
            [1, -1, -1, 0, 0, 0],
            [0, 1, 0, -1, 0, 0],
            [0, 0, 1, 0, -1, 0],
            [0, 0, 0, 1, 1, -1],
        ],
        dtype=float,
    )
    measured = [exact(y).shifted_by(1.0, f"f{n}") for n, y in enumerate(flows)]
    found = adjust(network, measured)
    assert found.values == pytest.approx(
        [100.22, 64.50, 35.72, 64.50, 35.72, 100.22], abs=5e-3
    )
    biased = [*measured]
    biased[1] = exact(68.45).shifted_by(1.0, "f1")
    assert adjust(network, biased).chi2 == pytest.approx(16.674, abs=5e-4)


@pytest.mark.source("the uncertainties package, as an independent propagation")
@pytest.mark.parametrize("seed", range(5))
def test_random_networks_have_the_covariances_of_an_outside_library(seed):
    dice = random.Random(seed)
    shared = {name: ufloat(0, 1) for name in ("scale", "lab", "sampler")}
    parcels, theirs = [], []
    nodes = ["", "one", "two", "three"]
    for n in range(14):
        mass, grade = dice.uniform(10, 90), dice.uniform(0.1, 0.9)
        ours = Measured(mass).scaled_by(0.01, "scale").shifted_by(0.3, f"r{n}") * (
            Measured(grade)
            .scaled_by(0.02, "lab")
            .scaled_by(0.03, "sampler")
            .scaled_by(0.05, f"s{n}")
        )
        their_mass = mass * (1 + 0.01 * shared["scale"]) + ufloat(0, 0.3)
        their_grade = grade * (
            1 + 0.02 * shared["lab"] + 0.03 * shared["sampler"] + ufloat(0, 0.05)
        )
        from_step, to_step = dice.sample(nodes, 2)
        parcels.append(parcel(f"p{n}", posted(ours), from_step, to_step))
        theirs.append((their_mass * their_grade, from_step, to_step))
    their_r = [
        sum(y * ((to in step) - (start in step)) for y, start, to in theirs)
        for step in STEPS
    ]
    expected = np.array(uncertainties.covariance_matrix(their_r))
    found = adjust(
        incidence(parcels, STEPS), [each.contents.gold.measured for each in parcels]
    )
    assert found.unaccounted == pytest.approx([r.nominal_value for r in their_r])
    spread = np.sqrt(np.diag(expected))
    worst = np.abs(found.unaccounted_covariance - expected) / np.outer(spread, spread)
    assert worst.max() < 1e-9
    for a, b in itertools.pairwise(range(3)):
        both = [balance_of(parcels, STEPS[n], "gold").unaccounted for n in (a, b)]
        together = total(each.measured for each in both)
        assert together.u**2 == pytest.approx(
            expected[a, a] + expected[b, b] + 2 * expected[a, b]
        )
