"""A trail: an item back to its flushes and forward to its refinery melt.

Every item on the way is there with each of its stays: where, in which vessel, under
which seals, by whose hands, when, by which entry. From the pour on a bar keeps its
identity; before it the metal of all sources is mixed (site-level mass balance), so
sources are named and no shares are claimed.

Middlings, slag, skulls, samples and the like go round again. The *direct* way stops
at such a return; what lies behind one is there too, marked as reached through it.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from goldroom.custody.figures import in_order
from goldroom.custody.records import (
    Assay,
    Estimate,
    Instrument,
    Item,
    Mass,
    Person,
    Place,
    Record,
    Seal,
    Shipment,
    Stay,
    Vessel,
)
from goldroom.errors import Refusal, UnknownItem
from goldroom.findings.runs import in_words
from goldroom.reports import rows
from goldroom.reports.journal import Line, lines_of
from goldroom.reports.origins import NO_SOURCES, TOLD_OF_SHARES, Sources, sources_of
from goldroom.reports.people import Names, names
from goldroom.reports.plain import as_plain
from goldroom.statements.registry import kinds

F = TypeVar("F", Mass, Assay, Estimate)

READ = (Item, Shipment, Person, Place, Vessel, *TOLD_OF_SHARES)
"""What a trail is followed by, read in one query: its items lead to each other."""


class SeveralBars(Refusal):
    """A stamped number is on more than one bar."""

    code = "several_bars"


RETURNS = (
    "middlings",
    "magnetics",
    "tails",
    "slag",
    "skull",
    "sweepings",
    "sample",
)
"""Sorts that go round again: behind them lies another run or pour."""

POURED = ("bar", "melt")
"""Sorts that are one piece of metal, or known bars melted together."""


@dataclass(frozen=True, kw_only=True)
class StayLine:
    """A stretch of custody: from `at` on it was here, put here by this act."""

    at: str
    act: str
    place: str
    vessel: str
    seals: tuple[str, ...]
    hands: tuple[str, ...]
    entry: str
    seq: int | None


@dataclass(frozen=True, kw_only=True)
class TrailItem:
    """An item of a trail. `is_direct` says that no return lies between.

    `mass` and `estimate` are the newest versions, `assays` all of them.
    """

    item: str
    label: str
    sort: str
    status: str
    source: str
    is_direct: bool
    parents: tuple[str, ...]
    children: tuple[str, ...]
    made_at: str
    made_by: str
    used_by: str
    stays: tuple[StayLine, ...]
    mass: Mass | None
    assays: tuple[Assay, ...]
    estimate: Estimate | None


@dataclass(frozen=True, kw_only=True)
class Trail:
    """An item's way: `back` from the first source on, `forward` to the last product."""

    item: TrailItem
    back: tuple[TrailItem, ...]
    forward: tuple[TrailItem, ...]
    shipments: tuple[Shipment, ...]
    people: Names
    sources: Sources = NO_SOURCES

    @property
    def flushes(self) -> tuple[str, ...]:
        """Return the flushes that the item comes from, by the direct way."""
        return _of_sort(self.back, "flush", is_direct=True)

    @property
    def flushes_behind_returns(self) -> tuple[str, ...]:
        """Return the flushes whose metal may be in it only through returns."""
        return _of_sort(self.back, "flush", is_direct=False)

    @property
    def melts(self) -> tuple[str, ...]:
        """Return the refinery melts that the item went into."""
        return _of_sort(self.forward, "melt", is_direct=True)

    @property
    def hands(self) -> tuple[str, ...]:
        """Return everybody who signed for the item or what it came from or became."""
        every = (*self.back, self.item, *self.forward)
        return tuple(
            sorted(
                {hand for each in every for stay in each.stays for hand in stay.hands}
            )
        )

    def to_json(self) -> dict[str, Any]:
        """Return the trail as plain values, with what follows from it."""
        return {
            **as_plain(self),
            "flushes": list(self.flushes),
            "flushes_behind_returns": list(self.flushes_behind_returns),
            "hands": list(self.hands),
            "identity": self.identity,
            "melts": list(self.melts),
        }

    @property
    def identity(self) -> str:
        """Return what can be said of the item's metal, in words."""
        shares = (
            "shares are by measured inputs (a site's mass balance, in the terms of"
            " ISO 22095), not by any mark on the metal"
            if self.sources.each
            else "its sources are named, their shares are not known"
        )
        if self.item.sort in POURED:
            return (
                "From the pour on this metal keeps its identity. Before the pour it was"
                f" mixed: {shares}."
            )
        return f"Before the pour metal is mixed: {shares}."


def trail(ledger_id: int, item_id: str) -> Trail:
    """Return an item's trail. A bar may be named by its stamped number.

    Raises UnknownItem and SeveralBars.
    """
    with rows.read_together(ledger_id, *READ):
        return _trail(ledger_id, item_id)


def _trail(ledger_id: int, item_id: str) -> Trail:
    start = rows.one(ledger_id, Item, item_id) or _stamped(ledger_id, item_id)
    if start is None:
        raise UnknownItem(
            f"item: no item {item_id!r} was ever recorded here, and no bar bears that"
            f" number. {_what_else(ledger_id, item_id)}",
            field="item",
        )
    back = _walk(ledger_id, start, lambda item: item.parents)
    forward = _walk(ledger_id, start, lambda item: item.children)
    told = _Told(ledger_id, [start, *back.items.values(), *forward.items.values()])
    return Trail(
        item=told.item(start, is_direct=True),
        back=told.in_order(back),
        forward=told.in_order(forward),
        shipments=_shipments(ledger_id, (start.item, *back.items, *forward.items)),
        people=names(ledger_id),
        sources=sources_of(ledger_id, start, back.items),
    )


