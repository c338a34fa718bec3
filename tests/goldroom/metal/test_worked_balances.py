"""Our own worked examples: two bars, a concentrate lot, three custody steps.

Computed once with independent arithmetic and written down to the last digit
shown; they are our own, not published.
"""

import numpy as np
import pytest
import scipy.stats

from goldroom.metal import contained, effect_keys, moisture, units
from goldroom.metal.uncertainty import (
    corr,
    cov,
    covariance_matrix,
    exact,
    reading,
    total,
)

pytestmark = pytest.mark.source("own worked example")


def bar(name, mass_g, metal, fineness):
    """Return a bar's metal: shared slope, laboratory and drilling errors."""
    mass = reading(mass_g, 0.2, effect_keys.reading(name)).scaled_by(
        2e-5, effect_keys.scale_slope("bullion", "1")
    )
    shared = effect_keys.lab_bias("mine", "cupellation", metal, "1")
    repeat = effect_keys.assay_repeat(name, metal)
    if metal == "Au":
        found = (
            exact(fineness)
            .scaled_by(3e-4, shared)
            .scaled_by(3e-4, effect_keys.sampler_bias("drill"))
            .scaled_by(5e-4, effect_keys.segregation(name))
            .scaled_by(2e-4, repeat)
        )
    else:
        found = exact(fineness).scaled_by(3e-3, shared).scaled_by(1.5e-3, repeat)
    return contained.bar_metal_g(mass_g=mass, fineness_permille=found)


@pytest.mark.parametrize(
    ("metal", "finenesses", "values", "us", "correlation", "summed", "u_sum"),
    [
        (
            "Au",
            (842.6, 839.1),
            (7088.2040, 6820.1209),
            (4.8644, 4.6806),
            0.3830,
            13908.3249,
            7.9381,
        ),
        (
            "Ag",
            (119.2, 122.1),
            (1002.7462, 992.4166),
            (3.3635, 3.3288),
            0.8000,
            1995.1627,
            6.3488,
        ),
    ],
)
def test_two_bars_share_their_balance_and_laboratory(
    metal, finenesses, values, us, correlation, summed, u_sum
):
    bars = [
        bar(name, mass, metal, fineness)
        for name, mass, fineness in zip("ab", (8412.3, 8127.9), finenesses, strict=True)
    ]
    assert [b.value for b in bars] == pytest.approx(values, abs=5.1e-5)
    assert [b.u for b in bars] == pytest.approx(us, abs=5.1e-5)
    assert corr(*bars) == pytest.approx(correlation, abs=5.1e-5)
    assert total(bars).value == pytest.approx(summed, abs=5.1e-5)
    assert total(bars).u == pytest.approx(u_sum, abs=5.1e-5)


def test_two_bars_are_neither_independent_nor_tied():
    bars = [bar("a", 8412.3, "Au", 842.6), bar("b", 8127.9, "Au", 839.1)]
    assert cov(*bars) == pytest.approx(8.7210, abs=5.1e-5)
    independent = np.hypot(bars[0].u, bars[1].u)
    assert independent == pytest.approx(6.7506, abs=5.1e-5)
    assert bars[0].u + bars[1].u == pytest.approx(9.5451, abs=1.1e-4)
    ounces = total(bars).value / float(units.GRAMS_PER_TROY_OUNCE)
    assert ounces == pytest.approx(447.163, abs=5e-4)


def test_concentrate_lot_is_worth_what_its_sampling_is_worth():
    wet = reading(1363.6, 0.3, "reading:w").scaled_by(1e-3, "slope")
    percent = reading(12.0, 0.4, "moist").shifted_by(0.3, "oven")
    grade = (
        exact(2084)
        .scaled_by(0.05, "fse")
        .scaled_by(0.01, "sampler")
        .scaled_by(0.005, "lab")
        .scaled_by(0.008, "repeat")
    )
    dry = moisture.dry_mass(wet_mass=wet, moisture_percent=percent)
    gold = contained.solids_metal_g(dry_mass_kg=dry, grade_gpt=grade)
    assert (dry.value, dry.u) == pytest.approx((1199.968, 6.928), abs=5e-4)
    assert (gold.value, gold.u) == pytest.approx((2500.73, 130.48), abs=5e-3)
    found = [(key, round(c, 3)) for key, c in gold.contributions()]
    assert found == [
        ("fse", 125.037),
        ("sampler", 25.007),
        ("repeat", 20.006),
        ("lab", 12.504),
        ("moist", -11.367),
        ("oven", -8.525),
        ("slope", 2.501),
        ("reading:w", 0.550),
    ]


def three_steps():
    """Return the unaccounted metal at three steps that share a laboratory."""
    spread = {"C": 20, "L": 20, "X": 5, "T": 10, "B": 0.5, "S": 0.5}
    value = {"C": 1000, "L": 980, "X": 610, "T": 385, "B": 604, "S": 2}
    y = {name: reading(value[name], spread[name], f"own:{name}") for name in value}
    for name in "CLT":
        y[name] = y[name].scaled_by(0.005, "lab")
    return [y["C"] - y["L"], y["L"] - y["X"] - y["T"], y["X"] - y["B"] - y["S"]]


def test_three_steps_give_their_covariance_and_chi_squared():
    r = three_steps()
    assert [step.value for step in r] == [20, -15, 4]
    matrix = covariance_matrix(r)
    expected = [[800.01, -399.7025, 0], [-399.7025, 533.850625, -25], [0, -25, 25.5]]
    np.testing.assert_allclose(matrix, expected, atol=1e-9)
    z = [step.value / step.u for step in r]
    assert z == pytest.approx([0.7071, -0.6492, 0.7921], abs=5.1e-5)
    values = np.array([step.value for step in r])
    chi_squared = values @ np.linalg.solve(matrix, values)
    assert chi_squared == pytest.approx(1.13125, abs=5.1e-6)
    assert scipy.stats.chi2.sf(chi_squared, 3) == pytest.approx(0.76954, abs=5.1e-6)


def test_transfers_cancel_in_the_overall_balance():
    overall = total(three_steps())
    assert overall.value == 9.0
    assert overall.u == pytest.approx(22.5822, abs=5.1e-5)
    assert set(overall.effects) == {"own:C", "own:T", "own:B", "own:S", "lab"}
    own = overall.without(["lab"]).variance
    unshared = np.sqrt(own + (0.005 * 1000) ** 2 + (0.005 * 385) ** 2)
    assert unshared == pytest.approx(23.0045, abs=5.1e-5)


def test_bar_of_doré_is_dominated_by_its_assay():
    gold = contained.bar_metal_g(
        mass_g=reading(12441.39, 0.2, "reading:bar"),
        fineness_permille=reading(995.8, 0.1, "rep:bar:Au"),
    )
    assert gold.value == pytest.approx(12389.136, abs=5e-4)
    assert gold.u == pytest.approx(1.260, abs=5e-4)
    assert gold.contributions()[0][0] == "rep:bar:Au"


def test_solution_metal_is_volume_times_strength():
    metal = contained.solution_metal_g(
        volume_m3=reading(5, 0.05, "tank:t:table:1"),
        grade_g_m3=reading(120, 1.2, "rep:s:Au"),
    )
    assert metal.value == 600
    assert dict(metal.effects) == pytest.approx({"tank:t:table:1": 6, "rep:s:Au": 6})
