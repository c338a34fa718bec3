"""Stock counts: blind, compared afterwards, never changing the book's masses."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Said, Vessel
from goldroom.custody.state import State
from goldroom.custody.stock import StockCheck, StockCount
from goldroom.roles import default_policy
from goldroom.statements.counts import StockCounted
from goldroom.statements.record import RecordCorrected
from goldroom.statements.vault import VaultPlaced
from tests.goldroom import room
from tests.goldroom.room import codes, fitted, noticed, reading, removed, say
from tests.goldroom.story import in_vessel, item, last_stay, upto

COUNTED_AT = "2026-10-07T09:00:00+02:00"
COUNTERS = (("p-odile", "accountant"), ("p-leith", "witness"))
COUNT: dict[str, Any] = {
    "vessel": "S1",
    "seals_seen": [{"point": "door", "seal": "S-0005", "tamper_signs": "none"}],
    "opened": [{"vessel": "S1", "seals_removed": [removed("door", "S-0005")]}],
    "found": [
        {"thing": "KR-0101", "gross": reading("5992.3", "g", "BU1")},
        {"thing": "BAR-2"},
    ],
    "closed": [{"vessel": "S1", "seals_fitted": [fitted("door", "S-0007")]}],
}


def values(**changed: Any) -> dict[str, Any]:
    """Return what the count of safe S1 says, with some values changed."""
    said = {**COUNT, **changed}
    return {name: value for name, value in said.items() if value is not None}


def count(state: State, **changed: Any) -> StockCounted:
    """Say a count of safe S1 with some values changed."""
    return say(
        state, StockCounted, values(**changed), at=COUNTED_AT, people=COUNTERS,
        entry="entry-count",
    )  # fmt: skip


def test_a_count_that_agrees_finds_nothing_and_keeps_a_check_figure():
    state = upto("placed")
    said = count(state)
    assert codes(state) == []
    check = state.get(StockCheck, "entry-count/BAR-1/01")
    assert check is not None
    assert (check.net_g, check.book_g) == (Decimal("5992.3"), Decimal("5992.300"))
    kept = state.get(StockCount, "entry-count")
    assert kept is not None
    assert (kept.vessel, kept.found, kept.missing) == ("S1", ("BAR-1", "BAR-2"), ())
    assert last_stay(state, "BAR-2").seals == ("S-0007",)
    assert said.sentence() == (
        "S1 was counted, under S-0005 on door (no tamper signs): KR-0101 (5992.3 g) and"
        " BAR-2 found. S1 was opened: S-0005 on door (no tamper signs). S1 was sealed:"
        " S-0007 on door."
    )


def test_a_bar_weighed_at_a_count_keeps_the_mass_it_was_made_by():
    state = upto("placed")
    before = latest_mass(state, "BAR-1")
    masses = item(state, "BAR-1").masses
    count(state, found=[{"thing": "BAR-1", "gross": reading("5990.0", "g", "BU1")},
                        {"thing": "BAR-2"}])  # fmt: skip
    assert latest_mass(state, "BAR-1") == before
    assert item(state, "BAR-1").masses == masses


@pytest.mark.parametrize(
    ("found", "more", "differing"),
    [
        pytest.param(["KR-0101", "BAR-2"], {}, [], id="a number and an id"),
        pytest.param(["KR-0101"], {}, [("item_missing", "BAR-2")], id="one missing"),
        pytest.param(
            [], {}, [("item_missing", "BAR-1"), ("item_missing", "BAR-2")], id="empty"
        ),
        pytest.param(
            ["BAR-1"],
            {"not_found": ["BAR-2"]},
            [("item_missing", "BAR-2")],
            id="missing and looked for is told once",
        ),
        pytest.param(
            ["BAR-1", "BAR-2"],
            {"not_found": ["SLAG-1"]},
            [("item_missing", "SLAG-1")],
            id="looked for something the book has elsewhere",
        ),
        pytest.param(
            ["BAR-1", "BAR-2", "KR-0999"],
            {},
            [("unknown_thing_found", "")],
            id="a number nobody knows",
        ),
        pytest.param(
            ["BAR-1", "BAR-2"],
            {"unknown": [{"what": "a button without a number", "gross": None}]},
            [("unknown_thing_found", "")],
            id="a thing without a number",
        ),
        pytest.param(
            ["BAR-1", "BAR-2", "SLAG-1"],
            {},
            [("count_differs", "SLAG-1")],
            id="slag that the book has in a drum",
        ),
        pytest.param(
            ["BAR-1", "BAR-2", "CON-1"],
            {},
            [("count_differs", "CON-1")],
            id="concentrate that was smelted",
        ),
    ],
)
def test_every_difference_is_noticed_thing_by_thing(found, more, differing):
    state = upto("placed")
    rows = [{"thing": each} for each in found] or None
    count(state, found=rows, **more)
    assert [(each.code, each.item) for each in noticed(state)] == differing


def test_what_was_found_in_another_vessel_is_recorded_where_it_was_found():
    state = upto("placed")
    rows = [{"thing": each} for each in ("BAR-1", "BAR-2", "SLAG-1")]
    count(state, found=rows)
    assert in_vessel(state, "S1") == ("BAR-1", "BAR-2", "SLAG-1")
    assert in_vessel(state, "D1") == ()
    assert noticed(state)[0].expected == "in D1"


@pytest.mark.parametrize(
    ("thing", "gross", "differs"),
    [
        pytest.param("BAR-1", "5991.3", False, id="a bar at the limit of 1 g"),
        pytest.param("BAR-1", "5991.2", True, id="a bar over it"),
        pytest.param("BAR-1", "5993.4", True, id="a bar that gained"),
    ],
)
@pytest.mark.source("common practice, no source")
def test_a_bar_that_weighs_otherwise_is_noticed(thing, gross, differs):
    state = upto("placed")
    rows = [{"thing": thing, "gross": reading(gross, "g", "BU1")}, {"thing": "BAR-2"}]
    count(state, found=rows)
    assert codes(state) == (["count_mass_differs"] if differs else [])


@pytest.mark.parametrize(
    ("gross", "differs"),
    [("26.1", False), ("26.2", False), ("26.3", True), ("25.9", True)],
)
def test_other_things_are_held_against_a_share_of_their_mass(gross, differs):
    """The slag weighed 26.1 kg less the drum's 18.5 kg; 2 % of 7.6 kg is 0.152 kg."""
    state = upto("placed")
    row = {"thing": "SLAG-1", "gross": reading(gross, "kg", "PS1"), "weighed_in": "D1"}
    said = {"vessel": "D1", "found": [row]}
    say(state, StockCounted, said, at=COUNTED_AT, people=COUNTERS)
    assert codes(state) == (["count_mass_differs"] if differs else [])


