"""Who is in a room: signed in and out, never alone, visitors beside their escort."""

from typing import Any

import pytest

from goldroom.custody.presence import occupancy_of
from goldroom.custody.room import DetectorAlarm, Occupancy
from goldroom.custody.state import State
from goldroom.statements.record import RecordCorrected
from goldroom.statements.room import DetectorAlarmed, RoomEntered, RoomLeft
from tests.goldroom.room import codes, noticed, refused, room, say

SOURCE = pytest.mark.source("common practice, no source")
GUARDS = (("p-sefu", "security"), ("p-leith", "witness"))
VISITOR = {
    "name": "Mirel Tanco",
    "organisation": "Bureau of Weights (invented)",
    "escort": "p-amara",
}
IN: dict[str, Any] = {
    "place": "gold_room",
    "persons": ["p-amara", "p-leith"],
    "visitors": [VISITOR],
    "keys": [
        {"key": "L-1", "person": "p-amara"},
        {"key": "L-2", "person": "p-leith"},
    ],
    "tools": "one torch, one wrench",
    "camera": "channel 4",
    "purpose": "the morning's table run",
}
OUT: dict[str, Any] = {
    "place": "gold_room",
    "persons": [
        {"person": "p-amara", "detector": "clear"},
        {"person": "p-leith", "detector": "alarm"},
    ],
    "visitors": [{"name": "mirel  TANCO", "detector": "not_screened"}],
    "tools": "one torch",
    "camera": "channel 4",
}
ALARM: dict[str, Any] = {
    "place": "gold_room",
    "detector": "G1",
    "person": "p-leith",
    "cleared": "hand_search",
    "cleared_by": "p-sefu",
    "camera": "channel 2",
}


def entered(**changed: Any) -> State:
    """Return a room that people went into."""
    state = room()
    say(state, RoomEntered, {**IN, **changed}, entry="entry-in")
    return state


def inside(state: State, place: str = "gold_room") -> list[tuple[str, str]]:
    """Return who is in a place, with the escort of each."""
    return [(each.who, each.escort) for each in occupancy_of(state, place).inside]


def test_those_who_went_in_are_inside_with_the_time_and_the_entry():
    state = entered()
    assert inside(state) == [
        ("p-amara", ""),
        ("p-leith", ""),
        ("Mirel Tanco", "p-amara"),
    ]
    there = state.get(Occupancy, "gold_room")
    assert there is not None
    assert {(each.since, each.entry) for each in there.inside} == {
        ("2026-10-05T04:10:00Z", "entry-in")
    }
    assert (there.at, there.known_at) == (
        "2026-10-05T04:10:00Z",
        "2026-10-05T04:20:00Z",
    )
    assert codes(state) == []


def test_those_who_left_are_out_and_an_alarm_at_the_door_is_noticed():
    state = entered()
    say(state, RoomLeft, OUT)
    assert inside(state) == []
    assert [(each.code, each.found) for each in noticed(state)] == [
        ("left_on_alarm", "the detector sounded for p-leith")
    ]


def test_each_place_has_its_own_people():
    state = entered()
    say(state, RoomEntered, {"place": "vault", "persons": ["p-sefu", "p-odile"]})
    assert inside(state, "vault") == [("p-sefu", ""), ("p-odile", "")]
    assert len(inside(state)) == 3


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"place": "moon"}, "unknown_place", id="no such room"),
        pytest.param({"persons": ["p-amara", "p-none"]}, "unknown_person", id="nobody"),
        pytest.param({"persons": ["p-amara", "g-plant"]}, "wrong_sort", id="a machine"),
        pytest.param(
            {"persons": ["p-amara", "p-amara"]}, "bad_field", id="the same twice"
        ),
        pytest.param(
            {"persons": None, "visitors": None}, "bad_field", id="nobody at all"
        ),
        pytest.param(
            {"keys": [{"key": "L-1", "person": "p-none"}]},
            "unknown_person",
            id="a key held by nobody",
        ),
        pytest.param(
            {"visitors": [{**VISITOR, "escort": "p-none"}]},
            "unknown_person",
            id="an escort nobody knows",
        ),
        pytest.param(
            {"visitors": [VISITOR, {**VISITOR, "name": "mirel tanco"}]},
            "bad_field",
            id="a visitor twice",
        ),
        pytest.param(
            {"visitors": [{"name": "Mirel Tanco", "organisation": "Bureau"}]},
            "bad_field",
            id="a visitor without escort",
            marks=SOURCE,
        ),
        pytest.param(
            {"visitors": [{**VISITOR, "escort": "p-sefu"}]},
            "escort_missing",
            id="an escort who stays outside",
            marks=SOURCE,
        ),
    ],
)
def test_going_in(changed: dict[str, Any], code: str | None):
    values = {k: v for k, v in {**IN, **changed}.items() if v is not None}
    assert refused(room(), RoomEntered, values) == code


