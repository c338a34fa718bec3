"""Masses and standings as reports say them."""

from decimal import Decimal

import pytest

from goldroom.reports.metal import mass_text, standing_text


@pytest.mark.parametrize(
    ("grams", "read"),
    [
        ("2827.50", "2827.5 g"),
        ("9999.9", "9999.9 g"),
        ("10000", "10 kg"),
        ("1065200", "1065.2 kg"),
        ("876659.6", "876.6596 kg"),
        ("0.00", "0 g"),
    ],
)
def test_tonnes_are_read_in_kilograms_and_bars_in_grams(grams, read):
    assert mass_text(Decimal(grams)) == read


def test_parties_to_a_settlement_are_named_by_whose_figure_it_is():
    assert standing_text("party") == "the mine's"
    assert standing_text("refiner") == "the refiner's"
    assert standing_text("final") == "final"
