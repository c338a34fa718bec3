"""Balances of hand-made parcels, among them published and hand-worked figures."""

from decimal import Decimal

import pytest

from goldroom.metal.uncertainty import exact
from goldroom.reconcile.amounts import Amount, posted, shown_u, shown_value
from goldroom.reconcile.balance import Balance, balance_of
from goldroom.reconcile.network import Parcel, Way
from goldroom.reconcile.quantities import Contents

AT = "2026-10-05T08:00:00Z"
SMELT = frozenset({"smelt"})


def grams(value: str, u: float = 0.0, key: str = "own") -> Amount:
    return posted(exact(Decimal(value)).shifted_by(u, key))


def parcel(amount: Amount, role: str, from_step: str, to_step: str) -> Parcel:
    return Parcel(
        Way(role, from_step, to_step, AT),
        f"{role}-{amount.posted_g}",
        "lot",
        Contents("lot", "assay", amount, amount, amount),
    )


def room(opening: str, came_in: str, went_out: str, closing: str) -> Balance:
    return balance_of(
        [
            parcel(grams(opening, 1, "a"), "opening", "", "smelt"),
            parcel(grams(came_in, 2, "b"), "passed", "table", "smelt"),
            parcel(grams(went_out, 2, "c"), "passed", "smelt", "vault"),
            parcel(grams(closing, 4, "d"), "closing", "smelt", ""),
        ],
        SMELT,
        "gold",
    )


@pytest.mark.source(
    "check-in check-out worked by hand, check value M6; terms of AMIRA P754 (2007),"
    " from memory"
)
def test_check_in_check_out_gives_the_accountable_and_the_unaccounted():
    found = room("5231.7", "18422.6", "19612.3", "3987.4")
    assert found.unaccounted.posted_g == Decimal("54.600")
    accountable = found.opening + found.came_in - found.closing
    assert accountable.posted_g == Decimal("19666.900")
    assert found.percent == pytest.approx(0.278, abs=5e-4)
    assert found.unaccounted.u_g == pytest.approx(5.0)
    assert found.unaccounted.z == pytest.approx(10.92)


@pytest.mark.source("two-product formula worked by hand, check value M2")
def test_a_table_split_by_the_two_product_formula_recovers_what_it_says():
    feed_t = 100
    split = (Decimal("4.00") - Decimal("2.20")) / (2400 - Decimal("2.20"))
    assert 100 * split == pytest.approx(Decimal("0.07507"), abs=Decimal("5e-6"))
    concentrate = feed_t * split * 2400
    tails = feed_t * (1 - split) * Decimal("2.20")
    found = balance_of(
        [
            parcel(grams("400"), "passed", "hopper", "table"),
            parcel(grams(str(concentrate)), "passed", "table", "smelt"),
            parcel(grams(str(tails)), "passed", "table", ""),
        ],
        frozenset({"table"}),
        "gold",
    )
    assert found.unaccounted.posted_g == 0
    assert 100 * concentrate / 400 == pytest.approx(
        Decimal("45.041"), abs=Decimal("0.0005")
    )


@pytest.mark.parametrize(
    ("missing", "level"),
    [
        ("9.9", "within"),
        ("10.0", "warning"),
        ("15.0", "alarm"),
        ("-15.0", "alarm"),
        ("-10.0", "warning"),
        ("0", "within"),
    ],
)
def test_a_difference_is_judged_by_its_own_uncertainty(missing, level):
    assert room("0", "100", str(100 - Decimal(missing)), "0").level == level


def test_any_difference_between_exact_figures_is_an_alarm():
    found = balance_of([parcel(grams("1"), "passed", "table", "smelt")], SMELT, "gold")
    assert found.unaccounted.z is None
    assert found.level == "alarm"


def test_a_balance_with_an_unknown_parcel_is_not_drawn_and_names_it():
    unknown = Parcel(
        Way("passed", "table", "smelt", AT),
        "C7",
        "concentrate",
        Contents("C7", "unknown"),
    )
    found = balance_of([unknown], SMELT, "gold")
    assert not found.is_drawn
    assert found.unmeasured == ("C7",)
    assert found.level == "not_drawn"
    assert found.to_json()["unaccounted"] is None


@pytest.mark.parametrize(
    ("value", "u", "shown", "u_text"),
    [
        ("122.3456", 145.0, "120", "140"),
        ("122.3456", 14.7, "122", "15"),
        ("122.3456", 1.47, "122.3", "1.5"),
        ("122.3456", 0.0147, "122.346", "0.015"),
        ("122.3456", 0.0, "122.346", "0"),
        ("54321", 2345.0, "54300", "2300"),
        ("0.0101", 0.0029, "0.010", "0.003"),
        ("0.0101", 0.00032, "0.010", "0.0003"),
    ],
)
def test_figures_are_shown_to_two_digits_of_their_uncertainty(value, u, shown, u_text):
    assert shown_value(Decimal(value), u) == shown
    assert shown_u(u) == u_text
