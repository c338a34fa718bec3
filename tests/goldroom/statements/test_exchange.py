"""Assays exchanged: means within the limit, umpires beyond it, challenges in time."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.dealings import Exchanged
from goldroom.errors import Refusal
from tests.goldroom import dealings
from tests.goldroom.dealings import apart, assays, exchanged, melted, on_refiners_assay
from tests.goldroom.story import upto

TRADE = pytest.mark.source("common practice, no source")
SPLITTING_TERMS = pytest.mark.source(
    "splitting limits in a refinery's published terms; seen"
)


def test_agreed_results_make_a_final_figure_beside_both_parties():
    state = melted()
    dealings.tell(state, "exchanged")
    assert assays(state) == [
        ("refiner", "refinery", "842.9", "119.5"),
        ("party", "lab", "843.1", "119.0"),
        ("refiner", "refinery", "842.7", "119.6"),
        ("final", "refinery", "842.9", "119.3"),
    ]
    found = exchanged(state)
    assert (found.contract, found.is_decided) == ("refinery/001", True)
    assert (found.gold.status, found.silver.status) == ("agreed", "agreed")


def test_one_metal_apart_waits_for_the_umpire_and_has_no_final_figure():
    state = melted()
    dealings.tell(state, "exchanged", **apart("843.6", "842.7"))
    found = exchanged(state)
    assert (found.gold.status, found.gold.settled) == ("umpire_called", None)
    assert (found.silver.status, found.silver.settled) == ("agreed", Decimal("119.3"))
    assert not found.is_decided
    assert [standing for standing, *_ in assays(state)] == [
        "refiner",
        "party",
        "refiner",
    ]


@pytest.mark.parametrize(
    ("mine", "refiner", "limit", "unit", "settled"),
    [
        pytest.param("91.24", "91.20", "0.05", "points", "912.2", marks=TRADE),
        pytest.param("91.25", "91.20", "0.05", "points", "912.25", marks=TRADE),
        pytest.param("91.26", "91.20", "0.05", "points", None, marks=TRADE),
        pytest.param("90.12", "90.07", "0.05", "points", "900.95", marks=TRADE),
        pytest.param("84.30", "84.27", "0.03", "points", "842.85", marks=TRADE),
        pytest.param("84.30", "84.26", "0.03", "points", None, marks=TRADE),
        pytest.param("84.30", "84.26", "0.05", "percent_of_mean", "842.8", marks=TRADE),
        pytest.param("84.30", "84.25", "0.05", "percent_of_mean", None, marks=TRADE),
    ],
)
def test_gold_in_per_cent_is_decided_by_the_contracts_limit(
    mine: str, refiner: str, limit: str, unit: str, settled: str | None
):
    """The last two: 0.05 % of the mean of 84.3 and 84.25 is 0.0421 points."""
    state = melted(gold_splitting={"limit": limit, "unit": unit})
    said = apart(mine, refiner)
    for party in said.values():
        party["silver"] = "11.95"
    dealings.tell(state, "exchanged", unit="percent", **said)
    assert exchanged(state).gold.settled == (Decimal(settled) if settled else None)


@pytest.mark.parametrize(
    ("metal", "limit", "mine", "refiner"),
    [
        pytest.param("gold", "0.05", "843.2", "842.7", marks=SPLITTING_TERMS),
        pytest.param("silver", "0.20", "121.0", "119.0", marks=SPLITTING_TERMS),
        pytest.param("gold", "0.03", "43.3", "43.0", marks=SPLITTING_TERMS),
        pytest.param("silver", "0.20", "902.0", "900.0", marks=SPLITTING_TERMS),
    ],
)
def test_usual_limits_split_at_the_limit_and_call_the_umpire_beyond(
    metal: str, limit: str, mine: str, refiner: str
):
    """Gold-base 0.05 and 0.20 points, silver-base 0.03 and 0.20."""
    terms = {f"{metal}_splitting": {"limit": limit, "unit": "points"}}
    other = "silver" if metal == "gold" else "gold"
    for step, status in ((Decimal(0), "agreed"), (Decimal("0.1"), "umpire_called")):
        state = melted(**terms)
        said = apart(str(Decimal(mine) + step), refiner, metal)
        for party in said.values():
            party[other] = "50"
        dealings.tell(state, "exchanged", **said)
        assert exchanged(state).decision(metal).status == status


def test_contract_of_the_melts_own_time_decides_whatever_came_after():
    state = melted()
    dealings.tell(
        state,
        "contract",
        at="2026-10-12T09:00:00+02:00",
        effective_from="2026-10-12T00:00:00+02:00",
        gold_splitting={"limit": "0.01", "unit": "points"},
    )
    dealings.tell(state, "exchanged")
    assert exchanged(state).gold.status == "agreed"
    assert exchanged(state).contract == "refinery/001"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"melt": "MELT-9"}, "unknown_item", id="a melt nobody told"),
        pytest.param({"melt": "BAR-1"}, "wrong_sort", id="a bar"),
        pytest.param({"laboratory": "mill"}, "wrong_sort", id="the mill assays"),
        pytest.param({"laboratory": "nowhere"}, "unknown_place", id="not registered"),
        pytest.param(
            {"laboratory": "refinery"}, "bad_field", id="refinery on both sides"
        ),
        pytest.param(
            apart("1000.1", "842.7"), "fineness_over_1000", id="more than the whole"
        ),
        pytest.param(
            {"unit": "percent"}, "fineness_over_1000", id="per mille said per cent"
        ),
    ],
)
def test_exchange_is_refused(changed: dict[str, Any], code: str | None):
    assert dealings.refused(melted(), "exchanged", **changed) == code


def test_melt_is_exchanged_once():
    state = melted()
    dealings.tell(state, "exchanged")
    again = dealings.refused(state, "exchanged", at="2026-10-17T10:00:00+02:00")
    assert again == "not_in_this_state"


def test_exchange_without_a_contract_in_force_at_the_melt_is_refused():
    assert dealings.refused(upto("melted"), "exchanged") == "unknown_contract"
    later = melted(effective_from="2026-10-11T00:00:00+02:00")
    assert dealings.refused(later, "exchanged") == "unknown_contract"


def test_refiners_assay_is_challenged_before_assays_are_exchanged():
    state = on_refiners_assay()
    with pytest.raises(Refusal, match=r"challenged by 2026-10-17.*Challenge it first"):
        dealings.tell(state, "exchanged")
    dealings.tell(state, "challenged")
    dealings.tell(state, "exchanged")
    assert exchanged(state).is_decided


@pytest.mark.parametrize(
    ("at", "code"),
    [
        pytest.param("2026-10-17T10:00:00+02:00", None, id="its last moment"),
        pytest.param(
            "2026-10-17T10:00:01+02:00", "challenge_date_passed", id="a second late"
        ),
    ],
)
def test_challenge_is_possible_until_its_date(at: str, code: str | None):
    assert dealings.refused(on_refiners_assay(), "challenged", at=at) == code


def test_late_challenge_says_until_when_it_was_possible_and_what_to_do():
    with pytest.raises(Refusal, match=r"until 2026-10-17T08:00:00Z, 7 days.*stands"):
        dealings.tell(on_refiners_assay(), "challenged", at="2026-10-20T10:00:00+02:00")


def test_challenge_is_made_once_and_only_where_the_refiners_assay_stands():
    assert dealings.refused(melted(), "challenged") == "not_in_this_state"
    state = on_refiners_assay()
    dealings.tell(state, "challenged")
    again = dealings.refused(state, "challenged", at="2026-10-16T10:00:00+02:00")
    assert again == "not_in_this_state"
    assert dealings.refused(state, "challenged", melt="MELT-9") == "unknown_item"


def test_challenge_taken_back_lets_the_refiners_assay_stand_again():
    state = on_refiners_assay()
    dealings.tell(state, "challenged")
    dealings.take_back(state, "challenged")
    assert dealings.outturn(state).challenged_by == ""
    assert dealings.refused(state, "exchanged") == "not_in_this_state"


def test_corrected_result_is_a_new_version_of_each_figure_and_of_the_mean():
    state = melted()
    dealings.tell(state, "exchanged")
    dealings.correct(state, "exchanged", **apart("843.0", "842.7"))
    assert exchanged(state).gold.settled == Decimal("842.85")
    assert exchanged(state).entry == dealings.entry_of("exchanged")
    assert assays(state)[-1] == ("final", "refinery", "842.85", "119.3")
    assert len(assays(state)) == 7


def test_correction_that_would_call_an_umpire_is_refused():
    state = melted()
    dealings.tell(state, "exchanged")
    with pytest.raises(Refusal) as refusal:
        dealings.correct(state, "exchanged", **apart("843.9", "842.7"))
    assert refusal.value.code == "not_in_this_state"


def test_exchange_taken_back_can_be_said_anew():
    state = melted()
    dealings.tell(state, "exchanged")
    dealings.take_back(state, "exchanged")
    assert state.get(Exchanged, "MELT-1") is None
    assert len(assays(state)) == 1
    dealings.tell(state, "exchanged", at="2026-10-30T10:00:00+02:00")
    assert exchanged(state).is_decided


def test_melt_cannot_be_taken_back_once_its_assay_was_challenged():
    state = on_refiners_assay()
    dealings.tell(state, "challenged")
    with pytest.raises(Refusal) as refusal:
        dealings.take_back_melt(state)
    assert refusal.value.code == "cannot_void"


def test_exchange_and_challenge_read_aloud():
    assert dealings.tell(melted(), "exchanged").sentence() == (
        "The assays of MELT-1 were exchanged: lab found 843.1 ‰ gold and 119.0 ‰ silver"
        " (sample RM-1-MINE, A-31), the refiner 842.7 ‰ gold and 119.6 ‰ silver (sample"
        " RM-1-REF, R-31)."
    )
    assert dealings.tell(on_refiners_assay(), "challenged").sentence() == (
        "The refiner's assay of MELT-1 was challenged: our own samples are richer."
        " Notice given: letter 12.pdf."
    )
