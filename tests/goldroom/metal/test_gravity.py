"""The gravity estimate: our worked figures, an iteration, and its elasticities."""

import pytest
import uncertainties

from goldroom.errors import OutOfRange
from goldroom.metal import effect_keys, gravity
from goldroom.metal.starting_uncertainties import STARTING
from goldroom.metal.uncertainty import exact, reading, total

source = pytest.mark.source
OWN = "own worked example"

FEED = exact(1800)
HEAD = exact(4.0)


def circuit(fed_from_mill_discharge=False):
    return gravity.Circuit(
        grg_fraction=exact(0.45),
        mill_survival=exact(0.98),
        classifier_return=exact(0.98),
        fed_from_mill_discharge=fed_from_mill_discharge,
    )


@pytest.mark.parametrize(
    ("from_mill", "phi", "grams"),
    [
        pytest.param(False, 0.679702, 2202.236, marks=source(OWN)),
        pytest.param(True, 0.693574, 2247.179, marks=source(OWN)),
    ],
)
def test_estimate_for_a_day(from_mill, phi, grams):
    mill = circuit(from_mill)
    share = gravity.recovered_share_of_grg(
        circuit=mill, removed_fraction=exact(0.25 * 0.35)
    )
    unit = gravity.UnitRun(exact(0.25), exact(0.35))
    estimate = gravity.gravity_gold_g(
        dry_feed_t=FEED, head_gpt=HEAD, circuit=mill, units=[unit]
    )
    assert share.value == pytest.approx(phi, abs=5.1e-7)
    assert estimate.value == pytest.approx(grams, abs=5.1e-4)


def test_recovery_and_circulating_gold_of_the_day():
    removed = exact(0.0875)
    share = gravity.recovered_share_of_grg(circuit=circuit(), removed_fraction=removed)
    passing = gravity.grg_in_mill_discharge_g(
        dry_feed_t=FEED, head_gpt=HEAD, circuit=circuit(), removed_fraction=removed
    )
    assert 45 * share.value == pytest.approx(30.5866, abs=5.1e-5)
    assert passing.value == pytest.approx(25_682, abs=0.5)
    assert passing.value / (1800 * 4 * 0.45) == pytest.approx(7.93, abs=0.005)


@pytest.mark.parametrize("from_mill", [False, True])
@pytest.mark.parametrize("survival", [0.90, 0.98])
@pytest.mark.parametrize("returned", [0.95, 0.99])
@pytest.mark.parametrize("removed", [0.02, 0.0875, 0.5])
def test_closed_form_equals_the_circuit_run_round_and_round(
    from_mill, survival, returned, removed
):
    """Oracle: follow one gram of GRG around the circuit until nothing moves."""
    in_mill, caught = 1.0, 0.0
    for _ in range(3000):
        discharged = survival * in_mill
        if from_mill:
            caught += discharged * removed
            in_mill = discharged * (1 - removed) * returned
        else:
            underflow = discharged * returned
            caught += underflow * removed
            in_mill = underflow * (1 - removed)
    mill = gravity.Circuit(
        exact(0.5), exact(survival), exact(returned), fed_from_mill_discharge=from_mill
    )
    found = gravity.recovered_share_of_grg(
        circuit=mill, removed_fraction=exact(removed)
    )
    assert found.value == pytest.approx(caught, rel=1e-9)


def test_saturating_bowl_and_stops_lower_the_estimate():
    """Own worked example: 60 min cycle, 2 min flush, two units."""
    recovery = gravity.mean_recovery(
        initial_recovery=exact(0.45), time_constant_min=exact(90), cycle_min=60
    )
    availability = gravity.availability_fraction(cycle_min=60, flush_min=2)
    unit = gravity.UnitRun(exact(0.125), recovery, availability)
    estimate = gravity.gravity_gold_g(
        dry_feed_t=FEED, head_gpt=HEAD, circuit=circuit(), units=[unit, unit]
    )
    cleanups = 2 * 24 * 60 / 62
    assert recovery.value == pytest.approx(0.328443, abs=5.1e-7)
    assert availability == pytest.approx(0.967742, abs=5.1e-7)
    assert estimate.value == pytest.approx(2133.124, abs=5.1e-4)
    assert cleanups == pytest.approx(46.45, abs=0.005)
    assert estimate.value / cleanups == pytest.approx(45.921, abs=5.1e-4)


@pytest.mark.parametrize(
    ("parameter", "elasticity"),
    [("survival", 8.1), ("return", 8.1), ("treated", 0.32), ("recovery", 0.32)],
)
def test_one_per_cent_moves_the_estimate_by_so_much(parameter, elasticity):
    """Own worked example: elasticities, one relative standard uncertainty each."""
    mill = gravity.Circuit(
        grg_fraction=exact(0.45).scaled_by(1, "grg"),
        mill_survival=exact(0.98).scaled_by(1, "survival"),
        classifier_return=exact(0.98).scaled_by(1, "return"),
    )
    unit = gravity.UnitRun(
        exact(0.25).scaled_by(1, "treated"), exact(0.35).scaled_by(1, "recovery")
    )
    found = gravity.gravity_gold_g(
        dry_feed_t=FEED,
        head_gpt=HEAD.scaled_by(1, "head"),
        circuit=mill,
        units=[unit],
    )
    per_cent = found.effects[parameter] / found.value
    assert per_cent == pytest.approx(elasticity, abs=0.05 if elasticity > 1 else 0.005)
    assert found.effects["head"] == pytest.approx(found.value)
    assert found.effects["grg"] == pytest.approx(found.value)


