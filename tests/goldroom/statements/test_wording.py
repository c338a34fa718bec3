"""Words that sentences share: figures without idle digits, counts in words."""

from decimal import Decimal

import pytest

from goldroom.statements.wording import (
    ended,
    kilograms,
    plain,
    used_before,
    with_spread,
)


@pytest.mark.parametrize(
    ("grams", "u_g", "read"),
    [
        ("70.429", "377.810", "70 g of gold (± 380)"),
        ("-34.211", "61.206", "-34 g of gold (± 61)"),
        ("1321.926", "1080.4", "1300 g of gold (± 1100)"),
        ("0.252", "0.0421", "0.252 g of gold (± 0.042)"),
        ("10", "7", "10 g of gold (± 7)"),
        ("12.345", "0", "12.345 g of gold"),
    ],
)
def test_amount_is_read_to_the_place_of_its_uncertainty(grams, u_g, read):
    """Our own examples of two significant digits of an uncertainty."""
    assert with_spread(Decimal(grams), Decimal(u_g), "gold") == read


@pytest.mark.parametrize(
    ("figure", "read"), [("475.5000", "475.5"), ("4125.000", "4125"), ("20", "20")]
)
def test_worked_out_figure_has_no_idle_zeros(figure, read):
    assert plain(Decimal(figure)) == read


def test_tonnes_of_residue_are_read_in_kilograms():
    assert kilograms(Decimal("1308960.000")) == "1309.0 kg"
    assert kilograms(Decimal("-166112")) == "-166.1 kg"


@pytest.mark.parametrize(
    ("times", "read"),
    [(0, "never used before"), (1, "used once before"), (7, "used 7 times before")],
)
def test_uses_of_a_crucible_are_counted_in_words(times, read):
    assert used_before(times) == read


def test_words_end_once():
    assert ended("slip of the pen") == "slip of the pen."
    assert ended("slip of the pen.") == "slip of the pen."
