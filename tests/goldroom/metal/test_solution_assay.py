"""A solution's strength by reading, blank and dilution, and below detection."""

import math
from decimal import Decimal

import pytest
from scipy import stats

from goldroom.metal.solution_assay import (
    Strength,
    is_about_tenfold,
    mean_strength,
    strength,
)
from goldroom.metal.uncertainty import below_detection

source = pytest.mark.source


def of(reading: str | None, dilution: str, *, blank: str = "0") -> Strength:
    return strength(
        reading_mg_l=None if reading is None else Decimal(reading),
        blank_mg_l=Decimal(blank),
        dilution=Decimal(dilution),
        detection_mg_l=Decimal("0.02"),
    )


@pytest.mark.parametrize(
    ("reading", "blank", "dilution", "mg_l"),
    [
        pytest.param(
            "10.027", "0", "100", "1002.7",
            marks=source("Eurachem/CITAC QUAM 2012 A1, a hundredth of it; own figures"),
        ),
        pytest.param("4.12", "0.02", "100", "410", marks=source("own example")),
        pytest.param("0.35", "0.01", "1", "0.34", marks=source("own example")),
        pytest.param("0.35", "-0.01", "1", "0.36", marks=source("own example")),
    ],
)  # fmt: skip
def test_strength_is_reading_less_blank_by_the_dilution(reading, blank, dilution, mg_l):
    assert of(reading, dilution, blank=blank) == Strength(Decimal(mg_l))


@pytest.mark.parametrize(
    ("reading", "blank"),
    [(None, "0"), ("0.019", "0"), ("0.03", "0.02"), ("0.01", "0.02")],
)
def test_below_detection_is_half_the_limit_at_that_dilution(reading, blank):
    found = of(reading, "10", blank=blank)
    assert found == Strength(Decimal("0.1"), Decimal("0.2"))


@pytest.mark.source("scipy: a rectangular distribution from nothing to the limit")
def test_half_a_limit_is_uncertain_by_the_limit_over_the_root_of_twelve():
    found = of(None, "10")
    spread = stats.uniform(0, float(found.limit_mg_l))
    known = below_detection(found.limit_mg_l, "limit")
    assert known.value == pytest.approx(spread.mean()) == float(found.mg_l)
    assert known.u == pytest.approx(spread.std()) == 0.2 / math.sqrt(12)


@pytest.mark.source("own example")
def test_samples_of_one_solution_count_by_their_mean():
    both = mean_strength([of("4.12", "100"), of("4.08", "100")])
    assert both == Strength(Decimal("410.00"))


@pytest.mark.parametrize(
    ("second", "mg_l", "limit"),
    [
        pytest.param((None, "10"), "0.1", "0.2", id="both below"),
        pytest.param((None, "20"), "0.15", "0.3", id="below different limits"),
        pytest.param(("0.05", "10"), "0.3", "0.6", id="one was read"),
    ],
)
def test_the_mean_of_what_could_not_be_read_stays_as_wide(second, mg_l, limit):
    found = mean_strength([of(None, "10"), of(*second)])
    assert found == Strength(Decimal(mg_l), Decimal(limit))


@pytest.mark.parametrize(
    ("found", "tenfold"),
    [
        (["41", "410"], True),
        (["410", "41"], True),
        (["41", "340"], True),
        (["41", "300"], False),
        (["41", "520"], False),
        (["0", "410"], False),
    ],
)
def test_a_dilution_forgotten_shows_as_ten_times(found, tenfold):
    assert is_about_tenfold([Decimal(each) for each in found]) is tenfold
