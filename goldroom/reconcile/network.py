"""Parcels of metal along the steps of the gold room, in one period.

A *parcel* is an item at one place of a balance: held by a step at the start
(opening), held at the end (closing), or passed from step to step in between. `""` is
the world outside. Of a period [from, to):

    opening   held by the step just before `from`
    passed    crossed at `from` or later, before `to`; counted out of one step and
              into the other
    closing   held by the step just before `to`

What an act at exactly `from` did therefore belongs to the period, and a closing is
the next opening. Stock that an opening statement declares inside the period comes in
from outside. An item that crosses from a step to itself (made at the table, kept at
the table) is neither in nor out. A parcel holds what its item held at that moment:
what was drawn off it before is a parcel of its own.

A bar counts at its newest mass from its making on, so what was taken off it since
(drillings, scale) is held beside it by the smelt for just as long: wherever a month
ends between numbering and drilling, no metal moves from one month to another.

The whole is an incidence A of steps x parcels (+1 enters the balance, -1 leaves it:
opening +1, closing -1), so that r = A y and its covariance A V A'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from goldroom.custody.records import Crossing, Item
from goldroom.reconcile.ledger_records import LedgerRecords, step_at_making
from goldroom.reconcile.portions import sample_of
from goldroom.reconcile.priors import TAKEN_OFF_BARS, Quantities
from goldroom.reconcile.quantities import Contents

OUTSIDE = ""
OPENING, PASSED, CLOSING = "opening", "passed", "closing"


@dataclass(frozen=True, slots=True)
class Way:
    """How something enters `to_step`'s balance, leaves `from_step`'s, or both.

    An opening enters its step from "", a closing leaves its step to "".
    """

    role: str
    from_step: str
    to_step: str
    at: str
    where_to: str = ""

    def with_contents(self, item: Item, contents: Contents) -> Parcel:
        """Return an item going this way, with what it holds on it."""
        return Parcel(self, item.item, item.sort, contents)


@dataclass(frozen=True, slots=True)
class Parcel:
    """An item on its way, with what it holds."""

    way: Way
    item: str
    sort: str
    contents: Contents

    def sign_for(self, steps: frozenset[str]) -> int:
        """Return +1 if it enters the balance of these steps, -1 if it leaves, or 0."""
        return (self.way.to_step in steps) - (self.way.from_step in steps)


def parcels_of(
    data: LedgerRecords, quantities: Quantities, *, from_at: str, to_at: str
) -> tuple[Parcel, ...]:
    """Return the period's parcels: openings, passings in order of time, closings."""
    openings, passed, closings = [], [], []
    for name, made in data.items.items():
        crossings = data.crossings.get(name, ())
        bar = bar_drilled(made, data)
        item = made if bar is None else replace(made, held_from=bar.held_from)
        start = step_holding(item, crossings, from_at)
        if start:
            way = Way(OPENING, OUTSIDE, start, from_at)
            contents = quantities.of(name, at=from_at)
            openings.append(way.with_contents(item, contents))
        if is_declared(bar or item, data) and from_at <= item.held_from < to_at:
            passed += _declarations(item, crossings, quantities)
        passed += _passings(item, crossings, (from_at, to_at), quantities)
        end = step_holding(item, crossings, to_at)
        if end:
            way = Way(CLOSING, end, OUTSIDE, to_at)
            contents = quantities.of(name, at=to_at)
            closings.append(way.with_contents(item, contents))
    passed.sort(key=lambda each: (each.way.at, each.item))
    return (*openings, *passed, *closings)


def step_holding(item: Item, crossings: Sequence[Crossing], at: str) -> str:
    """Return the step that held the item just before a time; "" if none did."""
    if item.held_from >= at or (item.held_until and item.held_until < at):
        return OUTSIDE
    before = [crossing for crossing in crossings if crossing.at < at]
    if before:
        return before[-1].to_step
    return step_at_making(item, crossings)


