"""Gy's formula against the textbook's lead ore; grains and duplicates."""

import math

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal import sampling

source = pytest.mark.source
WILLS = "Wills, Mineral Processing Technology, Gy example"


def lead_ore(top_size_cm):
    """Return C of an ore with 5 % lead as galena, liberated at 150 um."""
    mineral = sampling.mineral_factor_g_cm3(
        mineral_fraction=0.05 / 0.866, mineral_g_cm3=7.5, gangue_g_cm3=2.65
    )
    return sampling.sampling_constant_g_cm3(
        mineral_factor_g_cm3=mineral,
        liberation=sampling.liberation_factor(
            liberation_size_cm=0.015, top_size_cm=top_size_cm
        ),
    )


@pytest.mark.parametrize(
    ("top_size_cm", "grams"),
    [
        pytest.param(2.5, 1_369_632, marks=source(f"{WILLS}; seen")),
        pytest.param(0.5, 24_501, marks=source(f"{WILLS}; seen")),
        pytest.param(0.1, 438, marks=source(f"{WILLS}; seen")),
        pytest.param(0.004, 0.07, marks=source(f"{WILLS}; seen")),
    ],
)
def test_sample_mass_in_stages(top_size_cm, grams):
    """Two per cent at 95 % confidence (1.96), safety factor two (mass times 8)."""
    found = 8 * sampling.sample_mass_g(
        constant_g_cm3=lead_ore(top_size_cm),
        top_size_cm=top_size_cm,
        relative_u=0.02 / 1.96,
    )
    assert found == pytest.approx(grams, rel=1e-3, abs=0.005)


@pytest.mark.parametrize(
    ("sample_g", "size_um", "fraction", "percent"),
    [
        (1000, 300, 2084e-6, 0.321),
        (50, 300, 2084e-6, 1.437),
        (1000, 1000, 2084e-6, 1.956),
        (50, 500, 0.34, 0.167),
    ],
)
def test_fundamental_error_of_gold_concentrates(sample_g, size_um, fraction, percent):
    """Own worked example: flaky liberated gold of 16.0 in gangue of 2.9 g/cm3."""
    mineral = sampling.mineral_factor_g_cm3(
        mineral_fraction=fraction, mineral_g_cm3=16.0, gangue_g_cm3=2.9
    )
    constant = sampling.sampling_constant_g_cm3(
        mineral_factor_g_cm3=mineral, shape=sampling.SHAPE_FLAKY_GOLD
    )
    found = sampling.fundamental_error_relative(
        constant_g_cm3=constant, top_size_cm=size_um * 1e-4, sample_g=sample_g
    )
    assert 100 * found == pytest.approx(percent, abs=5.1e-4)


def test_whole_lot_has_no_sampling_error():
    found = sampling.fundamental_error_relative(
        constant_g_cm3=10, top_size_cm=0.1, sample_g=500, lot_g=500
    )
    assert found == 0


@pytest.mark.parametrize(("grains", "percent"), [(16, 25.0), (9213, 1.042)])
def test_grain_count_has_a_poisson_error(grains, percent):
    """Own example, and 300 um spheres in a kilogram of concentrate."""
    found = sampling.grain_count_relative(grains)
    assert 100 * found == pytest.approx(percent, abs=5e-4)


def test_duplicates_give_the_spread_of_one_result():
    """Own example; oracle: the mean of the pairs' own variances."""
    pairs = [(995.6, 995.9), (994.8, 995.0), (996.1, 995.8), (995.2, 995.6)]
    found = sampling.duplicate_u(pairs)
    assert found == pytest.approx(0.2179, abs=5e-5)
    variances = [(a - b) ** 2 / 2 for a, b in pairs]
    assert found == pytest.approx(math.sqrt(sum(variances) / len(variances)))


@pytest.mark.parametrize(("sample_g", "lot_g"), [(0, 1), (-1, 1), (2, 1)])
def test_sample_that_cannot_be_is_refused(sample_g, lot_g):
    with pytest.raises(OutOfRange):
        sampling.fundamental_error_relative(
            constant_g_cm3=1, top_size_cm=0.1, sample_g=sample_g, lot_g=lot_g
        )


def test_nothing_to_count_compare_or_find_is_refused():
    with pytest.raises(OutOfRange):
        sampling.grain_count_relative(0)
    with pytest.raises(OutOfRange):
        sampling.duplicate_u([])
    with pytest.raises(OutOfRange):
        sampling.mineral_factor_g_cm3(
            mineral_fraction=0, mineral_g_cm3=7.5, gangue_g_cm3=2.65
        )