def test_estimate_agrees_with_the_uncertainties_package():
    """Oracle: the `uncertainties` package."""
    b, c = uncertainties.ufloat(0.98, 0.01), uncertainties.ufloat(0.97, 0.008)
    p, rho = uncertainties.ufloat(0.25, 0.02), uncertainties.ufloat(0.35, 0.03)
    h, g = uncertainties.ufloat(4, 0.3), uncertainties.ufloat(0.45, 0.02)
    phi = b * c * p * rho / (1 - b * c * (1 - p * rho))
    theirs = 1800 * h * g * phi
    mill = gravity.Circuit(
        reading(0.45, 0.02, "g"), reading(0.98, 0.01, "b"), reading(0.97, 0.008, "c")
    )
    unit = gravity.UnitRun(reading(0.25, 0.02, "p"), reading(0.35, 0.03, "rho"))
    ours = gravity.gravity_gold_g(
        dry_feed_t=FEED, head_gpt=reading(4, 0.3, "h"), circuit=mill, units=[unit]
    )
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert ours.u == pytest.approx(theirs.std_dev, rel=1e-9)


def test_absolute_estimate_of_a_week_is_good_to_about_an_eighth():
    """With the starting uncertainties: 12 % that a week's averaging cannot shrink."""
    spread = {name: row.shared.u for name, row in STARTING.items()}
    key = effect_keys.gravity_parameter
    mill = gravity.Circuit(
        exact(0.45).scaled_by(spread["gravity_grg_fraction"], key("grg")),
        exact(0.98).scaled_by(spread["gravity_mill_survival"], key("survival")),
        exact(0.98).scaled_by(spread["gravity_classifier_return"], key("return")),
    )
    unit = gravity.UnitRun(
        exact(0.25).scaled_by(spread["gravity_treated_fraction"], key("treated", "u1")),
        exact(0.35).scaled_by(spread["gravity_unit_recovery"], key("recovery", "u1")),
    )
    head_u = STARTING["gravity_head_assay"].random.u
    days = [
        gravity.gravity_gold_g(
            dry_feed_t=FEED,
            head_gpt=HEAD.scaled_by(head_u, effect_keys.head_assay(f"day-{day}")),
            circuit=mill,
            units=[unit],
        )
        for day in range(7)
    ]
    week = total(days)
    shared = week.without(effect_keys.head_assay(f"day-{day}") for day in range(7))
    weekly_random = (week.variance - shared.variance) ** 0.5
    assert shared.u / week.value == pytest.approx(0.12, abs=0.005)
    assert weekly_random / week.value == pytest.approx(0.12 / 7**0.5, rel=1e-9)


def test_estimate_is_split_over_flushes_by_tonnes_and_recovery():
    flushes = [
        gravity.Flush("f1", 75.0, exact(0.04)),
        gravity.Flush("f2", 75.0, exact(0.02)),
        gravity.Flush("f3", 0.0, exact(0.04)),
    ]
    estimate = reading(90.0, 9.0, "e")
    parts = gravity.split_over_flushes(estimate, flushes)
    assert [part.value for part in parts] == pytest.approx([60.0, 30.0, 0.0])
    assert total(parts).value == pytest.approx(90.0)
    assert total(parts).u == pytest.approx(9.0)


def test_errors_of_one_unit_cancel_in_the_sum_of_the_split():
    shaky = exact(0.04).scaled_by(0.1, "gravity:recovery:u1")
    flushes = [
        gravity.Flush("f1", 75.0, shaky),
        gravity.Flush("f2", 75.0, exact(0.04)),
    ]
    first, second = gravity.split_over_flushes(exact(100.0), flushes)
    assert first.u == pytest.approx(2.5)
    assert second.u == pytest.approx(2.5)
    assert (first + second).u == pytest.approx(0.0, abs=1e-12)


def test_split_without_feed_is_refused():
    with pytest.raises(OutOfRange):
        gravity.split_over_flushes(exact(1.0), [gravity.Flush("f1", 0.0, exact(0.04))])


@pytest.mark.parametrize("wrong", [-0.01, 1.01, 45.0])
def test_fraction_in_per_cent_is_refused(wrong):
    with pytest.raises(OutOfRange, match="divided by 100"):
        gravity.Circuit(exact(wrong), exact(0.98), exact(0.98))
    with pytest.raises(OutOfRange):
        gravity.UnitRun(exact(0.25), exact(wrong))


@pytest.mark.parametrize(("cycle", "flush"), [(0, 2), (-1, 2), (60, -1)])
def test_cycle_without_a_length_is_refused(cycle, flush):
    with pytest.raises(OutOfRange):
        gravity.availability_fraction(cycle_min=cycle, flush_min=flush)


def test_recovery_over_a_cycle_without_a_length_is_refused():
    with pytest.raises(OutOfRange):
        gravity.mean_recovery(
            initial_recovery=exact(0.45), time_constant_min=exact(90), cycle_min=0
        )
