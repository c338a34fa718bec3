"""Air, buoyancy and gravity against published vectors."""

import pytest

from goldroom.metal import air

source = pytest.mark.source
SOP2 = "NIST SOP 2 (NISTIR 6969, 2019)"
CIPM = "CIPM-2007 test vector; seen"
MMHG_PA = 133.322387415


@pytest.mark.parametrize(
    ("density", "ppm"),
    [
        pytest.param(19.3, -87.83, marks=source(f"{SOP2} formula; seen")),
        pytest.param(17.0, -79.42, marks=source(f"{SOP2} formula; seen")),
        pytest.param(10.49, -35.61, marks=source(f"{SOP2} formula; seen")),
        pytest.param(2.65, 302.97, marks=source(f"{SOP2} formula; seen")),
        pytest.param(1.0, 1051.26, marks=source(f"{SOP2} formula; seen")),
    ],
)
def test_air_lifts_by_density(density, ppm):
    assert (air.buoyancy_factor(density) - 1) * 1e6 == pytest.approx(ppm, abs=0.005)


def test_air_lifts_a_gold_bar_by_a_gram():
    """A 12.5 kg bar of density 19.3."""
    assert 12_500 * (air.buoyancy_factor(19.3) - 1) == pytest.approx(-1.098, abs=5e-4)


@pytest.mark.parametrize(
    ("celsius", "mmhg", "humidity", "density"),
    [
        pytest.param(
            22.3, 748.1, 37, 1.17194e-3, marks=source(f"{SOP2} App. B example 1; seen")
        ),
        pytest.param(
            23.4, 612.3, 23, 0.95633e-3, marks=source(f"{SOP2} App. B example 3; seen")
        ),
    ],
)
def test_moist_air_by_jones(celsius, mmhg, humidity, density):
    found = air.air_density_jones_g_cm3(
        temperature_c=celsius, pressure_mmhg=mmhg, humidity_percent=humidity
    )
    assert found == pytest.approx(density, abs=1e-8)


@pytest.mark.parametrize(
    ("celsius", "mmhg", "humidity", "density"),
    [
        pytest.param(10, 730, 40, 1.1957, marks=source(CIPM)),
        pytest.param(40, 760, 40, 1.1150, marks=source(CIPM)),
    ],
)
def test_moist_air_by_cipm_2007(celsius, mmhg, humidity, density):
    found = air.air_density_cipm_kg_m3(
        temperature_c=celsius, pressure_pa=mmhg * MMHG_PA, humidity_percent=humidity
    )
    assert found == pytest.approx(density, abs=1e-4)


@pytest.mark.parametrize(
    ("latitude", "gravity"),
    [
        pytest.param(0, 9.780325, marks=source("WGS 84 normal gravity; from memory")),
        pytest.param(30, 9.793247, marks=source("WGS 84 normal gravity; from memory")),
        pytest.param(45, 9.806198, marks=source("WGS 84 normal gravity; from memory")),
        pytest.param(90, 9.832185, marks=source("WGS 84 normal gravity; from memory")),
    ],
)
def test_gravity_grows_towards_the_pole(latitude, gravity):
    found = air.normal_gravity_m_s2(latitude_deg=latitude)
    assert found == pytest.approx(gravity, abs=1e-6)


def test_scale_moved_uphill_reads_low():
    """From memory: 1500 m up, a bar of 12 441.39 g."""
    low = air.STANDARD_GRAVITY_M_S2
    high = low + air.GRAVITY_PER_METRE_S2 * 1500
    error_g = air.moved_scale_error_g(
        12_441.39, gravity_calibrated=low, gravity_here=high
    )
    assert error_g == pytest.approx(-5.87, abs=5e-3)
    per_km = air.GRAVITY_PER_METRE_S2 * 1000 / low
    assert per_km == pytest.approx(-315e-6, abs=1e-6)
