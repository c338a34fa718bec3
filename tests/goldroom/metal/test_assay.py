"""Fineness and the assay office's arithmetic."""

from decimal import Decimal

import pytest

from goldroom.errors import FinenessOver1000, NegativeFigure, OutOfRange
from goldroom.metal import assay, units
from goldroom.metal.rounding import to_milligram

source = pytest.mark.source

BARS = [
    (Decimal("21543.7"), Decimal("912.4")),
    (Decimal("18872.1"), Decimal("897.6")),
    (Decimal("20110.5"), Decimal("921.9")),
]


@pytest.mark.parametrize(
    ("fineness", "fine_g", "fine_ozt"),
    [
        pytest.param("912.4", "19656.47188", "631.970", marks=source("own example")),
        pytest.param("71.3", "1536.06581", "49.386", marks=source("own example")),
    ],
)
def test_fine_metal_in_a_bar_is_exact(fineness, fine_g, fine_ozt):
    found = assay.fine_mass_g(
        mass_g=Decimal("21543.7"), fineness_permille=Decimal(fineness)
    )
    assert found == Decimal(fine_g)
    assert round(units.from_grams(found, "ozt"), 3) == Decimal(fine_ozt)


@pytest.mark.parametrize(
    ("grams_per_ounce", "wrong"),
    [
        pytest.param("31.103", "631.980", marks=source("own example")),
        pytest.param("31.1", "632.041", marks=source("own example")),
    ],
)
def test_short_troy_ounces_give_wrong_fine_ounces(grams_per_ounce, wrong):
    """The trap of rounding the ounce."""
    fine_g = assay.fine_mass_g(mass_g=BARS[0][0], fineness_permille=BARS[0][1])
    ours = round(units.from_grams(fine_g, "ozt"), 3)
    assert round(fine_g / Decimal(grams_per_ounce), 3) == Decimal(wrong)
    assert ours == Decimal("631.970")


@pytest.mark.source("own example")
def test_mean_fineness_is_weighted_by_mass():
    """Own example; the simple mean is wrong."""
    mean = assay.mean_fineness_permille(BARS)
    assert round(mean, 3) == Decimal("910.942")
    assert round(sum(f for _, f in BARS) / 3, 3) == Decimal("910.633")
    fine_g = sum(
        assay.fine_mass_g(mass_g=mass, fineness_permille=f) for mass, f in BARS
    )
    assert to_milligram(fine_g) == Decimal("55135.939")


def test_mean_of_no_bars_is_refused():
    with pytest.raises(OutOfRange):
        assay.mean_fineness_permille([])


@pytest.mark.parametrize(
    ("finenesses", "finding"),
    [
        ({"Au": "912.4", "Ag": "71.3"}, None),
        ({"Au": "900", "Ag": "100"}, None),
        ({"Au": "912.4", "Ag": "71.3", "base": "16.4"}, "fineness_sum_over_1000"),
    ],
)
def test_finenesses_above_the_whole_bar_are_a_finding_not_a_refusal(
    finenesses, finding
):
    """People saw it, so it is recorded."""
    parts = {metal: Decimal(f) for metal, f in finenesses.items()}
    total = assay.fineness_sum(parts)
    assert total.total_permille == sum(parts.values())
    assert total.finding == finding


@pytest.mark.parametrize(
    ("fineness", "refusal"),
    [("1000.1", FinenessOver1000), ("-0.1", NegativeFigure)],
)
def test_fineness_of_one_metal_outside_the_bar_is_refused(fineness, refusal):
    with pytest.raises(refusal) as refused:
        assay.check_fineness(Decimal(fineness), "au_permille")
    assert refused.value.field == "au_permille"
    with pytest.raises(refusal):
        assay.fine_mass_g(mass_g=Decimal(1), fineness_permille=Decimal(fineness))


def test_fineness_of_exactly_1000_is_accepted():
    assert assay.check_fineness(Decimal(1000)) == 1000


@pytest.mark.parametrize(
    ("coarse", "coarse_grade", "fine", "fine_grade", "grade"),
    [
        pytest.param(
            "1", "84.2", "399", "0.525", "0.7342", marks=source("Beringer; seen")
        ),
        pytest.param(
            "18.62",
            "1250",
            "981.38",
            "8.42",
            "31.538",
            marks=source("own example"),
        ),
    ],
)
def test_screen_assay_weighs_its_two_fractions(
    coarse, coarse_grade, fine, fine_grade, grade
):
    found = assay.screen_assay(
        coarse_mass=Decimal(coarse),
        coarse_grade=Decimal(coarse_grade),
        fine_mass=Decimal(fine),
        fine_grade=Decimal(fine_grade),
    )
    printed = Decimal(grade)
    assert round(found, -printed.as_tuple().exponent) == printed


def test_screen_assay_of_nothing_is_refused():
    zero = Decimal(0)
    with pytest.raises(OutOfRange):
        assay.screen_assay(
            coarse_mass=zero, coarse_grade=zero, fine_mass=zero, fine_grade=zero
        )


def test_grade_times_mass_and_strength_times_volume_are_grams():
    """1 g/t is 1 mg/kg and 1 mg/L is 1 g/m3 (SI Brochure)."""
    solids = assay.metal_in_solids_g(
        dry_mass_kg=Decimal("1199.968"), grade_gpt=Decimal(2084)
    )
    liquor = assay.metal_in_solution_g(
        volume_l=Decimal(5000), grade_mg_l=Decimal("120.4")
    )
    assert solids == Decimal("2500.733312")
    assert liquor == Decimal("602")
    with pytest.raises(NegativeFigure):
        assay.metal_in_solids_g(dry_mass_kg=Decimal(-1), grade_gpt=Decimal(1))
    with pytest.raises(NegativeFigure):
        assay.metal_in_solution_g(volume_l=Decimal(1), grade_mg_l=Decimal(-1))
