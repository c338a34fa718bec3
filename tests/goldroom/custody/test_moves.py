"""Items drawn off what stays held, and items put into a holder."""

from dataclasses import replace

import pytest

from goldroom.custody import moves
from goldroom.custody.records import Crossing, Item
from goldroom.custody.state import State
from tests.goldroom.room import act, room
from tests.goldroom.story import add_item, crossings, in_vessel, item, put

AT = "2026-10-05T08:00:00+02:00"


def draw(
    state: State, name: str, of: str, *, sort: str = "sample", **more: str
) -> None:
    """Draw an item off another that stays held."""
    step = item(state, of).step
    new = moves.NewItem(
        item=name, sort=sort, parents=(of,),
        **{"step": step, "from_step": step, **more},
    )  # fmt: skip
    put(state, moves.draw(state, act("test.drawn", at=AT), new))


def put_in(state: State, holder: str, *names: str) -> None:
    """Put items into a holder."""
    put(state, moves.put_in(state, act("test.put_in", at=AT), names, holder))


def lot_room(**more: str) -> State:
    """Return a room with a lot at the table and a holder at the leach."""
    state = room()
    add_item(state, "LOT-1", "lot", step="table", dry_kg="400", **more)
    new = moves.NewItem(
        item="LB-1", sort="leach_batch", step="leach", from_step="leach", vessel="LV1"
    )
    put(state, moves.make(state, act("test.made", at=AT), new))
    return state


def crossing(state: State, name: str, n: int) -> Crossing:
    """Return a crossing that must be there."""
    found = state.get(Crossing, f"{name}/{n}")
    assert found is not None
    return found


def test_what_is_drawn_off_knows_its_parent_and_the_parent_stays_held():
    state = lot_room()
    draw(state, "S-1", "LOT-1")
    draw(state, "S-2", "LOT-1")
    lot, sample = item(state, "LOT-1"), item(state, "S-1")
    assert (lot.status, lot.drawn, lot.children) == (
        "held",
        ("S-1", "S-2"),
        ("S-1", "S-2"),
    )
    assert (sample.drawn_from, sample.parents) == ("LOT-1", ("LOT-1",))
    assert (sample.status, sample.step) == ("held", "table")


def test_what_is_only_made_of_something_was_not_drawn_off_it():
    state = lot_room()
    new = moves.NewItem(
        item="CON-1", sort="concentrate", step="smelt", from_step="table",
        parents=("LOT-1",),
    )  # fmt: skip
    put(state, moves.make(state, act("test.made", at=AT), new))
    assert item(state, "CON-1").drawn_from == ""
    assert item(state, "LOT-1").drawn == ()


def test_what_is_drawn_off_for_another_step_crosses_to_it():
    state = lot_room()
    draw(state, "SOL-1", "LB-1", sort="solution", step="electrowinning")
    assert crossings(state, "SOL-1") == [("leach", "electrowinning", "electrowinning")]
    assert item(state, "LB-1").status == "held"


@pytest.mark.parametrize("parents", [(), ("LOT-1", "LB-1")])
def test_only_one_thing_can_be_drawn_off(parents):
    state = lot_room()
    new = moves.NewItem(item="S-1", sort="sample", step="table", parents=parents)
    with pytest.raises(ValueError, match="values to unpack"):
        put(state, moves.draw(state, act("test.drawn", at=AT), new))


def test_a_crossing_remembers_how_much_had_been_drawn_before_it():
    state = lot_room()
    draw(state, "S-1", "LOT-1")
    put_in(state, "LB-1", "LOT-1")
    assert (crossing(state, "LOT-1", 1).drawn, crossing(state, "S-1", 1).drawn) == (
        1,
        0,
    )


def test_what_is_put_in_crosses_to_the_holder_and_is_used_up_in_it():
    state = lot_room(vessel_id="D1")
    put_in(state, "LB-1", "LOT-1")
    lot, holder = item(state, "LOT-1"), item(state, "LB-1")
    assert crossings(state, "LOT-1") == [("table", "leach", "leach")]
    assert (lot.status, lot.step, lot.children) == ("consumed", "leach", ("LB-1",))
    assert lot.held_until == "2026-10-05T06:00:00Z"
    assert (holder.status, holder.parents) == ("held", ("LOT-1",))
    assert (in_vessel(state, "D1"), in_vessel(state, "LV1")) == ((), ("LB-1",))


def test_what_is_put_in_from_the_same_step_does_not_cross():
    state = lot_room()
    add_item(state, "SOL-0", "solution", step="leach")
    put_in(state, "LB-1", "SOL-0")
    assert crossings(state, "SOL-0") == []
    assert item(state, "SOL-0").status == "consumed"


def test_more_is_put_in_later_and_the_holder_remembers_all_of_it_once():
    state = lot_room()
    add_item(state, "LOT-2", "lot", step="table", dry_kg="100")
    put_in(state, "LB-1", "LOT-1")
    put_in(state, "LB-1", "LOT-2")
    assert item(state, "LB-1").parents == ("LOT-1", "LOT-2")


@pytest.mark.parametrize(
    ("first", "second", "source"),
    [
        ("gravity", "gravity", "gravity"),
        ("other", "other", "other"),
        ("gravity", "other", "mixed"),
        ("mixed", "mixed", "mixed"),
    ],
)
def test_a_holder_has_the_source_of_what_was_put_in(first, second, source):
    state = lot_room()
    add_item(state, "LOT-2", "lot", step="table", dry_kg="100")
    for name, of in (("LOT-1", first), ("LOT-2", second)):
        state.put(replace(item(state, name), source=of))
    put_in(state, "LB-1", "LOT-1", "LOT-2")
    assert item(state, "LB-1").source == source


def test_a_sample_put_back_into_what_it_was_drawn_off_is_named_once_each_way():
    state = lot_room()
    draw(state, "S-1", "LB-1")
    put_in(state, "LB-1", "S-1")
    sample, holder = item(state, "S-1"), item(state, "LB-1")
    assert (holder.drawn, holder.parents) == (("S-1",), ("S-1",))
    assert (sample.children, sample.status) == (("LB-1",), "consumed")
    assert state.get(Item, "S-1") is sample
