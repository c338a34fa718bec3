"""Assay exchange under both contract rules; common practice, own figures."""

from decimal import Decimal

import pytest

from goldroom.metal.settlement import Exchange, Standing, UmpireRule

source = pytest.mark.source
MIDDLE, NEARER = UmpireRule.MIDDLE_OF_THREE, UmpireRule.MEAN_WITH_NEARER
TRADE = "common practice, no source"


@pytest.mark.parametrize(
    ("mine", "buyer", "umpire", "rule", "settled", "paid_by"),
    [
        pytest.param("91.24", "91.20", None, MIDDLE, "91.22", "", marks=source(TRADE)),
        pytest.param("91.25", "91.20", None, MIDDLE, "91.225", "", marks=source(TRADE)),
        pytest.param(
            "91.30",
            "91.20",
            "91.27",
            MIDDLE,
            "91.27",
            "buyer",
            marks=source(TRADE),
        ),
        pytest.param(
            "91.30",
            "91.20",
            "91.27",
            NEARER,
            "91.285",
            "buyer",
            marks=source(TRADE),
        ),
        pytest.param(
            "91.30",
            "91.20",
            "91.35",
            MIDDLE,
            "91.30",
            "buyer",
            marks=source(TRADE),
        ),
        pytest.param(
            "91.30",
            "91.20",
            "91.35",
            NEARER,
            "91.325",
            "buyer",
            marks=source(TRADE),
        ),
        pytest.param(
            "91.30",
            "91.20",
            "91.10",
            NEARER,
            "91.15",
            "mine",
            marks=source("own example"),
        ),
        pytest.param(
            "91.30",
            "91.20",
            "91.25",
            NEARER,
            "91.25",
            "both",
            marks=source("own example"),
        ),
        pytest.param("90.12", "90.07", None, MIDDLE, "90.095", "", marks=source(TRADE)),
    ],
)
def test_exchange_settles_by_the_contract(mine, buyer, umpire, rule, settled, paid_by):
    exchange = Exchange(Decimal(mine), Decimal(buyer), Decimal("0.05"))
    found = exchange.settle(Decimal(umpire) if umpire else None, rule)
    assert found.settled == Decimal(settled)
    assert found.umpire_paid_by == paid_by
    assert found.is_final


def test_exchange_beyond_the_limit_calls_the_umpire():
    found = Exchange(Decimal("91.26"), Decimal("91.20"), Decimal("0.05")).settle()
    assert found.standing is Standing.UMPIRE_CALLED
    assert not found.is_final


def test_binary_floats_would_have_called_an_umpire():
    """The trap: a difference of exactly the limit."""
    assert 90.12 - 90.07 > 0.05
    exchange = Exchange(Decimal("90.12"), Decimal("90.07"), Decimal("0.05"))
    assert exchange.settle().standing is Standing.AGREED
