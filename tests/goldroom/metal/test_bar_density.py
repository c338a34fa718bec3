"""Bar density: handbook alloys, displacement, and what it cannot tell."""

from decimal import Decimal

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal import bar_density

source = pytest.mark.source


@pytest.mark.parametrize(
    ("gold", "silver", "copper", "density"),
    [
        pytest.param(99.5, 0.5, 0, 19.219, marks=source("own example")),
        pytest.param(91.67, 5.5, 2.83, 17.889, marks=source("own example")),
        pytest.param(90, 10, 0, 17.805, marks=source("own example")),
        pytest.param(90, 8, 2, 17.702, marks=source("own example")),
        pytest.param(85, 10, 5, 16.905, marks=source("own example")),
        pytest.param(75, 16, 9, 15.587, marks=source("own example")),
        pytest.param(75, 12.5, 12.5, 15.450, marks=source("own example")),
        pytest.param(60, 40, 0, 14.447, marks=source("own example")),
        pytest.param(0, 92.5, 7.5, 10.357, marks=source("own example")),
    ],
)
def test_ideal_mixture_has_this_density(gold, silver, copper, density):
    mixture = {"Au": gold, "Ag": silver, "Cu": copper}
    found = bar_density.ideal_density_g_cm3(mixture)
    assert found == pytest.approx(density, abs=1e-3)


@pytest.mark.parametrize(
    ("mixture", "low", "high"),
    [
        pytest.param(
            {"Au": 91.67, "Ag": 5.5, "Cu": 2.83},
            17.7,
            17.8,
            marks=source("published 22 carat range; seen"),
        ),
        pytest.param(
            {"Au": 75, "Ag": 16, "Cu": 9},
            15.2,
            15.9,
            marks=source("published 18 carat yellow range; seen"),
        ),
        pytest.param(
            {"Au": 75, "Ag": 12.5, "Cu": 12.5},
            15.2,
            15.9,
            marks=source("published 18 carat yellow range; seen"),
        ),
        pytest.param(
            {"Ag": 92.5, "Cu": 7.5},
            10.2,
            10.3,
            marks=source("published sterling range; seen"),
        ),
    ],
)
def test_ideal_mixture_agrees_with_published_ranges_within_the_alarm(
    mixture, low, high
):
    found = bar_density.ideal_density_g_cm3(mixture)
    nearest = min(max(found, low), high)
    assert bar_density.is_density_plausible(found_g_cm3=found, expected_g_cm3=nearest)


@pytest.mark.parametrize(
    ("metal", "low", "high"),
    [
        pytest.param("Au", 19.3, 19.3, marks=source("handbook densities; seen")),
        pytest.param("Ag", 10.49, 10.5, marks=source("handbook densities; seen")),
        pytest.param("Cu", 8.96, 8.96, marks=source("handbook densities; seen")),
        pytest.param("Pb", 11.33, 11.34, marks=source("handbook densities; seen")),
        pytest.param("Fe", 7.87, 7.87, marks=source("handbook densities; from memory")),
        pytest.param("Zn", 7.14, 7.14, marks=source("handbook densities; from memory")),
        pytest.param("W", 19.25, 19.3, marks=source("handbook densities; from memory")),
    ],
)
def test_pure_metals_have_handbook_densities(metal, low, high):
    assert low <= bar_density.ideal_density_g_cm3({metal: 100.0}) <= high + 1e-9


def test_tungsten_passes_for_gold():
    """The limit of the check, stated on the page: density cannot tell them apart."""
    assert bar_density.is_density_plausible(found_g_cm3=19.25, expected_g_cm3=19.30)
    assert not bar_density.is_density_plausible(found_g_cm3=11.34, expected_g_cm3=19.30)


@pytest.mark.parametrize(
    ("water", "air", "density"),
    [(0.998207, 0.0, 17.825), (1.0, 0.0, 17.857), (0.998207, 0.0012, 17.805)],
)
def test_displacement_gives_the_density(water, air, density):
    """Own example."""
    found = bar_density.density_by_displacement_g_cm3(
        in_air_g=10_000.0, in_water_g=9_440.0, water_g_cm3=water, air_g_cm3=air
    )
    assert found == pytest.approx(density, abs=5e-4)


@pytest.mark.parametrize("water", [0.998207, 0.99705])
def test_displacement_gives_back_the_volume_it_was_made_from(water):
    """A bar of 90/8/2 of 12 441.39 g: 702.82 cm3, read in water by Archimedes."""
    volume_cm3 = 12_441.39 / bar_density.ideal_density_g_cm3(
        {"Au": 90.0, "Ag": 8.0, "Cu": 2.0}
    )
    assert volume_cm3 == pytest.approx(702.82, abs=0.005)
    in_water_g = 12_441.39 - volume_cm3 * water
    if water == 0.998207:
        assert in_water_g == pytest.approx(11_739.83, abs=0.005)
    found = bar_density.density_by_displacement_g_cm3(
        in_air_g=12_441.39, in_water_g=in_water_g, water_g_cm3=water
    )
    assert found * volume_cm3 == pytest.approx(12_441.39, abs=1e-6)


def test_displacement_in_exact_decimals_is_the_same_formula():
    found = bar_density.density_by_displacement_g_cm3(
        in_air_g=Decimal("10000.0"),
        in_water_g=Decimal("9440.0"),
        water_g_cm3=Decimal("0.998207"),
        air_g_cm3=Decimal("0.0012"),
    )
    assert abs(found - Decimal("17.805")) < Decimal("0.0005")


def test_bar_that_floats_upwards_is_refused():
    with pytest.raises(OutOfRange, match="must read less"):
        bar_density.density_by_displacement_g_cm3(
            in_air_g=100.0, in_water_g=101.0, water_g_cm3=1.0
        )


@pytest.mark.parametrize("mixture", [{"Au": 99.0}, {"Au": 50.0, "Xx": 50.0}])
def test_mixture_that_is_not_whole_or_not_known_is_refused(mixture):
    with pytest.raises(OutOfRange):
        bar_density.ideal_density_g_cm3(mixture)


def test_cubic_inch_of_gold_is_316_grams():
    """A page prints 315.2 g; 16.387064 cm3 at 19.3 is 316.27 g."""
    inch_cm3 = 2.54**3
    mass_g = inch_cm3 * bar_density.METAL_DENSITY_G_CM3["Au"]
    assert mass_g == pytest.approx(316.27, abs=0.005)
