"""Estimates of what cannot be weighed, and counts rolled to the cut-off."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Estimate
from goldroom.custody.state import State
from goldroom.custody.stock import RolledCount
from goldroom.statements.assays import AssayReported
from goldroom.statements.counts import StockCounted
from goldroom.statements.record import RecordCorrected
from goldroom.statements.stock import StockEstimated, StockRolled
from goldroom.statements.vault import VaultPlaced
from tests.goldroom import cell_story, room
from tests.goldroom.room import codes, say
from tests.goldroom.story import (
    CHEMISTS,
    SHIPPERS,
    crossings,
    entry_of,
    item,
    last_stay,
    lot_room,
    tell,
    upto,
)

COUNTERS = (("p-ines", "metallurgist"), ("p-sefu", "security"))
CLOSERS = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
AT = "2026-10-31T09:00:00+02:00"
NEXT = "2026-11-30T09:00:00+02:00"
ESTIMATE: dict[str, Any] = {
    "item": "FUR-1",
    "new": {
        "sort": "heel",
        "step": "smelt",
        "source": "gravity",
        "place": "gold_room",
        "vessel": "F1",
    },
    "gold_g": "30",
    "gold_u_g": "5",
    "silver_g": "4",
    "silver_u_g": "1",
    "method": "lining weighed against new",
}


def estimate(state: State, at: str = AT, **changed: Any) -> StockEstimated:
    """Say the furnace's heel, with some values changed."""
    said = {**ESTIMATE, **changed}
    said = {name: value for name, value in said.items() if value is not None}
    return say(
        state, StockEstimated, said, at=at, people=COUNTERS,
        entry=f"entry-{said['item']}-{at[:7]}",
    )  # fmt: skip


def test_metal_found_in_equipment_comes_in_from_outside():
    state = lot_room()
    said = estimate(state)
    assert crossings(state, "FUR-1") == [("", "smelt", "found in equipment")]
    held = item(state, "FUR-1")
    assert (held.step, held.status, held.source) == ("smelt", "held", "gravity")
    assert last_stay(state, "FUR-1").vessel == "F1"
    found = state.get(Estimate, "FUR-1/001")
    assert found is not None
    assert (found.gold_g, found.gold_u_g) == (Decimal(30), Decimal(5))
    assert said.sentence() == (
        "FUR-1, found in F1 and new to the book, is thought to hold 30 g of gold (± 5)"
        " and 4 g of silver (± 1): lining weighed against new."
    )


def test_a_better_figure_of_what_is_held_is_a_version_and_moves_nothing():
    state = upto("slag")
    said = estimate(state, item="SLAG-1", new=None, gold_g="11")
    assert crossings(state, "SLAG-1") == [("smelt", "smelt", "smelt")]
    newest = state.get(Estimate, "SLAG-1/002")
    assert newest is not None
    assert newest.gold_g == Decimal(11)
    assert said.sentence().startswith("SLAG-1 is thought to hold 11 g of gold")


def test_what_is_there_now_takes_the_place_of_the_earlier_estimate():
    state = lot_room()
    estimate(state)
    new = {**ESTIMATE["new"], "instead_of": "FUR-1"}
    said = estimate(state, NEXT, item="FUR-2", new=new, gold_g="42")
    assert item(state, "FUR-1").status == "consumed"
    assert item(state, "FUR-1").held_until == "2026-11-30T07:00:00Z"
    assert crossings(state, "FUR-2") == [("smelt", "smelt", "smelt")]
    assert item(state, "FUR-2").parents == ("FUR-1",)
    assert said.sentence().startswith("FUR-2, in F1 in place of FUR-1, is thought")


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"new": None}, "unknown_item", id="a thing nobody knows"),
        pytest.param(
            {"item": "LOT-1"}, "item_id_used", id="a new thing with an old id"
        ),
        pytest.param(
            {"item": "LOT-1", "new": None}, None, id="a lot weighed and not assayed"
        ),
        pytest.param(
            {"item": "BAR-1", "new": None}, "already_measured", id="an assayed bar"
        ),
        pytest.param(
            {"item": "CON-1", "new": None}, "item_consumed", id="what was smelted"
        ),
        pytest.param({"gold_u_g": "0"}, "out_of_range", id="an exact estimate"),
        pytest.param({"silver_u_g": "0"}, "out_of_range", id="exact for silver"),
        pytest.param({"gold_g": "-3"}, "bad_field", id="less than nothing"),
        pytest.param(
            {"new": {**ESTIMATE["new"], "place": "moon"}}, "unknown_place", id="nowhere"
        ),
        pytest.param(
            {"new": {**ESTIMATE["new"], "vessel": "F9"}}, "unknown_vessel", id="no pot"
        ),
        pytest.param(
            {"new": {**ESTIMATE["new"], "instead_of": "BAR-1"}},
            "already_measured",
            id="in place of a bar",
        ),
        pytest.param(
            {"new": {**ESTIMATE["new"], "step": "table", "instead_of": "SLAG-1"}},
            "bad_field",
            id="another step than the one it ends",
        ),
    ],
)
def test_an_estimate_is_refused(changed, code):
    state = upto("assayed") if "LOT-1" not in str(changed) else lot_room()
    said = {**ESTIMATE, **changed}
    said = {name: value for name, value in said.items() if value is not None}
    found = room.refused(state, StockEstimated, said, at=AT, people=COUNTERS)
    assert found == code


