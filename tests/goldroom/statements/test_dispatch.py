"""Dispatch: only to the carrier advised, under seal; differences are noticed."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Shipment
from goldroom.custody.state import State
from tests.goldroom import story
from tests.goldroom.room import codes, fitted, noticed, reading
from tests.goldroom.story import before, in_vessel, item, last_stay, upto

BOX = story.values("handed_over")["boxes"][0]
FOUND_BOX = story.values("received")["boxes"][0]


def shipment(state: State) -> Shipment:
    """Return the story's shipment."""
    found = state.get(Shipment, "SHP-1")
    assert found is not None
    return found


def test_advice_names_carrier_person_bars_and_window():
    advised = shipment(upto("advised"))
    assert (advised.status, advised.items) == ("advised", ("BAR-1", "BAR-2"))
    assert advised.carrier_person == "Tavi Brandel"
    assert (advised.from_at, advised.until_at) == (
        "2026-10-08T04:00:00Z",
        "2026-10-08T10:00:00Z",
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"refinery": "lab"}, "wrong_sort", id="to the laboratory"),
        pytest.param({"refinery": "moon"}, "unknown_place", id="no such refinery"),
        pytest.param({"items": ["SLAG-1"]}, "wrong_sort", id="slag"),
        pytest.param({"items": ["BAR-9"]}, "unknown_item", id="a bar nobody cast"),
        pytest.param(
            {"window_until": "2026-10-08T05:59:00+02:00"},
            "bad_field",
            id="a window that ends before it begins",
        ),
    ],
)
def test_advice_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("advised"), "advised", changed) == code


def test_a_shipment_is_advised_once():
    assert story.refused(upto("advised"), "advised", {}) == "already_registered"


def test_a_bar_without_number_is_not_advised():
    state = before("numbered_2")
    assert story.refused(state, "advised", {}) == "not_in_this_state"


def test_bars_handed_over_are_in_transit_under_the_boxs_seal_and_still_held():
    state = upto("handed_over")
    bar = item(state, "BAR-1")
    assert (bar.status, bar.step, bar.held_until, bar.place) == (
        "in_transit",
        "vault",
        "",
        "",
    )
    stay = last_stay(state, "BAR-1")
    assert (stay.vessel, stay.seals) == ("B1", ("S-0006",))
    handed = shipment(state)
    assert handed.status == "handed_over"
    assert [(each.box, each.gross_g) for each in handed.boxes] == [
        ("B1", Decimal("12892.3"))
    ]
    assert codes(state) == []


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was, but for case and spacing of the name"),
        pytest.param(
            {"carrier_person": "Tavi Brandt"}, "carrier_not_advised", id="other person"
        ),
        pytest.param(
            {"carrier": "Marram Haulage"}, "carrier_not_advised", id="other company"
        ),
        pytest.param({"shipment": "SHP-9"}, "unknown_shipment", id="never advised"),
        pytest.param(
            {"boxes": [{**BOX, "items": ["SLAG-1"]}]}, "wrong_sort", id="slag in a box"
        ),
        pytest.param(
            {"boxes": [{**BOX, "seals_fitted": [fitted("lid", "S-0005")]}]},
            "seal_already_used",
            id="the safe's old seal",
        ),
        pytest.param(
            {"boxes": [BOX, {**BOX, "seals_fitted": [fitted("lid", "S-0008")]}]},
            "bad_field",
            id="bars packed twice",
        ),
        pytest.param(
            {"boxes": [{**BOX, "box": "B9"}]}, "unknown_vessel", id="no such box"
        ),
        pytest.param(
            {"boxes": [{**BOX, "gross": reading("12892.35", "g", "BU1")}]},
            "more_digits_than_instrument",
            id="more digits than the balance shows",
        ),
        pytest.param({"paper_signature": None}, "bad_field", id="nobody signed"),
    ],
)
def test_hand_over_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("handed_over"), "handed_over", changed) == code


def test_metal_is_handed_over_once():
    state = upto("handed_over")
    assert story.refused(state, "handed_over", {}) == "not_in_this_state"


def test_a_bar_held_back_is_noticed():
    state = before("handed_over")
    story.tell(state, "handed_over", boxes=[{**BOX, "items": ["BAR-1"]}])
    found = noticed(state)
    assert [each.code for each in found] == ["dispatch_differs"]
    assert "missing BAR-2" in found[0].message
    assert item(state, "BAR-2").status == "held"


def test_receipt_brings_the_bars_to_the_refinery():
    state = upto("received")
    assert (item(state, "BAR-1").place, in_vessel(state, "B1")) == ("refinery", ())
    assert item(state, "BAR-1").status == "in_transit"
    assert shipment(state).status == "received"
    assert codes(state) == []


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        # 0.05 % of 12892.3 g is 6.446 g; of the bars' 10892.3 g, 5.446 g.
        pytest.param({"boxes": [{**FOUND_BOX, "gross_g": "12898.7"}]}, [], id="6.4 g"),
        pytest.param(
            {"boxes": [{**FOUND_BOX, "gross_g": "12898.8"}]},
            ["dispatch_differs"],
            id="box 6.5 g heavier",
        ),
        pytest.param({"as_received_g": "10886.9"}, [], id="bars 5.4 g lighter"),
        pytest.param(
            {"as_received_g": "10886.8"}, ["dispatch_differs"], id="bars 5.5 g lighter"
        ),
        pytest.param(
            {
                "boxes": [
                    {
                        **FOUND_BOX,
                        "seals_seen": [
                            {"point": "lid", "seal": "S-0030", "tamper_signs": "cut"}
                        ],
                    }
                ]
            },
            ["seal_not_the_one_fitted", "seal_tampered"],
            id="another seal, cut",
        ),
        pytest.param(
            {"boxes": [{"box": "D1"}]}, ["dispatch_differs"], id="a box not sent"
        ),
    ],
)
def test_receipt_is_compared_with_the_hand_over(
    changed: dict[str, Any], found: list[str]
):
    state = before("received")
    story.tell(state, "received", **changed)
    assert codes(state) == found


def test_nothing_is_received_that_was_not_handed_over():
    assert story.refused(before("handed_over"), "received", {}) == "not_in_this_state"


def test_dispatch_reads_aloud():
    state = before("advised")
    assert story.tell(state, "advised").sentence() == (
        "Shipment SHP-1 of BAR-1 and BAR-2 to refinery was advised: Tavi Brandel of"
        " Marram Secure Haulage picks it up between 2026-10-08 06:00 and 2026-10-08"
        " 12:00."
    )
    story.tell(state, "taken")
    handed = story.tell(state, "handed_over", carrier_person="Tavi Brandel")
    assert handed.sentence() == (
        "Shipment SHP-1 was handed to Tavi Brandel of Marram Secure Haulage (card 4471"
        " against the advice) under waybill W-90: box B1 with BAR-1 and BAR-2 (12892.3"
        " g gross), sealed S-0006 on lid. Signed on paper: waybill W-90.pdf."
    )
    assert story.tell(state, "received").sentence() == (
        "Shipment SHP-1 was received by Iro Santh (R-17): box B1 (12892.5 g gross),"
        " S-0006 on lid (no tamper signs). Bars as received: 10892.4 g."
    )
