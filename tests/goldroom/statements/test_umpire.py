"""The umpire's result: only when called, by the contract's rule, once."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Marker
from goldroom.custody.state import State
from goldroom.errors import Refusal
from tests.goldroom import dealings
from tests.goldroom.dealings import apart, assays, exchanged, melted
from tests.goldroom.story import add_item

TRADE = pytest.mark.source("common practice, no source")
OWN = pytest.mark.source("own example")


def called(**terms: Any) -> State:
    """Return the room with an umpire called for the gold of MELT-1."""
    state = melted(**terms)
    dealings.tell(state, "exchanged", **apart("843.6", "842.7"))
    return state


def called_for_both() -> State:
    state = melted()
    said = apart("843.6", "842.7")
    said["mine"]["silver"] = "122.0"
    dealings.tell(state, "exchanged", **said)
    return state


@pytest.mark.parametrize(
    ("mine", "refiner", "umpire", "rule", "settled", "paid_by"),
    [
        pytest.param(
            "91.30", "91.20", "91.27", "middle_of_three", "912.7", "refiner",
            marks=TRADE,
        ),
        pytest.param(
            "91.30", "91.20", "91.27", "mean_with_nearer", "912.85", "refiner",
            marks=TRADE,
        ),
        pytest.param(
            "91.30", "91.20", "91.35", "middle_of_three", "913.0", "refiner",
            marks=TRADE,
        ),
        pytest.param(
            "91.30", "91.20", "91.35", "mean_with_nearer", "913.25", "refiner",
            marks=TRADE,
        ),
        pytest.param(
            "91.30", "91.20", "91.10", "middle_of_three", "912.0", "mine", marks=OWN
        ),
        pytest.param(
            "91.30", "91.20", "91.25", "mean_with_nearer", "912.5", "both", marks=OWN
        ),
    ],
)  # fmt: skip
def test_umpires_result_makes_the_figure_by_the_contracts_rule(
    mine: str, refiner: str, umpire: str, rule: str, settled: str, paid_by: str
):
    state = melted(umpire_rule=rule)
    said = apart(mine, refiner)
    for party in said.values():
        party["silver"] = "5"
    dealings.tell(state, "exchanged", unit="percent", **said)
    dealings.tell(state, "umpired", unit="percent", gold=umpire)
    found = exchanged(state).gold
    assert (found.status, found.settled) == ("umpired", Decimal(settled))
    assert found.umpire_paid_by == paid_by
    assert assays(state)[-1][0] == "final"
    assert Decimal(assays(state)[-1][2]) == Decimal(settled)


@pytest.mark.parametrize("paid_by", ["both", "mine", "refiner"])
def test_contract_may_say_who_pays_whatever_the_umpire_finds(paid_by: str):
    state = called(umpire_paid_by=paid_by)
    dealings.tell(state, "umpired")
    assert exchanged(state).gold.umpire_paid_by == paid_by


def test_umpire_asked_for_both_metals_stands_beside_the_parties():
    state = called_for_both()
    dealings.tell(state, "umpired", silver="120.0")
    assert assays(state)[3:] == [
        ("umpire", "umpire_lab", "842.8", "120.0"),
        ("final", "refinery", "842.8", "120.0"),
    ]


def test_umpire_may_report_on_one_metal_after_the_other():
    state = called_for_both()
    dealings.tell(state, "umpired")
    assert not exchanged(state).is_decided
    dealings.tell(
        state, "umpired", at="2026-10-26T10:00:00+02:00", gold=None, silver="120.0"
    )
    assert exchanged(state).is_decided
    assert assays(state)[-1] == ("final", "refinery", "842.8", "120.0")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"gold": None}, "bad_field", id="no result"),
        pytest.param(
            {"silver": "119.3"}, "not_in_this_state", id="silver nobody asked for"
        ),
        pytest.param({"gold": "1001"}, "fineness_over_1000", id="over the whole"),
        pytest.param({"laboratory": "lab"}, "bad_field", id="the mine's laboratory"),
        pytest.param({"laboratory": "refinery"}, "bad_field", id="the refinery's"),
        pytest.param({"laboratory": "mill"}, "wrong_sort", id="the mill"),
        pytest.param({"melt": "MELT-9"}, "unknown_item", id="unknown melt"),
        pytest.param({"sample": "UMP-9"}, "unknown_item", id="sample nobody took"),
        pytest.param({"sample": "BAR-1"}, "wrong_sort", id="a bar for a sample"),
        pytest.param({"sample": "UMP-1"}, None, id="the sample kept for the umpire"),
        pytest.param({"sample": "UMP-2"}, "sample_replaced", id="a sample replaced"),
    ],
)
def test_umpires_result_is_refused(changed: dict[str, Any], code: str | None):
    state = called()
    add_item(state, "UMP-1", "sample", step="smelt")
    add_item(state, "UMP-2", "sample", step="smelt")
    state.put(Marker(name="replaced:UMP-2", value="UMP-3", entry="entry-x"))
    assert dealings.refused(state, "umpired", **changed) == code


def test_umpires_result_before_the_exchange_is_refused():
    assert dealings.refused(melted(), "umpired") == "umpire_before_exchange"


def test_umpires_result_is_refused_where_the_parties_agreed():
    state = melted()
    dealings.tell(state, "exchanged")
    with pytest.raises(Refusal, match=r"within the splitting limit of 0\.50 ‰"):
        dealings.tell(state, "umpired")


def test_umpire_reports_on_a_metal_once():
    state = called()
    dealings.tell(state, "umpired")
    again = dealings.refused(state, "umpired", at="2026-10-25T10:00:00+02:00")
    assert again == "not_in_this_state"


def test_corrected_umpires_result_makes_the_figure_anew():
    state = called()
    dealings.tell(state, "umpired")
    dealings.correct(state, "umpired", gold="843.0")
    assert exchanged(state).gold.settled == Decimal("843.0")
    assert assays(state)[-1] == ("final", "refinery", "843.0", "119.3")


def test_umpires_report_corrected_for_another_metal_is_refused():
    state = called_for_both()
    dealings.tell(state, "umpired")
    for changed in ({"gold": "842.9", "silver": "120"}, {"gold": None, "silver": "1"}):
        with pytest.raises(Refusal) as refusal:
            dealings.correct(state, "umpired", **changed)
        assert refusal.value.code == "not_in_this_state"


def test_exchange_is_not_corrected_or_taken_back_under_an_umpires_result():
    state = called()
    dealings.tell(state, "umpired")
    with pytest.raises(Refusal) as refusal:
        dealings.correct(state, "exchanged", **apart("843.7", "842.7"))
    assert refusal.value.code == "not_in_this_state"
    with pytest.raises(Refusal) as refusal:
        dealings.take_back(state, "exchanged")
    assert refusal.value.code == "cannot_void"


def test_umpires_report_taken_back_calls_the_umpire_again():
    state = called()
    dealings.tell(state, "umpired")
    dealings.take_back(state, "umpired")
    assert exchanged(state).gold.status == "umpire_called"
    assert [standing for standing, *_ in assays(state)][-1] == "refiner"


def test_umpires_result_reads_aloud():
    state = called_for_both()
    add_item(state, "UMP-1", "sample", step="smelt")
    said = dealings.tell(state, "umpired", silver="120.0", sample="UMP-1")
    assert said.sentence() == (
        "The umpire umpire_lab reported 842.8 ‰ gold and 120.0 ‰ silver for MELT-1 in"
        " sample UMP-1 (U-4)."
    )