def _what_else(ledger_id: int, name: str) -> str:
    """Return what to do about a name that is no item's."""
    others: dict[type[Record], str] = {
        Seal: "seal",
        Vessel: "vessel",
        Instrument: "instrument",
    }
    for record_type, what in others.items():
        if rows.one(ledger_id, record_type, name) is not None:
            return f"It is a {what}: ask for its entries with journal --{what} {name}."
    return (
        "Check the label; a flush is named by unit, counter epoch and number, such as"
        " U1-1-101."
    )


@dataclass(frozen=True)
class _Walk:
    """Items reached, and the ids of those reached without passing a return."""

    items: dict[str, Item]
    direct: frozenset[str]


def _walk(
    ledger_id: int, start: Item, onward: Callable[[Item], tuple[str, ...]]
) -> _Walk:
    """Return all items reached from `start`, generation by generation."""
    known = {start.item: start}
    ahead = list(onward(start))
    while ahead:
        met = rows.by_keys(
            ledger_id, Item, (each for each in ahead if each not in known)
        )
        known.update(met)
        ahead = [each for item in met.values() for each in onward(item)]
    direct: set[str] = set()
    ahead = list(onward(start))
    while ahead:
        name = ahead.pop()
        if name in known and name not in direct and name != start.item:
            direct.add(name)
            if known[name].sort not in RETURNS:
                ahead += onward(known[name])
    return _Walk(
        {name: item for name, item in known.items() if name != start.item},
        frozenset(direct),
    )


def _stamped(ledger_id: int, number: str) -> Item | None:
    """Return the bar that bears a stamped number, or None.

    Raises SeveralBars when more than one does.
    """
    named = json.dumps(number, ensure_ascii=False)
    bars = [
        item
        for item in rows.containing(ledger_id, Item, f'"label":{named}')
        if item.sort == "bar" and item.label == number
    ]
    if len(bars) > 1:
        raise SeveralBars(
            f"item: {number} is stamped on {in_words(bar.item for bar in bars)}. Name"
            " one of them by its id.",
            field="item",
        )
    return bars[0] if bars else None


def _shipments(ledger_id: int, items: Iterable[str]) -> tuple[Shipment, ...]:
    named = set(items)
    return tuple(
        each
        for each in rows.every(ledger_id, Shipment)
        if named.intersection(each.items)
        or any(named.intersection(box.items) for box in each.boxes)
    )


def _versions(items: Iterable[Item], figure: str) -> Iterator[str]:
    """Yield the keys of every version of the items' masses, assays or estimates."""
    for item in items:
        for n in range(1, getattr(item, figure) + 1):
            yield f"{item.item}/{n:03d}"


def _of(found: Mapping[str, F], item: Item, figure: str) -> list[F]:
    """Return an item's figures of one sort, the newest last."""
    return in_order(found[key] for key in _versions([item], figure) if key in found)


class _Told:
    """Items with their stays and figures, all fetched in a few queries."""

    def __init__(self, ledger_id: int, items: list[Item]) -> None:
        stays = rows.by_keys(
            ledger_id,
            Stay,
            (f"{i.item}/{n:04d}" for i in items for n in range(1, i.stays + 1)),
        )
        self._stays = stays
        self._masses = rows.by_keys(ledger_id, Mass, _versions(items, "masses"))
        self._estimates = rows.by_keys(
            ledger_id, Estimate, _versions(items, "estimates")
        )
        self._assays = rows.by_keys(ledger_id, Assay, _versions(items, "assays"))
        entries = {stay.entry for stay in stays.values()}
        self._lines: dict[str, Line] = lines_of(
            ledger_id, entries | {i.made_by for i in items}
        )

    def in_order(self, walk: _Walk) -> tuple[TrailItem, ...]:
        """Return the items in the order in which they were made."""
        ordered = sorted(walk.items.values(), key=lambda each: (each.at, each.item))
        return tuple(
            self.item(each, is_direct=each.item in walk.direct) for each in ordered
        )

    def item(self, item: Item, *, is_direct: bool) -> TrailItem:
        """Return one item with all that is known of it."""
        stays = (
            self._stays.get(f"{item.item}/{n:04d}") for n in range(1, item.stays + 1)
        )
        masses = _of(self._masses, item, "masses")
        estimates = _of(self._estimates, item, "estimates")
        return TrailItem(
            item=item.item,
            label=item.label,
            sort=item.sort,
            status=item.status,
            source=item.source,
            is_direct=is_direct,
            parents=item.parents,
            children=item.children,
            made_at=item.at,
            made_by=item.made_by,
            used_by=item.used_by,
            stays=tuple(self._stay(each) for each in stays if each is not None),
            mass=masses[-1] if masses else None,
            assays=tuple(_of(self._assays, item, "assays")),
            estimate=estimates[-1] if estimates else None,
        )

    def _stay(self, stay: Stay) -> StayLine:
        line = self._lines.get(stay.entry)
        known = kinds().get(stay.act)
        return StayLine(
            at=stay.at,
            act=stay.act if known is None else known.title,
            place=stay.place,
            vessel=stay.vessel,
            seals=stay.seals,
            hands=stay.hands,
            entry=stay.entry,
            seq=None if line is None else line.seq,
        )


def _of_sort(
    items: Iterable[TrailItem], sort: str, *, is_direct: bool
) -> tuple[str, ...]:
    return tuple(
        each.item for each in items if each.sort == sort and each.is_direct is is_direct
    )