def test_an_escort_may_be_in_the_room_already():
    state = entered(visitors=[])
    later = {"place": "gold_room", "visitors": [VISITOR]}
    assert refused(state, RoomEntered, later) is None
    assert codes(state) == []


@SOURCE
@pytest.mark.parametrize(
    ("persons", "alone"),
    [
        pytest.param(["p-amara"], True, id="one went in"),
        pytest.param(["p-amara", "p-leith"], False, id="two went in"),
        pytest.param(["p-amara", "p-leith", "p-sefu"], False, id="three went in"),
    ],
)
def test_one_person_alone_is_noticed(persons: list[str], alone: bool):
    state = entered(persons=persons, visitors=[], keys=[])
    assert codes(state) == ["alone_in_room"] * alone


@SOURCE
def test_a_visitor_is_no_second_person():
    state = entered(persons=["p-amara"], keys=[])
    assert codes(state) == ["alone_in_room"]


@SOURCE
@pytest.mark.parametrize(
    ("leaving", "found"),
    [
        pytest.param(["p-leith"], ["alone_in_room"], id="one of two left"),
        pytest.param(["p-amara", "p-leith"], [], id="both left"),
    ],
)
def test_who_stays_behind_alone_is_noticed(leaving: list[str], found: list[str]):
    state = entered(visitors=[])
    say(
        state,
        RoomLeft,
        {"place": "gold_room", "persons": [{"person": each} for each in leaving]},
    )
    assert codes(state) == found


@SOURCE
def test_a_visitor_whose_escort_left_is_noticed():
    state = entered(persons=["p-amara", "p-leith", "p-sefu"])
    say(state, RoomLeft, {"place": "gold_room", "persons": [{"person": "p-amara"}]})
    found = noticed(state)
    assert [each.code for each in found] == ["visitor_without_escort"]
    assert (
        found[0].found == "Mirel Tanco (Bureau of Weights (invented)) without p-amara"
    )


def test_who_was_seen_leaving_and_never_signed_in_is_noticed_and_not_refused():
    state = entered()
    values = {
        "place": "gold_room",
        "persons": [{"person": "p-jonas"}],
        "visitors": [{"name": "Somebody Else"}],
    }
    say(state, RoomLeft, values)
    assert codes(state) == ["left_without_entering"] * 2
    assert {each.level for each in noticed(state)} == {"exception"}
    assert len(inside(state)) == 3


def test_who_goes_in_again_without_having_left_is_noticed_and_counted_once():
    state = entered(visitors=[])
    say(state, RoomEntered, {"place": "gold_room", "persons": ["p-leith"]})
    assert codes(state) == ["entered_twice"]
    assert inside(state) == [("p-amara", ""), ("p-leith", "")]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"place": "moon"}, "unknown_place", id="no such room"),
        pytest.param({"persons": [], "visitors": []}, "bad_field", id="nobody at all"),
        pytest.param(
            {"persons": [{"person": "p-none"}]}, "unknown_person", id="nobody's id"
        ),
        pytest.param(
            {"persons": [{"person": "p-amara"}, {"person": "p-amara"}]},
            "bad_field",
            id="a person twice",
        ),
        pytest.param(
            {"visitors": [{"name": "A B"}, {"name": "a  b"}]},
            "bad_field",
            id="a visitor twice",
        ),
        pytest.param(
            {"persons": [{"person": "p-amara", "detector": "off"}]},
            "bad_field",
            id="no such result",
        ),
    ],
)
def test_leaving(changed: dict[str, Any], code: str | None):
    assert refused(entered(), RoomLeft, {**OUT, **changed}) == code


