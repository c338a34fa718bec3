"""Screen assays against Beringer's metallics and an own example."""

from decimal import Decimal

import pytest

from goldroom.errors import PortionOfNothing
from goldroom.metal import metallics, units

source = pytest.mark.source
BERINGER = "Beringer, A Text-Book of Assaying (metallics); seen"


def grade(coarse: str, coarse_grade: str, fines: str, *fines_grades: str) -> Decimal:
    return metallics.metallics_grade(
        coarse_mass=Decimal(coarse),
        coarse_grade=Decimal(coarse_grade),
        fines_mass=Decimal(fines),
        fines_grades=[Decimal(each) for each in fines_grades],
    )


@pytest.mark.parametrize(
    ("coarse", "coarse_grade", "fines", "fines_grades", "expected"),
    [
        pytest.param(
            "1", "84.2", "399", ["0.525"], "0.7342", marks=source(BERINGER)
        ),
        pytest.param(
            "18.62", "1250", "981.38", ["8.42"], "31.538", marks=source("own example")
        ),
        pytest.param(
            "18.62", "1250", "981.38", ["8.40", "8.44"], "31.538",
            marks=source("own example"), id="duplicates by their mean",
        ),
    ],
)  # fmt: skip
def test_fractions_count_by_their_masses(
    coarse, coarse_grade, fines, fines_grades, expected
):
    printed = Decimal(expected)
    found = grade(coarse, coarse_grade, fines, *fines_grades)
    assert round(found, -printed.as_tuple().exponent) == printed


@pytest.mark.source(BERINGER)
def test_beringers_sample_has_his_ounces_to_the_long_ton():
    """A long ton is 2240 pounds; he takes the per cent as rounded, 0.7342."""
    long_ton_g = 2240 * Decimal("453.59237")
    percent = round(grade("1", "84.2", "399", "0.525"), 4)
    ounces = units.from_grams(long_ton_g * percent / 100, "ozt")
    assert round(ounces, 2) == Decimal("239.84")


@pytest.mark.source(BERINGER)
def test_beringers_sifted_part_holds_what_he_multiplies_it_to():
    whole = grade("1", "84.2", "399", "0.525") * 400
    assert whole - Decimal("84.2") == Decimal("209.475")
    assert whole == Decimal("293.675")


@pytest.mark.parametrize(("coarse", "fines"), [("0", "399"), ("1", "0")])
def test_a_fraction_of_no_mass_is_refused(coarse, fines):
    with pytest.raises(PortionOfNothing):
        grade(coarse, "84.2", fines, "0.525")


@pytest.mark.source("own example")
def test_fractions_lack_what_the_screen_kept_back():
    gap = metallics.fractions_gap_percent(
        sample_mass=Decimal(1000),
        coarse_mass=Decimal("18.62"),
        fines_mass=Decimal("976.38"),
    )
    assert gap == Decimal("0.5")
    with pytest.raises(PortionOfNothing):
        metallics.fractions_gap_percent(
            sample_mass=Decimal(0), coarse_mass=Decimal(1), fines_mass=Decimal(1)
        )
