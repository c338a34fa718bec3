"""Settlement: what the refinery states against what was decided, gram by gram."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from goldroom.custody.dealings import Settled
from goldroom.custody.state import State
from goldroom.errors import CannotVoid, Refusal
from goldroom.metal.payable import melt_loss_percent
from tests.goldroom import dealings
from tests.goldroom.dealings import apart, assays, melted, on_refiners_assay, settled
from tests.goldroom.room import codes, noticed


def decided(**terms: Any) -> State:
    state = melted(**terms)
    dealings.tell(state, "exchanged")
    return state


def test_settlement_as_decided_raises_nothing():
    state = decided()
    dealings.tell(state, "settled")
    assert codes(state) == []
    found = settled(state)
    assert (found.melt_loss_g, found.melt_loss_percent) == (
        Decimal("7.300"),
        Decimal("0.0670"),
    )
    assert dealings.outturn(state).settled_by == dealings.entry_of("settled")


def test_payable_grams_and_charges_are_the_contracts_exactly():
    """Own example, computed a second time in fractions."""
    state = decided()
    dealings.tell(state, "settled")
    found = settled(state)
    gold = Fraction("10885.1") * Fraction("842.9") / 1000
    silver = Fraction("10885.1") * Fraction("119.3") / 1000
    assert abs(Fraction(found.payable_gold_g) - gold * 999 / 1000) <= Fraction(1, 2000)
    assert abs(Fraction(found.payable_silver_g) - silver * 98 / 100) <= Fraction(
        1, 2000
    )
    treatment = Fraction("12.50") * Fraction("10892.4") / 1000
    refining = Fraction("0.35") * gold / Fraction("31.1034768")
    due = [Fraction(each.amount) for each in found.charges]
    for charged, computed in zip(due, (treatment, refining, 180), strict=True):
        assert abs(charged - computed) <= Fraction(1, 200)


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        pytest.param({"settlement_mass_g": "10885.0"}, ["settlement_differs"], id="g"),
        pytest.param({"gold_permille": "842.8"}, ["settlement_differs"], id="gold"),
        pytest.param({"silver_permille": "119.2"}, ["settlement_differs"], id="silver"),
        pytest.param({"gold_permille": "842.90"}, [], id="a trailing zero"),
        pytest.param({"credited_gold": "9165.870"}, ["payable_differs"], id="credit"),
        pytest.param({"credited_gold": "9165.9"}, [], id="to its own tenth"),
        pytest.param({"credited_gold": "9165.7"}, ["payable_differs"], id="by tenths"),
        pytest.param({"credited_silver": "1273"}, [], id="to the gram"),
        pytest.param({"charges": None}, ["charges_differ"], id="nothing billed"),
        pytest.param(
            {
                "charges": [
                    {"what": "all", "amount": "419.42", "currency": "USD"},
                ]
            },
            [],
            id="one sum, within the rounding",
        ),
        pytest.param(
            {
                "charges": [
                    {"what": "all", "amount": "419.40", "currency": "EUR"},
                ]
            },
            ["charges_differ", "charges_differ"],
            id="in another currency",
        ),
    ],
)
def test_difference_from_what_was_decided_is_noticed(
    changed: dict[str, Any], found: list[str]
):
    state = decided()
    dealings.tell(state, "settled", **changed)
    assert codes(state) == found


def test_credit_in_troy_ounces_is_held_against_the_grams():
    state = decided()
    dealings.tell(
        state,
        "settled",
        credited_unit="ozt",
        credited_gold="294.690",
        credited_silver="40.916",
    )
    assert codes(state) == []
    assert settled(state).credited_gold_g == Decimal("294.690") * Decimal("31.1034768")


@pytest.mark.parametrize(
    ("allowance", "found"),
    [
        pytest.param("0.067", [], id="just the allowance"),
        pytest.param("0.06", ["melt_loss_over_allowance"], id="beyond it"),
    ],
)
def test_melt_loss_beyond_the_allowance_is_noticed(allowance: str, found: list[str]):
    state = decided(melt_loss_percent=allowance)
    dealings.tell(state, "settled")
    assert codes(state) == found
    if found:
        assert noticed(state)[0].found == "7.300 g, 0.0670 % of the mass as received"


@pytest.mark.parametrize(
    ("received", "after", "percent"),
    [
        pytest.param(
            "25000", "24960", "0.1600",
            marks=pytest.mark.source("published melt loss of a 25 kg parcel; seen"),
        ),
    ],
)  # fmt: skip
def test_published_melt_loss(received: str, after: str, percent: str):
    found = melt_loss_percent(received_g=Decimal(received), melted_g=Decimal(after))
    assert found == Decimal(percent)


def test_umpired_figure_is_the_one_to_settle_on():
    state = melted()
    dealings.tell(state, "exchanged", **apart("843.6", "842.7"))
    with pytest.raises(Refusal, match=r"umpire's figure for the gold .* still to come"):
        dealings.tell(state, "settled")
    dealings.tell(state, "umpired")
    dealings.tell(state, "settled")
    assert codes(state) == ["settlement_differs", "payable_differs"]
    assert settled(state).decided_gold_permille == Decimal("842.8")


def test_refiners_assay_unchallenged_settles_and_becomes_final():
    state = on_refiners_assay()
    dealings.tell(state, "settled", silver_permille="119.5", credited_silver="1274.754")
    assert codes(state) == []
    assert assays(state) == [
        ("refiner", "refinery", "842.9", "119.5"),
        ("final", "refinery", "842.9", "119.5"),
    ]


@pytest.mark.parametrize(
    ("state", "words"),
    [
        pytest.param(melted, "is settled on an exchange", id="not exchanged"),
        pytest.param(
            lambda: _challenged(), "was challenged, and no assays", id="challenged"
        ),
    ],
)
def test_undecided_melt_is_not_settled(state: Any, words: str):
    with pytest.raises(Refusal, match=words) as refusal:
        dealings.tell(state(), "settled")
    assert refusal.value.code == "not_in_this_state"


def _challenged() -> State:
    state = on_refiners_assay()
    dealings.tell(state, "challenged")
    return state


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({"melt": "MELT-9"}, "unknown_item", id="unknown melt"),
        pytest.param({"melt": "BAR-1"}, "wrong_sort", id="a bar"),
        pytest.param({"gold_permille": "1001"}, "fineness_over_1000", id="over 1000"),
        pytest.param({"credited_unit": "oz"}, "bad_field", id="a bare ounce"),
        pytest.param(
            {"charges": [{"what": "x", "amount": "1", "currency": "$"}]},
            "bad_field",
            id="a currency sign",
        ),
    ],
)
def test_settlement_is_refused(changed: dict[str, Any], code: str):
    assert dealings.refused(decided(), "settled", **changed) == code


def test_melt_is_settled_once_and_nothing_moves_under_a_settlement():
    state = decided()
    dealings.tell(state, "settled")
    again = dealings.refused(state, "settled", at="2026-10-29T10:00:00+02:00")
    assert again == "not_in_this_state"
    with pytest.raises(Refusal, match="was settled by entry"):
        dealings.correct(state, "exchanged")
    assert dealings.refused(state, "challenged") == "not_in_this_state"


def test_settlement_corrected_keeps_its_entry_and_is_held_against_the_book_again():
    state = decided()
    dealings.tell(state, "settled", gold_permille="842.8")
    dealings.correct(state, "settled")
    assert settled(state).gold_permille == Decimal("842.9")
    assert settled(state).entry == dealings.entry_of("settled")
    assert codes(state) == ["settlement_differs"]


def test_settlement_taken_back_leaves_the_melt_to_be_settled():
    state = decided()
    dealings.tell(state, "settled")
    dealings.take_back(state, "settled")
    assert state.get(Settled, "MELT-1") is None
    assert dealings.outturn(state).settled_by == ""
    dealings.tell(state, "settled", at="2026-10-30T10:00:00+02:00")
    assert settled(state).mass_g == Decimal("10885.1")


def test_settlement_reads_aloud():
    assert dealings.tell(decided(), "settled").sentence() == (
        "The refinery settled MELT-1 (S-88, settlement 88.pdf) on 10885.1 g at 842.9 ‰"
        " gold and 119.3 ‰ silver, and credited 9165.875 g of gold and 1272.620 g of"
        " silver. Billed: treatment 136.16 USD, refining 103.24 USD and assays 180.00"
        " USD."
    )


@pytest.mark.parametrize(
    ("said", "under"),
    [
        (("exchanged", "settled"), "exchanged"),
        (("apart", "umpired", "settled"), "umpired"),
        (("challenged", "exchanged"), "challenged"),
    ],
    ids=lambda each: each if isinstance(each, str) else " ".join(each),
)
def test_nothing_is_taken_back_under_what_was_built_on_it(said, under):
    state = on_refiners_assay() if under == "challenged" else melted()
    for name in said:
        if name == "apart":
            dealings.tell(state, "exchanged", **apart("843.6", "842.7"))
        else:
            dealings.tell(state, name)
    before = assays(state)
    with pytest.raises(CannotVoid):
        dealings.take_back(state, under)
    assert assays(state) == before
