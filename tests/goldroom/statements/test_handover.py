"""The shift handed over: signed by both crews, or sealed and inspected."""

from typing import Any

import pytest

from goldroom.custody.records import Vessel
from goldroom.custody.room import PlaceVessels
from goldroom.custody.state import State
from goldroom.statements.handover import ShiftHandedOver
from goldroom.statements.places import VesselRegistered
from tests.goldroom.room import codes, noticed, refused, room, say, vessel

SOURCE = pytest.mark.source("common practice, no source")
OUT = (("p-amara", "officer"), ("p-leith", "witness"))
IN = (("p-jonas", "officer"), ("p-sefu", "security"))
SEEN = [
    {"point": "lid", "seal": "S-0001", "tamper_signs": "none"},
    {"point": "drain", "seal": "S-0002", "tamper_signs": "none"},
]
CREWS: dict[str, Any] = {
    "place": "hopper_bay",
    "outgoing": ["p-amara", "p-leith"],
    "incoming": ["p-jonas", "p-sefu"],
}
SIGNED: dict[str, Any] = {
    **CREWS,
    "way": "all_sign",
    "open_items": "drain valve drips",
}
SEALED: dict[str, Any] = {
    **CREWS,
    "way": "sealed_and_inspected",
    "vessels": [{"vessel": "H1", "seals_seen": SEEN}],
}


def bay() -> State:
    """Return the room, with the hopper alone in its bay."""
    state = room()
    state.put(PlaceVessels(place="hopper_bay", vessels=("H1",)))
    return state


def test_four_sign_and_nothing_is_noticed():
    state = bay()
    said = say(state, ShiftHandedOver, SIGNED, people=OUT + IN)
    assert codes(state) == []
    assert said.sentence() == (
        "hopper_bay was handed over by p-amara and p-leith to p-jonas and p-sefu; both"
        " crews signed. Open items: drain valve drips."
    )


def test_the_incoming_pair_reads_the_seals_and_nothing_is_noticed():
    state = bay()
    said = say(state, ShiftHandedOver, SEALED, people=IN)
    assert codes(state) == []
    assert said.sentence() == (
        "hopper_bay was handed over by p-amara and p-leith to p-jonas and p-sefu;"
        " sealed by those going, inspected by those coming. Vessels: H1: S-0001 on lid"
        " (no tamper signs), S-0002 on drain (no tamper signs)."
    )


@SOURCE
@pytest.mark.parametrize(
    ("values", "people", "code"),
    [
        pytest.param(SIGNED, OUT + IN, None, id="all four"),
        pytest.param(SIGNED, OUT + IN[:1], "crew_not_signed", id="one comes unsigned"),
        pytest.param(SIGNED, OUT[:1] + IN, "crew_not_signed", id="one goes unsigned"),
        pytest.param(SIGNED, OUT, "crew_not_signed", id="only those going"),
        pytest.param(SEALED, IN, None, id="the pair coming"),
        pytest.param(SEALED, OUT, "crew_not_signed", id="the pair going inspects"),
        pytest.param(
            SEALED, OUT[:1] + IN[1:], "crew_not_signed", id="one of each crew"
        ),
    ],
)
def test_who_signs_a_handover(values: Any, people: Any, code: str | None):
    assert refused(bay(), ShiftHandedOver, values, people=people) == code


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({"place": "moon"}, "unknown_place", id="no such room"),
        pytest.param(
            {"outgoing": ["p-amara", "p-none"]}, "unknown_person", id="nobody's id"
        ),
        pytest.param(
            {"outgoing": ["p-amara", "g-plant"]}, "wrong_sort", id="a machine"
        ),
        pytest.param(
            {"outgoing": ["p-amara", "p-jonas"]}, "bad_field", id="in both crews"
        ),
        pytest.param({"way": "nod"}, "bad_field", id="no such way"),
        pytest.param({"vessels": []}, "bad_field", id="no vessel"),
        pytest.param(
            {"vessels": [{"vessel": "H9"}]}, "unknown_vessel", id="no such vessel"
        ),
        pytest.param(
            {"vessels": [{"vessel": "H1"}, {"vessel": "H1"}]},
            "bad_field",
            id="a vessel twice",
        ),
        pytest.param(
            {
                "vessels": [
                    {"vessel": "H1", "seals_seen": [{**SEEN[0], "point": "roof"}]}
                ]
            },
            "unknown_seal_point",
            id="no such point",
        ),
        pytest.param(
            {"vessels": [{"vessel": "H1", "seals_seen": [SEEN[0], SEEN[0]]}]},
            "bad_field",
            id="a point twice",
        ),
    ],
)
def test_handover_is_refused(changed: dict[str, Any], code: str):
    assert refused(bay(), ShiftHandedOver, {**SEALED, **changed}, people=IN) == code