@pytest.mark.parametrize(
    ("stage", "code"), [("closed", None), ("anodes_dried", "already_measured")]
)
def test_what_was_weighed_only_wet_can_be_estimated_though_assayed(stage, code):
    state = cell_story.upto(stage)
    assayed = cell_story.values("assayed")
    say(state, AssayReported, assayed, at="2026-10-09T12:00:00+02:00", people=CHEMISTS)
    said = {**ESTIMATE, "item": "SLU-2"}
    del said["new"]
    found = room.refused(state, StockEstimated, said, at=AT, people=COUNTERS)
    assert found == code


def test_a_charge_holds_no_metal_of_its_own_to_estimate():
    state = upto("charge")
    said = {**ESTIMATE, "item": "CHG-1"}
    del said["new"]
    found = room.refused(state, StockEstimated, said, at=AT, people=COUNTERS)
    assert found == "wrong_sort"


def test_an_estimate_put_right_is_a_new_version():
    state = lot_room()
    estimate(state)
    entry = "entry-FUR-1-2026-10"
    say(
        state, RecordCorrected,
        {"entry": entry, "mode": "figures", "kind": "stock.estimated",
         "values": {**ESTIMATE, "gold_g": "33"}, "reason": "a slip of the pen"},
        at=NEXT, corrects=entry,
    )  # fmt: skip
    newest = state.get(Estimate, "FUR-1/002")
    assert newest is not None
    assert (newest.gold_g, newest.at) == (Decimal(33), "2026-10-31T07:00:00Z")


def test_an_estimate_taken_back_leaves_a_void_thing_that_no_step_holds():
    state = lot_room()
    estimate(state)
    entry = "entry-FUR-1-2026-10"
    void = {"entry": entry, "mode": "void", "kind": "stock.estimated",
            "reason": "it was counted as sweepings"}  # fmt: skip
    say(state, RecordCorrected, void, at=NEXT, corrects=entry)
    assert (item(state, "FUR-1").status, item(state, "FUR-1").step) == ("void", "")
    assert state.get(Estimate, "FUR-1/001") is None


# --- rolled counts ----------------------------------------------------------

COUNT_ENTRY = "entry-count"


def counted(state: State, at: str, *things: str) -> None:
    """Say a count of safe S1, which stands open."""
    say(
        state, StockCounted,
        {"vessel": "S1", "found": [{"thing": each} for each in things]},
        at=at, people=COUNTERS, entry=COUNT_ENTRY,
    )  # fmt: skip


def place(state: State, name: str, at: str) -> None:
    """Say that an item was put into the open safe."""
    say(
        state, VaultPlaced, {"safe": "S1", "items": [name]}, at=at, people=SHIPPERS,
        entry=f"entry-place-{name}",
    )  # fmt: skip


def rolled(state: State, cut_off: str, *movements: tuple[str, str]) -> str | None:
    """Return the refusal of rolling the count to a cut-off; None if accepted."""
    said = {
        "count": COUNT_ENTRY,
        "cut_off": cut_off,
        "movements": [{"entry": entry, "item": name} for entry, name in movements],
    }
    if not movements:
        del said["movements"]
    return room.refused(
        state, StockRolled, said, at="2026-11-01T12:00:00+02:00", people=CLOSERS,
        entry="entry-rolled",
    )  # fmt: skip


def at_cut_off(state: State) -> tuple[str, ...]:
    """Return what the rolled count says was there."""
    found = state.get(RolledCount, "entry-rolled")
    assert found is not None
    return found.items


def open_safe() -> State:
    """Return a room with two numbered bars, slag and an empty, open safe."""
    return upto("assayed")


