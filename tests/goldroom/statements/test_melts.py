"""The refinery's melt: bars end, one melt leaves with the refinery's figures."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Assay, Shipment
from tests.goldroom import story
from tests.goldroom.room import codes
from tests.goldroom.story import before, crossings, item, upto


def test_the_melt_leaves_the_vaults_balance_with_its_own_mass_and_assay():
    state = upto("melted")
    bar, melt = item(state, "BAR-1"), item(state, "MELT-1")
    assert (bar.status, bar.held_until) == ("consumed", "2026-10-10T08:00:00Z")
    assert (melt.status, melt.parents) == ("left", ("BAR-1", "BAR-2"))
    assert crossings(state, "MELT-1") == [
        ("vault", "vault", "vault"),
        ("vault", "", "refinery"),
    ]
    weighed, assay = latest_mass(state, "MELT-1"), state.get(Assay, "MELT-1/001")
    assert weighed is not None
    assert assay is not None
    assert (weighed.net_g, weighed.wanted_for) == (Decimal("10885.100"), "melt")
    assert (weighed.terms[0].instrument, weighed.terms[0].calibration) == (
        "refinery",
        "",
    )
    assert (assay.standing, assay.gold, assay.wanted_for) == (
        "refiner",
        Decimal("842.9"),
        "melt",
    )
    shipment = state.get(Shipment, "SHP-1")
    assert shipment is not None
    assert shipment.status == "melted"
    assert codes(state) == []


def test_a_shipment_of_two_melts_is_melted_only_with_the_second():
    state = before("melted")
    story.tell(state, "melted", items=["BAR-1"], as_received_g=None)
    first = state.get(Shipment, "SHP-1")
    story.tell(state, "melted", melt="MELT-2", items=["BAR-2"], as_received_g="4899.9")
    second = state.get(Shipment, "SHP-1")
    assert first is not None
    assert second is not None
    assert (first.status, second.status) == ("received", "melted")
    assert codes(state) == []


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"melt": "BAR-1"}, "item_id_used", id="a bar's id for the melt"),
        pytest.param({"items": ["BAR-9"]}, "unknown_item", id="a bar nobody cast"),
        pytest.param({"items": ["DRL-1"]}, "wrong_sort", id="drillings"),
        pytest.param(
            {"gold_permille": "1000.1"}, "fineness_over_1000", id="gold over 1000 ‰"
        ),
        pytest.param({"shipment": "SHP-9"}, "unknown_shipment", id="never advised"),
    ],
)
def test_melt_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("melted"), "melted", changed) == code


def test_a_bar_held_back_is_not_melted_with_the_shipment():
    state = before("handed_over")
    box = {**story.values("handed_over")["boxes"][0], "items": ["BAR-1"]}
    story.tell(state, "handed_over", boxes=[box])
    assert story.refused(state, "melted", {}) == "not_in_this_state"


def test_a_bar_is_melted_once():
    state = before("melted")
    story.tell(state, "melted", items=["BAR-1"], as_received_g=None)
    again = {"melt": "MELT-2", "as_received_g": None}
    assert story.refused(state, "melted", again) == "item_consumed"


def test_metals_above_the_whole_and_a_mass_not_as_handed_over_are_noticed():
    state = before("melted")
    story.tell(state, "melted", silver_permille="157.2", as_received_g="10800")
    assert codes(state) == ["dispatch_differs", "fineness_sum_over_1000"]


def test_melt_reads_aloud():
    assert story.tell(before("melted"), "melted").sentence() == (
        "The refinery melted BAR-1 and BAR-2 of shipment SHP-1 (10892.4 g as received)"
        " into MELT-1: 10885.1 g after melting, at 842.9 ‰ gold and 119.5 ‰ silver"
        " (refiner, outturn 17.pdf)."
    )
