"""Ampere-hours against a reference library, and Faraday's law against another."""

from decimal import Decimal
from itertools import pairwise

import periodictable
import pytest
from scipy import constants, integrate

from goldroom.errors import OutOfRange
from goldroom.metal.current import ampere_hours
from goldroom.metal.leach import (
    FARADAY_C_PER_MOL,
    current_efficiency_percent,
    plated_g_per_ah,
)

source = pytest.mark.source
DAY_S = 86400
RUNS = [
    pytest.param([(0, "500"), (DAY_S, "500")], DAY_S, id="steady"),
    pytest.param([(0, "480"), (7200, "520"), (DAY_S, "495.5")], DAY_S, id="drifting"),
    pytest.param([(0, "0"), (60, "650"), (61, "650"), (3600, "0")], 3600, id="ramps"),
    pytest.param([(0, "12.25"), (7, "12.75"), (19, "13.125")], 19, id="uneven"),
]


@source("SciPy reference guide, scipy.integrate.trapezoid")
@pytest.mark.parametrize(("readings", "duration_s"), RUNS)
def test_current_between_readings_is_the_trapezoid(readings, duration_s):
    found = ampere_hours(
        [(at, Decimal(amperes)) for at, amperes in readings], duration_s=duration_s
    )
    expected = integrate.trapezoid(
        [float(amperes) for _, amperes in readings], [at / 3600 for at, _ in readings]
    )
    assert float(found) == pytest.approx(expected, abs=5.1e-4)


@source("definition of the ampere-hour, SI Brochure 9th edition: 1 A h = 3600 C")
def test_five_hundred_amperes_for_a_day():
    assert ampere_hours([(0, Decimal(500))], duration_s=DAY_S) == Decimal("12000.000")


def test_before_the_first_reading_and_after_the_last_the_current_is_theirs():
    inside = [(3600, Decimal(100)), (7200, Decimal(200))]
    assert ampere_hours(inside, duration_s=10800) == Decimal("450.000")


def test_parts_of_a_run_add_up_to_the_run():
    readings = [(0, Decimal("480")), (3600, Decimal("500")), (10800, Decimal("520"))]
    parts = [
        ampere_hours([(0, a), (end - start, b)], duration_s=end - start)
        for (start, a), (end, b) in pairwise(readings)
    ]
    assert sum(parts) == ampere_hours(readings, duration_s=10800)


def test_charge_is_rounded_once_ties_to_even():
    assert ampere_hours([(0, Decimal("1.8"))], duration_s=1) == Decimal("0.000")
    assert ampere_hours([(0, Decimal("5.4"))], duration_s=1) == Decimal("0.002")


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([], id="none"),
        pytest.param([(-1, Decimal(5))], id="before the start"),
        pytest.param([(61, Decimal(5))], id="after the end"),
        pytest.param([(30, Decimal(5)), (20, Decimal(5))], id="out of order"),
    ],
)
def test_readings_that_are_not_of_the_run_are_refused(readings):
    with pytest.raises(OutOfRange) as refused:
        ampere_hours(readings, duration_s=60)
    assert refused.value.field == "readings"


# --- Faraday's law ---------------------------------------------------------


@source("CODATA, scipy.constants: Faraday constant")
def test_faraday_constant_is_the_reference_librarys():
    found = constants.physical_constants["Faraday constant"][0]
    assert pytest.approx(found, rel=1e-9) == FARADAY_C_PER_MOL


@source("IUPAC atomic weights by periodictable, CODATA by scipy.constants")
@pytest.mark.parametrize(
    ("metal", "electrons"), [("Au", 1), ("Au", 3), ("Ag", 1), ("Cu", 2)]
)
def test_an_ampere_hour_plates_what_the_reference_libraries_say(metal, electrons):
    mole_g = getattr(periodictable, metal).mass
    moles = constants.hour / (electrons * constants.N_A * constants.e)
    assert plated_g_per_ah(metal, electrons) == pytest.approx(mole_g * moles, rel=1e-6)


@source("IUPAC atomic weights by periodictable, CODATA by scipy.constants")
def test_current_efficiency_of_a_day_by_the_reference_libraries():
    """Own example: 500 A for 24 h, 4000 g of gold and 800 g of silver plated."""
    moles = 4000 / periodictable.Au.mass + 800 / periodictable.Ag.mass
    useful_ah = moles * constants.N_A * constants.e / constants.hour
    charge_ah = ampere_hours([(0, Decimal(500))], duration_s=DAY_S)
    found = current_efficiency_percent(
        gold_g=4000, silver_g=800, charge_ah=float(charge_ah)
    )
    assert useful_ah == pytest.approx(743.06, abs=5e-3)
    assert found == pytest.approx(100 * useful_ah / 12000, rel=1e-6)
    assert found == pytest.approx(6.192, abs=5e-4)
