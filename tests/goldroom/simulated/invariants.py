"""What must hold of the book's records after every act, whatever was said."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence

from goldroom.custody.moves import HELD, last_vessel
from goldroom.custody.records import Item, Record, Seal, Stay, Vessel
from goldroom.custody.state import State

ENDED = ("consumed", "left", "void")


def check_changes(
    state: State,
    before: Mapping[tuple[str, str], Record],
    vessels: Sequence[Vessel],
    *,
    is_void: bool,
) -> None:
    """Assert the rules of every record that the last act changed, and of vessels."""
    changed = state.changed()
    check_vessels(state, vessels)
    for at, record in changed.items():
        if isinstance(record, Item):
            check_item(state, record)
            was = before.get(at)
            if isinstance(was, Item) and was.status in ENDED and not is_void:
                is_flush_again = was.status == "void" and was.sort == "flush"
                assert record.status in ENDED or is_flush_again, record
        elif isinstance(record, Stay):
            assert record.hands, record
            assert record.place or record.act.startswith("dispatch"), record
        elif isinstance(record, Seal):
            check_seal(record, vessels)


def check_vessels(state: State, vessels: Iterable[Vessel]) -> None:
    """Assert that no item is in two vessels, and each is where its last stay was."""
    places = Counter(each for vessel in vessels for each in vessel.contents)
    assert all(count == 1 for count in places.values()), places
    fitted = Counter(p.seal for v in vessels for p in v.points if p.seal)
    assert all(count == 1 for count in fitted.values()), fitted
    for vessel in vessels:
        is_bare = any(not point.seal for point in vessel.points)
        assert vessel.is_open == is_bare, vessel
        for name in vessel.contents:
            item = state.get(Item, name)
            assert item is not None
            assert item.status in HELD, item
            assert last_vessel(state, item) == vessel.vessel, (item, vessel)


def check_item(state: State, item: Item) -> None:
    """Assert that a held item is somewhere and not ended, and others are ended."""
    if item.status in HELD:
        assert item.held_until == "", item
        assert item.place or item.status == "in_transit", item
        vessel_id = last_vessel(state, item)
        if vessel_id:
            vessel = state.get(Vessel, vessel_id)
            assert vessel is not None
            assert item.item in vessel.contents, (item, vessel)
    else:
        assert item.held_until, item
        assert item.held_until >= item.held_from, item
    for parent_id in item.parents if item.status != "void" else ():
        parent = state.get(Item, parent_id)
        assert parent is not None
        assert item.item in parent.children, (item, parent)


def check_seal(seal: Seal, vessels: Iterable[Vessel]) -> None:
    """Assert that a fitted seal is on the one point it says, and no other is."""
    on = [
        (vessel.vessel, point.point)
        for vessel in vessels
        for point in vessel.points
        if point.seal == seal.seal
    ]
    expected = [(seal.vessel, seal.point)] if seal.status == "fitted" else []
    assert on == expected, (seal, on)


def check_trail(state: State, bar: str, brought: Collection[str]) -> None:
    """Assert that a bar's trail ends in flushes and what was brought in alone.

    `brought` are the entries that told of opening stock, other metal or metal found.
    A load without flushes is a reading that found nothing new: it held nothing.
    """
    ends: list[Item] = []
    waiting, seen = [bar], set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        item = state.get(Item, name)
        assert item is not None, name
        waiting += item.parents
        if not item.parents:
            ends.append(item)
    for end in ends:
        assert end.sort in ("flush", "load") or end.made_by in brought, end
    assert any(end.sort == "flush" or end.made_by in brought for end in ends), bar
