"""The vault: bars in and out under seal, counts that hide the book."""

from typing import Any

import pytest

from goldroom.custody.records import Seal, Vessel
from goldroom.custody.state import State
from goldroom.errors import VesselSealed
from goldroom.statements.vault import VaultCounted, VaultPlaced, VaultTaken
from tests.goldroom import story
from tests.goldroom.room import codes, fitted, noticed, removed, say, vessel
from tests.goldroom.story import SHIPPERS, before, in_vessel, item, last_stay, upto

COUNTED_AT = "2026-10-07T09:00:00+02:00"
COUNT = {
    "safe": "S1",
    "seals_seen": [{"point": "door", "seal": "S-0005", "tamper_signs": "none"}],
    "opened": [{"vessel": "S1", "seals_removed": [removed("door", "S-0005")]}],
    "found": ["KR-0101", "KR-0102"],
    "closed": [{"vessel": "S1", "seals_fitted": [fitted("door", "S-0007")]}],
}


def count(state: State, **changed: Any) -> VaultCounted:
    """Say a count of safe S1 with some values changed."""
    values = {**COUNT, **changed}
    return say(state, VaultCounted, values, at=COUNTED_AT, people=SHIPPERS)


def test_bars_placed_stay_in_the_safe_under_its_new_seal():
    state = upto("placed")
    assert in_vessel(state, "S1") == ("BAR-1", "BAR-2")
    stay = last_stay(state, "BAR-2")
    assert (stay.vessel, stay.place, stay.seals) == ("S1", "vault", ("S-0005",))
    assert stay.hands == ("p-sefu", "p-leith")
    assert item(state, "BAR-2").place == "vault"


def test_opening_a_safe_again_gives_what_is_in_it_the_new_seal_too():
    state = upto("placed")
    count(state)
    assert last_stay(state, "BAR-1").seals == ("S-0007",)
    seal = state.get(Seal, "S-0005")
    assert seal is not None
    assert seal.status == "removed"


def test_a_count_that_agrees_finds_nothing():
    state = upto("placed")
    said = count(state)
    assert codes(state) == []
    assert last_stay(state, "BAR-1").act == "vault.counted"
    assert said.sentence() == (
        "Safe S1 was counted, under S-0005 on door (no tamper signs): KR-0101 and"
        " KR-0102 found. S1 was opened: S-0005 on door (no tamper signs). S1 was"
        " sealed: S-0007 on door."
    )


@pytest.mark.parametrize(
    ("found", "differing"),
    [
        pytest.param(["KR-0101", "BAR-2"], [], id="a number and an id"),
        pytest.param(["KR-0101"], ["BAR-2"], id="one bar missing"),
        pytest.param(None, ["BAR-1", "BAR-2"], id="an empty safe"),
        pytest.param(
            ["KR-0101", "KR-0102", "KR-0999"], ["KR-0999"], id="a bar nobody knows"
        ),
        pytest.param(
            ["KR-0101", "KR-0102", "SLAG-1"], ["SLAG-1"], id="slag that is elsewhere"
        ),
    ],
)
def test_a_count_that_differs_is_noticed_thing_by_thing(
    found: list[str] | None, differing: list[str]
):
    state = upto("placed")
    count(state, found=found)
    assert [(each.code, each.item) for each in noticed(state)] == [
        ("count_differs", name) for name in differing
    ]


def test_a_seal_that_is_not_the_one_fitted_is_noticed_at_the_count():
    state = upto("placed")
    seen = [{"point": "door", "seal": "S-0009", "tamper_signs": "scratched"}]
    count(state, seals_seen=seen)
    assert codes(state) == ["seal_not_the_one_fitted", "seal_tampered"]


def test_a_sealed_safe_is_not_counted_unopened():
    with pytest.raises(VesselSealed, match="is sealed"):
        count(upto("placed"), opened=None, closed=None)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"safe": "B1", "closed": None}, "wrong_sort", id="box for a safe"),
        pytest.param({"safe": "S9"}, "unknown_vessel", id="no such safe"),
        pytest.param({"items": ["LOT-1"]}, "wrong_sort", id="a lot"),
        pytest.param({"items": ["BAR-9"]}, "unknown_item", id="a bar nobody cast"),
        pytest.param(
            {"closed": [{"vessel": "S1", "seals_fitted": [fitted("hinge", "S-0005")]}]},
            "unknown_seal_point",
            id="a point that the safe lacks",
        ),
        pytest.param(
            {"closed": [{"vessel": "S1", "seals_fitted": [fitted("door", "X-1")]}]},
            "seal_never_issued",
            id="a seal never issued",
        ),
    ],
)
def test_placing_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("placed"), "placed", changed) == code


def test_a_sealed_safe_takes_nothing_unopened():
    values = {"safe": "S1", "items": ["SLAG-1"]}
    with pytest.raises(VesselSealed, match="is sealed"):
        say(upto("placed"), VaultPlaced, values, at=COUNTED_AT, people=SHIPPERS)


def test_bars_taken_out_are_where_they_were_put():
    state = upto("taken")
    assert (in_vessel(state, "S1"), in_vessel(state, "B1")) == ((), ("BAR-1", "BAR-2"))
    safe = state.get(Vessel, "S1")
    assert safe is not None
    assert safe.is_open


def test_a_bar_found_in_another_safe_is_recorded_where_it_was_found():
    state = upto("placed")
    state.put(vessel("S2", "safe", "vault", {"door": ""}))
    values = {"safe": "S2", "items": ["BAR-1"], "purpose": "weighing",
              "place": "gold_room"}  # fmt: skip
    said = say(state, VaultTaken, values, at=COUNTED_AT, people=SHIPPERS)
    found = noticed(state)
    assert [(each.code, each.item) for each in found] == [("count_differs", "BAR-1")]
    assert (found[0].found, found[0].expected) == ("taken from S2", "in S1")
    assert in_vessel(state, "S1") == ("BAR-2",)
    assert item(state, "BAR-1").place == "gold_room"
    assert said.sentence() == (
        "From safe S2 were taken BAR-1, to gold_room, for weighing."
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"vessel": None}, "bad_field", id="nowhere to go"),
        pytest.param({"place": "gold_room"}, "bad_field", id="two places to go"),
        pytest.param(
            {"vessel": None, "place": "moon"}, "unknown_place", id="no such place"
        ),
        pytest.param({"opened": None}, "vessel_sealed", id="safe not opened"),
    ],
)
def test_taking_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("taken"), "taken", changed) == code


def test_a_bar_on_its_way_is_not_taken_from_the_safe():
    state = upto("handed_over")
    changed = {"opened": None, "vessel": None, "place": "gold_room"}
    assert story.refused(state, "taken", changed) == "not_in_this_state"
