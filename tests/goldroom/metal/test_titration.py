"""Cyanide by silver nitrate against a manual, textbooks and standard methods."""

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal import leach, titration

source = pytest.mark.source
MANUAL = "cyanide manual, table of standard solutions; seen in a copy"


@pytest.mark.parametrize(
    ("mg_per_ml", "form", "titrant_g_l", "tolerance"),
    [
        pytest.param(
            1, "NaCN", 1.7331, 5e-5, marks=source("stoichiometry, IUPAC; computed")
        ),
        pytest.param(2.5, "KCN", 3.262, 1.5e-3, marks=source(MANUAL)),
        pytest.param(5, "KCN", 6.525, 4e-3, marks=source(MANUAL)),
        pytest.param(10, "KCN", 13.05, 7e-3, marks=source(MANUAL)),
    ],
)
def test_a_titrant_is_made_so_that_a_millilitre_takes_a_round_figure(
    mg_per_ml, form, titrant_g_l, tolerance
):
    """The manual's weights are older: 169.9 and 130.2; the last digit differs."""
    found = titration.titrant_g_l(mg_per_ml, form)
    assert found == pytest.approx(titrant_g_l, abs=tolerance)


@pytest.mark.parametrize(
    ("titrant_mol_l", "form", "mg", "tolerance"),
    [
        pytest.param(
            0.02,
            "HCN",
            1.08,
            5e-3,
            marks=source("AOAC alkaline titration of cyanide; seen"),
        ),
        pytest.param(
            0.0192,
            "CN",
            1.00,
            5e-3,
            marks=source("Standard Methods 4500-CN D; factor from memory"),
        ),
        pytest.param(
            13.05 / titration.SILVER_NITRATE_G_PER_MOL,
            "KCN",
            10.0,
            0.02,
            marks=source("Beringer, A Text-Book of Assaying (cyanides); seen"),
        ),
    ],
)
def test_a_millilitre_takes_so_much_cyanide(titrant_mol_l, form, mg, tolerance):
    found = titration.cyanide_mg_per_ml(titrant_mol_l, form)
    assert found == pytest.approx(mg, abs=tolerance)


@pytest.mark.source(MANUAL)
def test_on_ten_millilitres_a_millilitre_is_a_tenth_of_a_per_cent():
    mol_l = 13.05 / titration.SILVER_NITRATE_G_PER_MOL
    grams = titration.cyanide_mg_per_ml(mol_l, "KCN") / 1000
    assert 100 * grams / 10 == pytest.approx(0.1, abs=2e-4)


@pytest.mark.parametrize(
    ("given", "wanted", "factor"),
    [
        pytest.param(
            "NaCN", "CN", 0.53089, marks=source("molar masses, IUPAC; computed")
        ),
        pytest.param(
            "KCN", "NaCN", 0.75262, marks=source("molar masses, IUPAC; computed")
        ),
    ],
)
def test_one_form_of_cyanide_is_told_as_another(given, wanted, factor):
    found = titration.as_form(1, given=given, wanted=wanted)
    assert found == pytest.approx(factor, abs=5e-6)


@pytest.mark.source("own example")
def test_the_burette_gives_the_strength_of_a_leach_solution():
    found = leach.sodium_cyanide_mg_l(
        titrant_ml=8.40, titrant_g_l=titration.titrant_g_l(1, "NaCN"), sample_ml=25.0
    )
    assert found == pytest.approx(336.0, abs=0.05)


def test_a_form_that_nobody_reports_is_refused():
    with pytest.raises(OutOfRange):
        titration.titrant_g_l(1, "CNO")