@SOURCE
@pytest.mark.parametrize(
    ("seen", "found"),
    [
        pytest.param(SEEN, [], id="as fitted"),
        pytest.param(
            [{**SEEN[0], "seal": "S-0007"}, SEEN[1]],
            ["seal_not_the_one_fitted"],
            id="another number",
        ),
        pytest.param(
            [{**SEEN[0], "tamper_signs": "scratched"}, SEEN[1]],
            ["seal_tampered"],
            id="the right number, tampered with",
        ),
        pytest.param(
            [{**SEEN[0], "seal": "none"}, SEEN[1]],
            ["seal_not_the_one_fitted"],
            id="no seal there",
        ),
        pytest.param([SEEN[0]], ["handover_seal_not_read"], id="one seal not read"),
        pytest.param([], ["handover_seal_not_read"] * 2, id="no seal read"),
    ],
)
def test_seals_are_read_for_number_and_signs(seen: Any, found: list[str]):
    state = bay()
    values = {**SEALED, "vessels": [{"vessel": "H1", "seals_seen": seen}]}
    say(state, ShiftHandedOver, values, people=IN)
    assert codes(state) == found


@pytest.mark.parametrize("way", ["all_sign", "sealed_and_inspected"])
def test_a_vessel_standing_open_is_noticed(way: str):
    state = room()
    values = {**CREWS, "place": "gold_room", "vessels": [{"vessel": "D1"}], "way": way}
    say(state, ShiftHandedOver, values, people=OUT + IN)
    assert [(each.code, each.item) for each in noticed(state)] == [
        ("handover_open_vessel", "D1")
    ]


def test_a_vessel_left_off_the_list_is_noticed_if_it_takes_seals():
    state = bay()
    for name, points in (("H2", ["lid"]), ("T9", [])):
        values = {
            "vessel": name,
            "name": name,
            "sort": "drum",
            "place": "hopper_bay",
            "points": points,
        }
        say(state, VesselRegistered, values)
    say(state, ShiftHandedOver, SEALED, people=IN)
    assert [(each.code, each.item) for each in noticed(state)] == [
        ("handover_vessel_not_listed", "H2")
    ]


def test_where_both_crews_sign_no_list_is_needed():
    state = bay()
    state.put(vessel("H2", "drum", "hopper_bay", {"lid": ""}))
    state.put(PlaceVessels(place="hopper_bay", vessels=("H1", "H2")))
    say(state, ShiftHandedOver, SIGNED, people=OUT + IN)
    assert codes(state) == []


def test_where_both_crews_sign_no_seal_must_be_read_but_what_is_read_counts():
    state = bay()
    other = {**SEEN[0], "seal": "S-0007"}
    values = {**SIGNED, "vessels": [{"vessel": "H1", "seals_seen": [other]}]}
    say(state, ShiftHandedOver, values, people=OUT + IN)
    assert codes(state) == ["seal_not_the_one_fitted"]


def test_a_handover_changes_no_vessel():
    state = bay()
    earlier = state.get(Vessel, "H1")
    say(state, ShiftHandedOver, SEALED, people=IN)
    assert state.get(Vessel, "H1") == earlier
