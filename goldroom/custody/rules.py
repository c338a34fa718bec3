"""Rules that cross kinds: ids used once, items at hand, metal's source, passing on."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from goldroom.custody.act import Act
from goldroom.custody.lookups import check_new_item, held_item
from goldroom.custody.moves import MIXED, cross
from goldroom.custody.records import Item, Record
from goldroom.custody.state import State
from goldroom.errors import ItemIdUsed, NotInThisState, PaperNotAttached, SameSigners


def check_new_items(state: State, named: Sequence[tuple[str, str]]) -> None:
    """Refuse (item id, field) pairs whose id was used before, or twice among them."""
    seen: set[str] = set()
    for item_id, field in named:
        check_new_item(state, item_id, field)
        if item_id in seen:
            raise ItemIdUsed(
                f"{field}: {item_id} is given twice in this statement. Give each"
                " thing made an id of its own.",
                field=field,
            )
        seen.add(item_id)


def item_at_hand(
    state: State, item_id: str, field: str, *, sorts: Sequence[str] = ()
) -> Item:
    """Return an item that is here and free to be used.

    Raises UnknownItem, WrongSort, ItemConsumed, ItemNotHeld and, for what a carrier
    has, NotInThisState.
    """
    item = held_item(state, item_id, field, sorts=sorts)
    if item.status == "in_transit":
        raise NotInThisState(
            f"{field}: {item_id} was handed over and is on its way. Name what is"
            " really in front of you.",
            field=field,
        )
    return item


def source_of(state: State, parents: Sequence[str]) -> str:
    """Return where metal made from these items came from: gravity, other or mixed."""
    found = {item.source for each in parents if (item := state.get(Item, each))}
    return found.pop() if len(found) == 1 else MIXED


def pass_on(state: State, act: Act, item_id: str, step: str) -> Iterator[Record]:
    """Yield an item's passing into another step's balance, unless it is there."""
    item = state.get(Item, item_id)
    assert item is not None
    if item.step == step:
        return
    yield from cross(state, act, item_id, step, where_to=step)
    crossed = state.get(Item, item_id)
    assert crossed is not None
    yield replace(crossed, step=step)


def check_other_hand(act: Act, people: Collection[str], did: str) -> None:
    """Refuse an act that only those sign who did the thing it speaks of.

    `did` says what they did, such as "signed the original". Raises SameSigners.
    """
    if set(act.people) <= set(people):
        raise SameSigners(
            f"signers: nobody signs this but {' and '.join(act.people)}, who {did}."
            " Let at least one person sign who did not.",
            field="signers",
        )


def check_attached(act: Act, what: str) -> None:
    """Refuse an act without any attachment. Raises PaperNotAttached."""
    if not act.attachments:
        raise PaperNotAttached(
            f"attachments: {what} is not attached. Attach its scan or photograph, and"
            " cite the file with this statement.",
            field="attachments",
        )
