"""The density of water against three published formulations."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from iapws import IAPWS95

from goldroom.errors import OutOfRange
from goldroom.metal.water import water_density_kg_m3

TABLE = Path(__file__).parents[3] / "fixtures/metal/water_density.csv"


def rows():
    with TABLE.open(newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.mark.parametrize(
    ("celsius", "density", "tolerance"),
    [
        pytest.param(
            row["celsius"], row[column], tolerance, marks=pytest.mark.source(origin)
        )
        for row in rows()
        for column, tolerance, origin in [
            ("cipm_tanaka_2001_kg_m3", "0", "Tanaka 2001; from memory"),
            ("iapws_95_kg_m3", "0.0013", "IAPWS-95 reference library; computed"),
        ]
    ],
)
def test_water_density_agrees_with_published_tables(celsius, density, tolerance):
    found = water_density_kg_m3(Decimal(celsius))
    assert abs(found - Decimal(density)) <= Decimal(tolerance)


def test_misprinted_kell_formula_would_be_caught():
    """With its misprint the other formula gives 997.94 at 20 degrees."""
    assert abs(water_density_kg_m3(Decimal(20)) - Decimal("997.94")) > Decimal("0.2")


@pytest.mark.parametrize("celsius", ["-0.1", "40.1", "95"])
def test_temperature_outside_the_formula_is_refused(celsius):
    with pytest.raises(OutOfRange) as refused:
        water_density_kg_m3(Decimal(celsius), "hopper_temperature_c")
    assert refused.value.field == "hopper_temperature_c"


@pytest.mark.parametrize("celsius", range(0, 41, 2))
@pytest.mark.source("IAPWS-95, as the iapws package computes it; run in the test")
def test_water_density_agrees_with_the_reference_formulation_run_here(celsius):
    """The two formulations differ by 1.3 g in a cubic metre at most over this range."""
    reference = IAPWS95(T=273.15 + max(celsius, 0.01), P=0.101325)
    found = float(water_density_kg_m3(Decimal(celsius)))
    assert found == pytest.approx(reference.rho, abs=0.0013)