def test_a_count_before_the_cut_off_is_rolled_forward_by_what_was_put_in():
    state = open_safe()
    place(state, "BAR-1", "2026-10-31T08:00:00+02:00")
    counted(state, "2026-10-31T09:00:00+02:00", "BAR-1")
    place(state, "BAR-2", "2026-11-01T05:00:00+02:00")
    place(state, "SLAG-1", "2026-11-01T06:00:00+02:00")
    cut_off = "2026-11-01T06:00:00+02:00"
    assert rolled(state, cut_off, ("entry-place-BAR-2", "BAR-2")) is None
    assert at_cut_off(state) == ("BAR-1", "BAR-2")
    assert codes(state) == []


def test_a_count_after_the_cut_off_is_rolled_back_by_what_was_put_in():
    state = open_safe()
    place(state, "BAR-1", "2026-10-31T08:00:00+02:00")
    place(state, "BAR-2", "2026-11-01T07:00:00+02:00")
    counted(state, "2026-11-01T09:00:00+02:00", "BAR-1", "BAR-2")
    cut_off = "2026-11-01T06:00:00+02:00"
    assert rolled(state, cut_off) == "bad_field"
    assert rolled(state, cut_off, ("entry-place-BAR-2", "BAR-2")) is None
    assert at_cut_off(state) == ("BAR-1",)


def test_what_was_taken_out_before_the_count_is_put_back():
    state = upto("placed")
    tell(state, "taken")
    counted(state, "2026-10-08T07:30:00+02:00")
    taken = [(entry_of("taken"), "BAR-1"), (entry_of("taken"), "BAR-2")]
    assert rolled(state, "2026-10-08T06:00:00+02:00", *taken) is None
    assert at_cut_off(state) == ("BAR-1", "BAR-2")


@pytest.mark.parametrize(
    ("cut_off", "movements", "code"),
    [
        pytest.param(
            "2026-11-01T06:00:00+02:00", [("entry-place-BAR-1", "BAR-1")], "bad_field",
            id="a movement before the count",
        ),
        pytest.param(
            "2026-11-01T05:00:00+02:00", [("entry-place-BAR-2", "BAR-2")], "bad_field",
            id="a movement at the very cut-off",
        ),
        pytest.param(
            "2026-11-01T06:00:00+02:00", [("entry-none", "BAR-1")], "unknown_entry",
            id="an entry nobody made",
        ),
        pytest.param(
            "2026-11-01T06:00:00+02:00", [("entry-place-BAR-2", "BAR-9")],
            "unknown_item", id="an item nobody made",
        ),
        pytest.param(
            "2026-11-01T06:00:00+02:00", [("entry-place-BAR-2", "SLAG-1")],
            "bad_field", id="an entry that did not move it",
        ),
        pytest.param(
            "2026-11-01T06:00:00+02:00", [("entry-place-BAR-2", "BAR-2")] * 2,
            "bad_field", id="a movement twice",
        ),
        pytest.param("2026-10-31T09:00:00+02:00", [], "bad_field", id="no time apart"),
    ],
)  # fmt: skip
def test_rolling_is_refused(cut_off, movements, code):
    state = open_safe()
    place(state, "BAR-1", "2026-10-31T08:00:00+02:00")
    counted(state, "2026-10-31T09:00:00+02:00", "BAR-1")
    place(state, "BAR-2", "2026-11-01T05:00:00+02:00")
    assert rolled(state, cut_off, *movements) == code


def test_a_count_that_nobody_took_is_not_rolled():
    assert rolled(open_safe(), "2026-11-01T06:00:00+02:00") == "unknown_entry"


def test_rolling_reads_aloud_and_can_be_taken_back():
    state = open_safe()
    counted(state, "2026-10-31T09:00:00+02:00")
    place(state, "BAR-2", "2026-11-01T05:00:00+02:00")
    said = say(
        state, StockRolled,
        {"count": COUNT_ENTRY, "cut_off": "2026-11-01T06:00:00+02:00",
         "movements": [{"entry": "entry-place-BAR-2", "item": "BAR-2"}]},
        at="2026-11-01T12:00:00+02:00", people=CLOSERS, entry="entry-rolled",
    )  # fmt: skip
    assert said.sentence() == (
        "The count of entry entry-count was rolled to the cut-off at 2026-11-01 06:00,"
        " over BAR-2 (entry-place-BAR-2)."
    )
    void = {"entry": "entry-rolled", "mode": "void", "kind": "stock.rolled",
            "reason": "the wrong cut-off"}  # fmt: skip
    say(state, RecordCorrected, void, at="2026-11-01T13:00:00+02:00",
        corrects="entry-rolled")  # fmt: skip
    assert state.get(RolledCount, "entry-rolled") is None