def is_declared(item: Item, data: LedgerRecords) -> bool:
    """Return whether opening stock declared the item: it was made with no crossing."""
    crossings = data.crossings.get(item.item, ())
    return not any(crossing.entry == item.made_by for crossing in crossings)


def bar_drilled(item: Item, data: LedgerRecords) -> Item | None:
    """Return the bar that drillings or cleanings were taken off; None for others."""
    if item.sort not in TAKEN_OFF_BARS or len(item.parents) != 1:
        return None
    parent = data.items.get(item.parents[0])
    return parent if parent is not None and parent.sort == "bar" else None


def incidence(
    parcels: Sequence[Parcel], groups: Sequence[frozenset[str]]
) -> npt.NDArray[np.float64]:
    """Return A: a row for each balance (one step, or several merged), +1, -1 or 0."""
    rows = [[parcel.sign_for(group) for parcel in parcels] for group in groups]
    return np.array(rows, dtype=float)


def merged_steps(
    parcels: Sequence[Parcel], quantities: Quantities, steps: Sequence[str]
) -> tuple[Mapping[str, frozenset[str]], tuple[str, ...]]:
    """Return the balances that can be drawn, by name, and why some are merged.

    Where a sort of item that passes between two steps is never assayed or estimated
    in the record, the two are one balance, named with a plus: what passes between
    them cannot be seen. Loads that are never assayed merge the hopper with the table.
    """
    of_step = {step: frozenset({step}) for step in steps}
    reasons: list[str] = []
    for first, second, sort in _unseen(parcels, quantities):
        if first in of_step and second in of_step:
            if of_step[first] is of_step[second]:
                continue
            together = of_step[first] | of_step[second]
            of_step.update(dict.fromkeys(together, together))
            reasons.append(_merged_because(sort, first, second))
    names: dict[str, frozenset[str]] = {}
    for step in steps:
        names["+".join(s for s in steps if s in of_step[step])] = of_step[step]
    return names, tuple(reasons)


def _unseen(
    parcels: Sequence[Parcel], quantities: Quantities
) -> list[tuple[str, str, str]]:
    """Return (from, to, sort) of passings whose sort is never measured."""
    found: dict[tuple[str, str, str], None] = {}
    for parcel in parcels:
        items = quantities.data.items
        sort = parcel.sort
        if not quantities.is_ever_measured(sort):
            sort = sample_of(items[parcel.item], items)
        if quantities.is_ever_measured(sort):
            continue
        if sort == "load":
            found["hopper", "table", "load"] = None
        elif parcel.way.from_step and parcel.way.to_step:
            found[parcel.way.from_step, parcel.way.to_step, sort] = None
    return list(found)


def _merged_because(sort: str, first: str, second: str) -> str:
    """Return the sentence that tells what a merged balance cannot see."""
    return (
        f"No {sort} has an assay or estimate in the record, so {first} and {second} are"
        f" drawn as one balance. Metal that goes missing at the {first} and metal that"
        f" goes missing at the {second} cannot be told apart; what was taken before the"
        " first sample cannot be seen at all."
    )


def _declarations(
    item: Item, crossings: Sequence[Crossing], quantities: Quantities
) -> list[Parcel]:
    """Return the item's coming in as opening stock, if a step held it."""
    step = step_at_making(item, crossings)
    if not step:
        return []
    way = Way(PASSED, OUTSIDE, step, item.held_from, "opening stock")
    return [way.with_contents(item, quantities.of(item.item, drawn=0))]


def _passings(
    item: Item,
    crossings: Sequence[Crossing],
    period: tuple[str, str],
    quantities: Quantities,
) -> list[Parcel]:
    """Return the item's crossings from one step to another within the period."""
    from_at, to_at = period
    found = []
    for crossing in crossings:
        if from_at <= crossing.at < to_at and crossing.from_step != crossing.to_step:
            way = Way(
                PASSED,
                crossing.from_step,
                crossing.to_step,
                crossing.at,
                crossing.where_to,
            )
            contents = quantities.of(item.item, drawn=crossing.drawn)
            found.append(way.with_contents(item, contents))
    return found
