"""Faraday's law, the cyanide titration and Elsner against tables and packages."""

import periodictable
import pytest
import scipy.constants

from goldroom.errors import OutOfRange
from goldroom.metal import leach, titration

source = pytest.mark.source
TABLE = "electrochemical equivalents table"
WEIGHTS = "IUPAC atomic weights, as the periodictable package has them"
CONSTANTS = "CODATA Faraday constant, as scipy.constants has it"
STOICHIOMETRY = "Elsner's equation, stoichiometry with IUPAC weights; computed"


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


# --- against packages, run here -----------------------------------------------


@source(CONSTANTS)
def test_the_faraday_constant_is_that_of_the_si():
    value, unit, spread = scipy.constants.physical_constants["Faraday constant"]
    assert pytest.approx(value, rel=1e-12) == leach.FARADAY_C_PER_MOL
    assert (unit, spread) == ("C mol^-1", 0.0)


@pytest.mark.parametrize(
    "metal", [pytest.param(each, marks=source(WEIGHTS)) for each in ("Au", "Ag", "Cu")]
)
def test_atomic_weights_are_those_of_the_union(metal):
    reference = periodictable.elements.symbol(metal).mass
    assert leach.ATOMIC_WEIGHT[metal] == pytest.approx(reference, rel=1e-6)


@pytest.mark.parametrize(
    ("metal", "electrons", "g_per_ah", "mg_per_c", "ah_per_kg"),
    [
        pytest.param(
            metal,
            electrons,
            *figures,
            marks=source(f"{WEIGHTS}; {CONSTANTS}; computed"),
        )
        for metal, electrons, figures in (
            ("Au", 1, (7.349093, 2.041415, 136.0712)),
            ("Au", 3, (2.449698, 0.680472, 408.2137)),
            ("Ag", 1, (4.024710, 1.117975, 248.4651)),
            ("Cu", 2, (1.185494, 0.329304, 843.5301)),
        )
    ],
)
def test_charge_plates_what_weights_and_constant_give(
    metal, electrons, g_per_ah, mg_per_c, ah_per_kg
):
    found = leach.plated_g_per_ah(metal, electrons)
    assert found == pytest.approx(g_per_ah, abs=1e-6)
    assert found / 3.6 == pytest.approx(mg_per_c, abs=1e-6)
    assert 1000 / found == pytest.approx(ah_per_kg, abs=1e-4)
    weight = periodictable.elements.symbol(metal).mass
    faraday = scipy.constants.physical_constants["Faraday constant"][0]
    assert found == pytest.approx(weight * 3600 / electrons / faraday, rel=1e-6)


@source(f"{WEIGHTS}; {CONSTANTS}")
def test_useful_charge_of_a_day_is_what_its_moles_take():
    faraday = scipy.constants.physical_constants["Faraday constant"][0]
    moles = 4000 / periodictable.Au.mass + 800 / periodictable.Ag.mass
    useful_ah = moles * faraday / 3600
    assert useful_ah == pytest.approx(743.06, abs=0.005)
    found = leach.current_efficiency_percent(gold_g=4000, silver_g=800, charge_ah=12000)
    assert found == pytest.approx(100 * useful_ah / 12000, rel=1e-6)


@pytest.mark.parametrize(
    ("form", "written"),
    [
        pytest.param(form, written, marks=source(WEIGHTS))
        for form, written in (
            ("NaCN", "NaCN"),
            ("KCN", "KCN"),
            ("HCN", "HCN"),
            ("CN", "CN"),
        )
    ],
)
def test_molar_masses_of_cyanides_are_those_of_their_atoms(form, written):
    reference = periodictable.formula(written).mass
    assert titration.MOLAR_G[form] == pytest.approx(reference, rel=3e-5)


@source(WEIGHTS)
def test_silver_nitrate_weighs_what_its_atoms_do():
    reference = periodictable.formula("AgNO3").mass
    assert pytest.approx(reference, rel=3e-5) == titration.SILVER_NITRATE_G_PER_MOL


@pytest.mark.parametrize(
    ("given", "wanted", "factor"),
    [
        pytest.param("NaCN", "CN", 0.53089, marks=source(f"{WEIGHTS}; computed")),
        pytest.param("KCN", "NaCN", 0.75262, marks=source(f"{WEIGHTS}; computed")),
    ],
)
def test_factors_between_cyanides_are_ratios_of_their_masses(given, wanted, factor):
    ratio = periodictable.formula(wanted).mass / periodictable.formula(given).mass
    assert titration.as_form(1, given=given, wanted=wanted) == pytest.approx(
        factor, abs=1e-5
    )
    assert ratio == pytest.approx(factor, abs=1e-5)


@pytest.mark.parametrize(
    ("gold_g", "silver_g", "cyanide_g"),
    [
        pytest.param(1, 0, 0.49762, marks=source(STOICHIOMETRY)),
        pytest.param(0, 1, 0.90865, marks=source(STOICHIOMETRY)),
        pytest.param(1850, 218, 1118.68, marks=source("own example")),
    ],
)
def test_metal_takes_two_cyanides_to_dissolve(gold_g, silver_g, cyanide_g):
    found = leach.least_cyanide_g(gold_g=gold_g, silver_g=silver_g)
    assert found == pytest.approx(cyanide_g, rel=1e-5)


@source(WEIGHTS)
def test_four_of_metal_take_one_of_oxygen_and_eight_cyanides():
    """The equation balances: 4 Au + 8 NaCN + O2 + 2 H2O = 4 NaAu(CN)2 + 4 NaOH."""
    left = {"Au": 4, "NaCN": 8, "O2": 1, "H2O": 2}
    right = {"NaAu(CN)2": 4, "NaOH": 4}
    masses = [
        sum(count * periodictable.formula(each).mass for each, count in side.items())
        for side in (left, right)
    ]
    assert masses[0] == pytest.approx(masses[1], rel=1e-12)
    gold_g = 4 * periodictable.Au.mass
    assert leach.least_oxygen_g(gold_g=gold_g, silver_g=0) == pytest.approx(
        periodictable.formula("O2").mass, rel=1e-5
    )
    assert leach.least_cyanide_g(gold_g=gold_g, silver_g=0) == pytest.approx(
        8 * periodictable.formula("NaCN").mass, rel=3e-5
    )
    assert 1000 * leach.least_oxygen_g(gold_g=1, silver_g=0) == pytest.approx(
        40.61, abs=0.01
    )
