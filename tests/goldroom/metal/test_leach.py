"""Faraday's law and the cyanide titration against published tables."""

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal import leach

source = pytest.mark.source
TABLE = "electrochemical equivalents table"


@pytest.mark.parametrize(
    ("metal", "electrons", "grams", "tolerance"),
    [
        pytest.param("Au", 1, 7.348, 0.0015, marks=source(f"{TABLE}; seen")),
        pytest.param("Au", 3, 2.449, 0.001, marks=source(f"{TABLE}; seen")),
        pytest.param("Ag", 1, 4.024, 0.001, marks=source(f"{TABLE}; seen")),
        pytest.param("Cu", 2, 1.186, 0.001, marks=source(f"{TABLE}; seen")),
        pytest.param(
            "Au", 1, 7.349093, 5e-7, marks=source("CODATA 2018 and IUPAC; computed")
        ),
        pytest.param(
            "Ag", 1, 4.024710, 5e-7, marks=source("CODATA 2018 and IUPAC; computed")
        ),
    ],
)
def test_ampere_hour_plates_so_much(metal, electrons, grams, tolerance):
    found = leach.plated_g_per_ah(metal, electrons)
    assert found == pytest.approx(grams, abs=tolerance)


def test_copper_takes_two_electrons():
    """A page prints 0.000 658 g/C for Cu(II); it is 0.000 329."""
    per_coulomb = leach.plated_g_per_ah("Cu", 2) / 3600
    assert per_coulomb == pytest.approx(0.000329304, abs=1e-9)


def test_current_efficiency_of_a_day():
    """Own example: 500 A for 24 h."""
    found = leach.current_efficiency_percent(
        gold_g=4000, silver_g=800, charge_ah=500 * 24
    )
    assert found == pytest.approx(6.192, abs=5e-4)


def test_titration_gives_the_cyanide_strength():
    """Own example."""
    found = leach.sodium_cyanide_mg_l(
        titrant_ml=8.40, titrant_g_l=1.7332, sample_ml=25.0
    )
    assert found == pytest.approx(336.0, abs=0.05)


@pytest.mark.parametrize(("metal", "electrons"), [("Xx", 1), ("Au", 0)])
def test_plating_of_nothing_known_is_refused(metal, electrons):
    with pytest.raises(OutOfRange):
        leach.plated_g_per_ah(metal, electrons)


def test_no_charge_and_no_sample_are_refused():
    with pytest.raises(OutOfRange) as charge:
        leach.current_efficiency_percent(gold_g=1, silver_g=1, charge_ah=0)
    with pytest.raises(OutOfRange) as sample:
        leach.sodium_cyanide_mg_l(titrant_ml=1, titrant_g_l=1, sample_ml=0)
    assert (charge.value.field, sample.value.field) == ("charge_ah", "sample_ml")