def test_a_place_is_counted_with_what_lies_in_its_vessels():
    state = upto("slag")
    said = say(
        state, StockCounted, {"place": "gold_room", "found": [{"thing": "SLAG-1"}]},
        at=COUNTED_AT, people=COUNTERS,
    )  # fmt: skip
    assert codes(state) == []
    stay = last_stay(state, "SLAG-1")
    assert (stay.vessel, stay.place, stay.act) == ("D1", "gold_room", "stock.counted")
    assert said.sentence() == "gold_room was counted: SLAG-1 found."


def test_a_charge_is_not_looked_for_in_the_furnace_that_holds_it():
    state = upto("charge")
    furnace = state.get(Vessel, "F1")
    assert furnace is not None
    state.put(replace(furnace, contents=("CHG-1",)))
    say(state, StockCounted, {"vessel": "F1"}, at=COUNTED_AT, people=COUNTERS)
    assert codes(state) == []


def test_what_moved_after_the_count_is_not_judged_when_it_is_written_up_late():
    state = upto("taken")
    say(
        state, StockCounted, values(opened=None, closed=None, seals_seen=None),
        at="2026-10-08T06:30:00+02:00", people=COUNTERS,
    )  # fmt: skip
    assert codes(state) == []
    assert in_vessel(state, "S1") == ()


