"""How items come into custody, pass from step to step, stay, and leave it.

Each function yields the records that change, in an order in which each may be held
before the next is asked for. An item *stays* where an act put it, under the seals
and hands of that act; it *crosses* from one step's balance to another's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from goldroom.custody.act import Act
from goldroom.custody.records import Crossing, Item, Record, Stay, Vessel
from goldroom.custody.state import State

HELD = ("held", "in_charge", "in_transit")
"""Statuses of an item that a step's balance holds."""

MIXED = "mixed"
"""Source of what came from gravity and other metal together."""


@dataclass(frozen=True, kw_only=True)
class NewItem:
    """What is said of an item at its making.

    `step` is the balance that will hold it; `from_step` the one it leaves ("" from
    outside, or where it starts as opening stock). With neither, nothing crosses.
    """

    item: str
    sort: str
    step: str
    from_step: str = ""
    place: str = ""
    vessel: str = ""
    parents: tuple[str, ...] = ()
    source: str = "gravity"
    label: str = ""
    is_opening: bool = False


def make(state: State, act: Act, new: NewItem) -> Iterator[Record]:
    """Yield the new item, its crossing and first stay, and its parents' new child."""
    item = Item(
        item=new.item,
        sort=new.sort,
        status="held",
        place=new.place,
        step=new.step,
        source=new.source,
        parents=new.parents,
        children=(),
        made_by=act.entry,
        used_by="",
        held_from=act.at,
        held_until="",
        label=new.label,
        at=act.at,
    )
    yield item
    if not new.is_opening and (new.step or new.from_step):
        yield from cross(
            state, act, new.item, new.step, where_to=new.step, from_step=new.from_step
        )
    yield from stay(state, act, new.item, vessel=new.vessel, place=new.place)
    for parent_id in new.parents:
        parent = state.get(Item, parent_id)
        if parent is not None:
            yield replace(parent, children=(*parent.children, new.item))
    yield from _into(state, new.vessel, new.item)


def draw(state: State, act: Act, new: NewItem) -> Iterator[Record]:
    """Yield a new item drawn off its one parent, which stays held with the rest.

    From then on the parent holds less by just what the child holds.
    """
    (parent_id,) = new.parents
    yield from make(state, act, new)
    child, parent = state.get(Item, new.item), state.get(Item, parent_id)
    assert child is not None
    assert parent is not None
    yield replace(child, drawn_from=parent_id)
    yield replace(parent, drawn=(*parent.drawn, new.item))


def put_in(
    state: State, act: Act, item_ids: Sequence[str], holder_id: str
) -> Iterator[Record]:
    """Yield the items' passing into a holder's step, and their end within it.

    What is put in joins what is there, so a holder of two sources is mixed from then.
    """
    for item_id in item_ids:
        item, holder = state.get(Item, item_id), state.get(Item, holder_id)
        assert item is not None
        assert holder is not None
        if item.step != holder.step:
            yield from cross(state, act, item_id, holder.step, where_to=holder.step)
            crossed = state.get(Item, item_id)
            assert crossed is not None
            yield replace(crossed, step=holder.step)
        yield from use_up(state, act, (item_id,))
        used = state.get(Item, item_id)
        assert used is not None
        if holder_id not in used.children:
            yield replace(used, children=(*used.children, holder_id))
        if item_id not in holder.parents:
            is_alike = not holder.parents or item.source == holder.source
            yield replace(
                holder,
                parents=(*holder.parents, item_id),
                source=item.source if is_alike else MIXED,
            )


def cross(
    state: State,
    act: Act,
    item_id: str,
    to_step: str,
    *,
    where_to: str,
    from_step: str | None = None,
) -> Iterator[Record]:
    """Yield the item's passing to another step ("" for outside) at the act's time."""
    item = state.get(Item, item_id)
    assert item is not None
    yield replace(item, crossings=item.crossings + 1)
    yield Crossing(
        item=item_id,
        n=item.crossings + 1,
        from_step=item.step if from_step is None else from_step,
        to_step=to_step,
        where_to=where_to,
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
        drawn=len(item.drawn),
    )


def stay(
    state: State,
    act: Act,
    item_id: str,
    *,
    vessel: str = "",
    place: str = "",
    said: str = "",
) -> Iterator[Record]:
    """Yield where the item is from this act on, under which seals, by whose hands."""
    item = state.get(Item, item_id)
    assert item is not None
    held_in = state.get(Vessel, vessel) if vessel else None
    seals = tuple(each.seal for each in held_in.points if each.seal) if held_in else ()
    where = held_in.place if held_in else place
    yield replace(item, stays=item.stays + 1, place=where or item.place)
    yield Stay(
        item=item_id,
        n=item.stays + 1,
        place=where or item.place,
        vessel=vessel,
        seals=seals,
        act=said or act.kind,
        hands=act.people,
        entry=act.entry,
        at=act.at,
    )


def use_up(
    state: State, act: Act, item_ids: Sequence[str], *, status: str = "consumed"
) -> Iterator[Record]:
    """Yield the items' end as held things: consumed, left or void."""
    for item_id in item_ids:
        item = state.get(Item, item_id)
        assert item is not None
        yield replace(
            item,
            status=status,
            used_by=act.entry,
            held_until=act.at if item.status in HELD else item.held_until,
        )
        yield from _out_of_all(state, item)
        yield from stay(state, act, item_id, place=item.place)


def leave(
    state: State, act: Act, item_ids: Sequence[str], *, where_to: str
) -> Iterator[Record]:
    """Yield the items' leaving the balances for the world outside."""
    for item_id in item_ids:
        yield from cross(state, act, item_id, "", where_to=where_to)
    yield from use_up(state, act, item_ids, status="left")


def put_into(
    state: State, act: Act, item_ids: Sequence[str], vessel: str
) -> Iterator[Record]:
    """Yield the items' moving into a vessel, out of any they were in."""
    for item_id in item_ids:
        item = state.get(Item, item_id)
        assert item is not None
        yield from _out_of_all(state, item)
        yield from _into(state, vessel, item_id)
        yield from stay(state, act, item_id, vessel=vessel)


def set_down(
    state: State, act: Act, item_ids: Sequence[str], place: str
) -> Iterator[Record]:
    """Yield the items' moving to a place, out of any vessel they were in."""
    for item_id in item_ids:
        item = state.get(Item, item_id)
        assert item is not None
        yield from _out_of_all(state, item)
        yield from stay(state, act, item_id, place=place)


def _into(state: State, vessel_id: str, item_id: str) -> Iterator[Record]:
    vessel = state.get(Vessel, vessel_id) if vessel_id else None
    if vessel is not None:
        yield replace(vessel, contents=(*vessel.contents, item_id))


def _out_of_all(state: State, item: Item) -> Iterator[Record]:
    vessel_id = last_vessel(state, item)
    vessel = state.get(Vessel, vessel_id) if vessel_id else None
    if vessel is not None and item.item in vessel.contents:
        kept = tuple(each for each in vessel.contents if each != item.item)
        yield replace(vessel, contents=kept)


def last_vessel(state: State, item: Item) -> str:
    """Return the vessel of the item's last stay ("" if it was in none)."""
    last = state.get(Stay, f"{item.item}/{item.stays:04d}")
    return last.vessel if last is not None else ""
