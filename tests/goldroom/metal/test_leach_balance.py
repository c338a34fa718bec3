"""What a leach recovered, by what came out of it, against worked figures."""

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal.leach_balance import (
    accountability_percent,
    calculated_head,
    recovery_percent,
    staged_recovery_percent,
)
from goldroom.metal.uncertainty import exact, reading

source = pytest.mark.source
WORKED = "metal balance worked by hand; own"


@source(WORKED)
def test_a_leach_is_accounted_by_what_came_out_of_it():
    solution, residue, assayed = exact(120.4), exact(3.1), exact(125.0)
    head = calculated_head(solution=solution, residue=residue)
    assert head.value == pytest.approx(123.5, abs=1e-12)
    recovered = recovery_percent(solution=solution, residue=residue)
    assert recovered.value == pytest.approx(97.490, abs=5e-4)
    accounted = accountability_percent(calculated=head, assayed=assayed)
    assert accounted.value == pytest.approx(98.80, abs=5e-12)


@pytest.mark.parametrize(
    ("stages", "percent"),
    [
        pytest.param((45, 25, 10), 62.875, marks=source(WORKED)),
        pytest.param((45,), 45.0, id="one stage is itself"),
        pytest.param((), 0.0, id="no stage recovers nothing"),
        pytest.param((97, 100), 100.0, id="nothing is left after all"),
    ],
)
def test_stages_recover_of_what_the_one_before_left(stages, percent):
    assert staged_recovery_percent(stages) == pytest.approx(percent, abs=1e-9)


@source("JCGM 100:2008, 5.1.2: law of propagation, worked by hand")
def test_recovery_is_surer_than_the_metal_it_is_made_of():
    """R = S/(S+T): dR/dS = T/(S+T)^2, dR/dT = -S/(S+T)^2."""
    solution = reading(120.4, 2.4, "tank")
    residue = reading(3.1, 0.2, "residue")
    found = recovery_percent(solution=solution, residue=residue)
    by_hand = 100 * ((3.1 * 2.4) ** 2 + (120.4 * 0.2) ** 2) ** 0.5 / 123.5**2
    assert found.u == pytest.approx(by_hand, rel=1e-12)
    assert found.u < 100 * 2.4 / 123.5


def test_a_bias_of_both_cancels_in_the_recovery():
    solution, residue = (
        exact(each).scaled_by(0.02, "laboratory") for each in (120.4, 3.1)
    )
    assert recovery_percent(solution=solution, residue=residue).u == pytest.approx(0)
    head = calculated_head(solution=solution, residue=residue)
    accounted = accountability_percent(calculated=head, assayed=exact(125))
    assert accounted.u == pytest.approx(0.02 * accounted.value)


def test_nothing_out_no_head_and_an_impossible_stage_are_refused():
    for nothing in (
        lambda: recovery_percent(solution=exact(0), residue=exact(0)),
        lambda: accountability_percent(calculated=exact(1), assayed=exact(0)),
        lambda: staged_recovery_percent((45, 101)),
        lambda: staged_recovery_percent((-1,)),
    ):
        with pytest.raises(OutOfRange, match=r"above zero|between 0 and 100"):
            nothing()