def test_what_was_put_in_after_the_count_is_not_missing_from_it():
    state = upto("assayed")
    placed = {"safe": "S1", "items": ["BAR-1"]}
    say(state, VaultPlaced, placed, at="2026-10-06T17:00:00+02:00", people=COUNTERS)
    said = {"vessel": "S1"}
    say(state, StockCounted, said, at="2026-10-06T16:59:59+02:00", people=COUNTERS)
    assert codes(state) == []
    say(state, StockCounted, said, at="2026-10-06T17:00:00+02:00", people=COUNTERS)
    assert codes(state) == ["item_missing"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"vessel": None}, "bad_field", id="nowhere"),
        pytest.param({"place": "vault"}, "bad_field", id="two places"),
        pytest.param(
            {"vessel": None, "place": "vault"}, "bad_field", id="seals of a room"
        ),
        pytest.param({"vessel": "S9"}, "unknown_vessel", id="no such vessel"),
        pytest.param(
            {"vessel": None, "place": "moon", "seals_seen": None},
            "unknown_place",
            id="no such place",
        ),
        pytest.param(
            {"opened": None, "closed": None}, "vessel_sealed", id="a sealed safe"
        ),
        pytest.param(
            {"found": [{"thing": "BAR-1"}, {"thing": "KR-0101"}]},
            "bad_field",
            id="one bar under two names",
        ),
        pytest.param({"not_found": ["BAR-2"]}, "bad_field", id="found and not found"),
        pytest.param({"not_found": ["BAR-9"]}, "unknown_item", id="looked for nothing"),
        pytest.param(
            {"found": [{"thing": "BAR-1", "tare": reading("1.0", "g", "BU1")}]},
            "bad_field",
            id="a tare alone",
        ),
        pytest.param(
            {"found": [{"thing": "BAR-1", "gross": reading("5.9923", "kg", "BU1")}]},
            "wrong_unit",
            id="another unit than the display's",
        ),
        pytest.param(
            {"unknown": [{"what": "a nugget", "gross": reading("1", "ozt", "BB1")}]},
            "wrong_unit",
            id="an unknown thing in another unit",
        ),
    ],
)
def test_a_count_is_refused(changed, code):
    state = upto("placed")
    assert (
        room.refused(
            state, StockCounted, values(**changed), at=COUNTED_AT, people=COUNTERS
        )
        == code
    )


def test_a_check_figure_put_right_is_a_version_beside_the_first():
    state = upto("placed")
    count(state)
    right = values(found=[{"thing": "KR-0101", "gross": reading("5992.8", "g", "BU1")},
                          {"thing": "BAR-2"}])  # fmt: skip
    say(
        state, RecordCorrected,
        {"entry": "entry-count", "mode": "figures", "kind": "stock.counted",
         "values": right, "reason": "3 read for 8"},
        at="2026-10-07T10:00:00+02:00", corrects="entry-count",
    )  # fmt: skip
    checks = [state.get(StockCheck, f"entry-count/BAR-1/0{n}") for n in (1, 2)]
    assert [each.net_g for each in checks if each] == [
        Decimal("5992.3"), Decimal("5992.8"),
    ]  # fmt: skip


def test_a_count_is_what_people_saw_and_cannot_be_taken_back():
    state = upto("placed")
    count(state)
    said = state.get(Said, "entry-count")
    assert said is not None
    assert said.before == ()
    void = {"entry": "entry-count", "mode": "void", "kind": "stock.counted",
            "reason": "it looks bad"}  # fmt: skip
    assert room.refused(state, RecordCorrected, void, corrects="entry-count") == (
        "cannot_void"
    )


@pytest.mark.source("common practice, no source")
def test_nobody_who_operates_the_room_counts_it():
    policy = default_policy()
    group = next(each for each in policy["groups"] if each["name"] == "count")
    assert all("officer" not in slot for slot in group["slots"])
    assert group["lines_differ"]
    assert {"kind": "stock.counted", "group": "count"} in policy["kinds"]
