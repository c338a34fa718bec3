"""Finding what a statement names, or refusing with a sentence that helps."""

from collections.abc import Sequence
from typing import TypeVar

from goldroom.custody.moves import HELD
from goldroom.custody.names import a_sort, any_of
from goldroom.custody.records import Item, Record
from goldroom.custody.state import State
from goldroom.errors import (
    UNKNOWN,
    ItemConsumed,
    ItemIdUsed,
    ItemNotHeld,
    WrongSort,
)

R = TypeVar("R", bound=Record)
REGISTERED = ("concentrator", "contract", "instrument", "person", "place", "vessel")
"""What is there because somebody registered, enrolled or set it."""
SAID_BY_ID = ("emergency", "said", "stock_count")
"""What goes by the id of the entry that says it."""
TRADE_NAMES = {"said": "entry", "stock_count": "count"}
"""What people call a record, where its table has another name."""
OFF_A_BAR = ("sample", "sweepings")


def the(state: State, record_type: type[R], key: str, field: str) -> R:
    """Return the record a statement names; refuse with `unknown_<table>` if none."""
    found = state.get(record_type, key)
    if found is None:
        table = record_type.table
        trade_name = TRADE_NAMES.get(table, table.replace("_", " "))
        where, remedy = "on record", "Check the id, or say first what made it."
        if table in SAID_BY_ID:
            remedy = "Take its id from the journal."
        elif table in REGISTERED:
            where = "registered here"
            remedy = f"Check the id, or register the {trade_name} first."
        raise UNKNOWN[table](
            f"{field}: no {trade_name} {key!r} is {where}. {remedy}", field=field
        )
    return found


def check_new_item(state: State, item_id: str, field: str) -> None:
    """Refuse an item id that was used before: ids are unique forever."""
    used = state.get(Item, item_id)
    if used is not None:
        raise ItemIdUsed(
            f"{field}: {item_id} was made before ({used.sort}, {used.status})."
            " Give this one an id never used.",
            field=field,
        )


def wrong_sort(
    field: str, name: str, sort: str, expected: str, *, remedy: str = ""
) -> WrongSort:
    """Return the refusal of a thing of this sort where another was expected."""
    remedy = remedy or "Check the id, or name another."
    return WrongSort(
        f"{field}: {name} is {a_sort(sort)}; expected {expected}. {remedy}", field=field
    )


def held_item(
    state: State, item_id: str, field: str, *, sorts: Sequence[str] = ()
) -> Item:
    """Return an item that is in the room's care and free to be used.

    Raises UnknownItem, WrongSort, ItemConsumed and ItemNotHeld.
    """
    item = the(state, Item, item_id, field)
    if sorts and item.sort not in sorts:
        raise wrong_sort(field, item_id, item.sort, any_of(sorts))
    if item.status == "consumed" or item.status == "in_charge":
        raise ItemConsumed(
            f"{field}: {item_id} was used already, by entry {item.used_by}"
            f"{_went_into(state, item)}. Check the label; name what is really in"
            " front of you.",
            field=field,
        )
    if item.status not in HELD:
        raise ItemNotHeld(
            f"{field}: {item_id} is not in the room's care ({item.status}). Check the"
            " label; name what is really in front of you.",
            field=field,
        )
    return item


def _went_into(state: State, item: Item) -> str:
    """Return what a used item became, or went into; "" where nothing tells.

    What was drawn off it is none of that, nor what was drilled or cleaned off a bar.
    """
    made = [(each, state.get(Item, each)) for each in item.children]
    became = [
        name
        for name, child in made
        if child is not None
        and child.drawn_from != item.item
        and not (item.sort == "bar" and child.sort in OFF_A_BAR)
        and child.status != "void"
    ]
    return f", and went into {', '.join(became)}" if became else ""