def test_a_wrong_entry_at_the_door_can_be_taken_back():
    state = entered()
    say(
        state,
        RecordCorrected,
        {
            "entry": "entry-in",
            "mode": "void",
            "kind": "room.entered",
            "reason": "it was the vault",
        },
        people=(("p-jonas", "officer"), ("p-sefu", "security")),
        corrects="entry-in",
    )
    assert state.get(Occupancy, "gold_room") is None


def test_entry_and_exit_read_aloud():
    state = room()
    assert say(state, RoomEntered, IN).sentence() == (
        "p-amara, p-leith and Mirel Tanco of Bureau of Weights (invented) escorted by"
        " p-amara went into gold_room: the morning's table run. Keys: L-1 held by"
        " p-amara, L-2 held by p-leith. Tools and bags: one torch, one wrench. Camera:"
        " channel 4."
    )
    assert say(state, RoomLeft, OUT).sentence() == (
        "p-amara (clear), p-leith (the detector sounded) and mirel  TANCO (not"
        " screened) left gold_room. Tools and bags taken out: one torch. Camera:"
        " channel 4."
    )
    plain = {"place": "vault", "persons": ["p-sefu", "p-odile"]}
    assert say(state, RoomEntered, plain).sentence() == (
        "p-sefu and p-odile went into vault."
    )


# --- the metal detector ----------------------------------------------------


def test_an_alarm_is_kept_with_how_it_was_cleared():
    state = room()
    say(state, DetectorAlarmed, ALARM, people=GUARDS, entry="entry-alarm")
    kept = state.get(DetectorAlarm, "entry-alarm")
    assert kept is not None
    assert (kept.who, kept.is_visitor, kept.cleared, kept.cleared_by, kept.place) == (
        "p-leith",
        False,
        "hand_search",
        "p-sefu",
        "gold_room",
    )
    assert codes(state) == []


def test_what_was_found_on_somebody_is_an_exception():
    state = room()
    values = {
        **ALARM,
        "person": None,
        "visitor": "Mirel Tanco",
        "cleared": "something_found",
        "found": "a steel bolt",
    }
    said = say(state, DetectorAlarmed, values, people=GUARDS)
    assert [(each.code, each.level, each.found) for each in noticed(state)] == [
        ("found_by_detector", "exception", "a steel bolt")
    ]
    assert said.sentence() == (
        "The metal detector G1 at gold_room sounded for Mirel Tanco; p-sefu found a"
        " steel bolt. Camera: channel 2."
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"place": "moon"}, "unknown_place", id="no such place"),
        pytest.param({"person": "p-none"}, "unknown_person", id="nobody's id"),
        pytest.param({"person": "g-plant"}, "wrong_sort", id="a machine"),
        pytest.param({"person": None}, "bad_field", id="for nobody"),
        pytest.param({"visitor": "Mirel Tanco"}, "bad_field", id="for two at once"),
        pytest.param(
            {"cleared_by": "p-leith"}, "bad_field", id="cleared by themselves",
            marks=SOURCE,
        ),
        pytest.param({"cleared": "let_go"}, "bad_field", id="no such way"),
        pytest.param(
            {"cleared": "something_found"}, "bad_field", id="found, but not what"
        ),
        pytest.param({"found": "a bolt"}, "bad_field", id="cleared, yet found"),
    ],
)  # fmt: skip
def test_alarm(changed: dict[str, Any], code: str | None):
    values = {k: v for k, v in {**ALARM, **changed}.items() if v is not None}
    assert refused(room(), DetectorAlarmed, values, people=GUARDS) == code


@pytest.mark.parametrize(
    ("cleared", "words"),
    [
        ("hand_search", "cleared it by a hand search"),
        ("walked_again", "saw it stay silent on walking through again"),
    ],
)
def test_alarm_reads_aloud(cleared: str, words: str):
    said = say(room(), DetectorAlarmed, {**ALARM, "cleared": cleared}, people=GUARDS)
    assert said.sentence() == (
        f"The metal detector G1 at gold_room sounded for p-leith; p-sefu {words}."
        " Camera: channel 2."
    )
