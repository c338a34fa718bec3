"""Roundings against ISO 80000-1 and published tables; splits that lose nothing."""

from decimal import Decimal, Inexact

import pytest
from hypothesis import given
from hypothesis import strategies as st

from goldroom.metal import rounding

source = pytest.mark.source
ISO = "ISO 80000-1 Annex B"


@pytest.mark.parametrize(
    ("value", "step", "even", "up"),
    [
        pytest.param(
            "12.25", "0.1", "12.2", "12.3", marks=source(f"{ISO}; from memory")
        ),
        pytest.param(
            "12.35", "0.1", "12.4", "12.4", marks=source(f"{ISO}; from memory")
        ),
        pytest.param(
            "1.655000",
            "0.01",
            "1.66",
            "1.66",
            marks=source("US/Canadian joint standard, 2018; seen"),
        ),
        pytest.param(
            "1.625000",
            "0.01",
            "1.62",
            "1.63",
            marks=source("US/Canadian joint standard, 2018; seen"),
        ),
        pytest.param(
            "123.455",
            "0.01",
            "123.46",
            "123.46",
            marks=source("national standards table; seen"),
        ),
        pytest.param("0.5", "1", "0", "1", marks=source("own example")),
        pytest.param("1.5", "1", "2", "2", marks=source("own example")),
        pytest.param("2.5", "1", "2", "3", marks=source("own example")),
        pytest.param("-2.5", "1", "-2", "-3", marks=source("own example")),
        pytest.param("2.445", "0.1", "2.4", "2.4", marks=source(f"{ISO}; from memory")),
    ],
)
def test_half_even_and_half_up_round_as_the_standard_says(value, step, even, up):
    assert rounding.half_even(Decimal(value), Decimal(step)) == Decimal(even)
    assert rounding.half_up(Decimal(value), Decimal(step)) == Decimal(up)


def test_rounding_twice_would_be_wrong():
    """2.445 half-up to 2.45 and then to 2.5; once gives 2.4."""
    twice = rounding.half_up(
        rounding.half_up(Decimal("2.445"), Decimal("0.01")), Decimal("0.1")
    )
    assert twice == Decimal("2.5")
    assert rounding.half_up(Decimal("2.445"), Decimal("0.1")) == Decimal("2.4")


@pytest.mark.parametrize(
    ("text", "step", "decimal_half_up"),
    [("2.675", "0.01", "2.68"), ("12.35", "0.1", "12.4")],
)
def test_binary_floats_round_otherwise_than_the_decimals_they_print(
    text, step, decimal_half_up
):
    """The trap that keeps binary floats out of the record."""
    digits = -Decimal(step).as_tuple().exponent
    exact = rounding.half_up(Decimal(text), Decimal(step))
    assert exact == Decimal(decimal_half_up)
    assert Decimal(str(round(float(text), digits))) != exact
    assert 0.1 + 0.2 != 0.3
    assert Decimal("0.1") + Decimal("0.2") == Decimal("0.3")


@pytest.mark.parametrize(
    ("mass_g", "posted_g"),
    [("12379.2925", "12379.292"), ("12378.2975", "12378.298"), ("-0.0005", "0.000")],
)
def test_fine_metal_is_posted_to_the_milligram_ties_to_even(mass_g, posted_g):
    """Own example: 12 441.5 and 12 440.5 g at 995.0 per mille."""
    assert str(rounding.to_milligram(Decimal(mass_g))) == posted_g


def test_exact_arithmetic_raises_rather_than_rounds():
    with rounding.exact_arithmetic(), pytest.raises(Inexact):
        _ = Decimal(1) / Decimal(3)


def test_quotient_carries_34_digits():
    assert str(rounding.quotient(Decimal(2), Decimal(3))) == "0." + "6" * 33 + "7"


@pytest.mark.parametrize(
    ("value", "step", "floor"),
    [
        ("401.138435", "0.025", "401.125"),
        ("401.125", "0.025", "401.125"),
        ("0.024999", "0.025", "0"),
        ("-0.01", "0.025", "-0.025"),
        ("1164.9", "0.1", "1164.9"),
    ],
)
def test_floor_goes_down_to_a_whole_multiple(value, step, floor):
    found = rounding.floor_to_multiple(Decimal(value), Decimal(step))
    assert found == Decimal(floor)


def test_three_way_split_gives_the_odd_milligram_to_the_first():
    """Own example."""
    thirds = [Decimal(1)] * 3
    parts = rounding.split_by_largest_remainder(100_000, thirds)
    assert parts == [33_334, 33_333, 33_333]


@given(
    total=st.integers(0, 10**9),
    weights=st.lists(st.decimals(0, 10**6, places=3), min_size=1, max_size=12).filter(
        lambda weights: sum(weights) > 0
    ),
)
def test_split_keeps_the_sum_and_stays_within_one_unit(total, weights):
    parts = rounding.split_by_largest_remainder(total, weights)
    assert sum(parts) == total
    whole = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / whole) < 1


@pytest.mark.parametrize("weights", [["0", "0"], ["-1", "2"]])
def test_split_without_positive_weights_is_our_mistake(weights):
    with pytest.raises(ValueError, match="weights"):
        rounding.split_by_largest_remainder(10, [Decimal(w) for w in weights])
