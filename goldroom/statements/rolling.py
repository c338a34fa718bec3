"""Which entries put an item into a counted place, or took it out.

Everything is looked up by key: an item's stays are numbered, each names its entry.
"""

from collections.abc import Iterator

from goldroom.custody.records import Item, Said, Stay
from goldroom.custody.state import State
from goldroom.custody.stock import StockCount

CAME_IN, WENT_OUT, STAYED = 1, -1, 0


def direction(state: State, count: StockCount, entry: str, item_id: str) -> int:
    """Return CAME_IN, WENT_OUT or STAYED: what the entry did to an item."""
    stays = list(_stays(state, item_id))
    for n, stay in enumerate(stays):
        if stay.entry == entry:
            # An entry may give several stays: the last says where the item ended up.
            before = stays[n - 1] if n else None
            after = [each for each in stays if each.entry == entry][-1]
            return _way(state, count, before, after)
    return STAYED


def lies_between(at: str, *, count_at: str, cut_off: str) -> bool:
    """Return whether something happened between a count and the cut-off.

    What was done at the very cut-off belongs to the period that begins there.
    """
    if cut_off < count_at:
        return cut_off <= at < count_at
    return count_at < at < cut_off


def movements_of(
    state: State, count: StockCount, item_id: str, cut_off: str
) -> Iterator[str]:
    """Yield the entries that moved an item in or out between count and cut-off."""
    seen = {count.entry}
    for stay in _stays(state, item_id):
        if stay.entry in seen or not lies_between(
            stay.at, count_at=count.at, cut_off=cut_off
        ):
            continue
        seen.add(stay.entry)
        if direction(state, count, stay.entry, item_id) != STAYED:
            yield stay.entry


def happened(state: State, entry: str) -> str:
    """Return when an entry happened, as UTC text."""
    said = state.get(Said, entry)
    assert said is not None
    return said.at


def _stays(state: State, item_id: str) -> Iterator[Stay]:
    item = state.get(Item, item_id)
    for n in range(1, (0 if item is None else item.stays) + 1):
        stay = state.get(Stay, f"{item_id}/{n:04d}")
        if stay is not None:
            yield stay


def _way(state: State, count: StockCount, before: Stay | None, after: Stay) -> int:
    was_there = before is not None and _is_there(count, before)
    is_there = _is_there(count, after) and not _ended_by(state, after)
    return is_there - was_there


def _is_there(count: StockCount, stay: Stay) -> bool:
    if count.vessel:
        return stay.vessel == count.vessel
    return stay.place == count.place


def _ended_by(state: State, stay: Stay) -> bool:
    """Return whether the entry used the item up: its last stay is no holding."""
    item = state.get(Item, stay.item)
    return item is not None and item.used_by == stay.entry
