"""Where an item's metal came from, in shares: for its trail.

Shares are by measured inputs, with one standard uncertainty (see
`goldroom.reconcile.sources`). Before the pour they are a site's mass balance, in the
sense of ISO 22095: nobody could mark the metal itself.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.other_metal import OtherMetal
from goldroom.custody.records import (
    HOLDERS,
    Assay,
    Crossing,
    Estimate,
    Instrument,
    Item,
    Mass,
    Record,
    Volume,
)
from goldroom.custody.stock import FOUND_IN_EQUIPMENT
from goldroom.metal.uncertainty import Measured, total
from goldroom.reconcile.amounts import decimal_text, shown_u, shown_value
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import is_declared
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.quantities import METALS
from goldroom.reconcile.sources import (
    Shares,
    inputs_of,
    is_earlier,
    source_of_origin,
)
from goldroom.reports import rows
from goldroom.reports.metal import last_known_at, ledger_records

ROUND_THE_HOPPER = "gravity, round the hopper"
UNSEPARATED = "cannot be told apart"
EARLIER = "earlier returns"
GROUPS = (
    "gravity",
    ROUND_THE_HOPPER,
    "other metal",
    "opening stock",
    "found in equipment",
    "found in the room",
    UNSEPARATED,
    EARLIER,
)
"""What an origin is called, in the order told."""

VERSIONS: Mapping[type[Record], str] = {
    Mass: "masses",
    Assay: "assays",
    Volume: "volumes",
    Estimate: "estimates",
    Crossing: "crossings",
}
"""What an item has several of, and where it tells how many."""

TOLD_OF_SHARES = (*VERSIONS, OtherMetal, Instrument, ErrorBudget)
"""Record types that an item's shares follow from, beside the items behind it."""

MILLIONTH = Decimal("0.000001")
LEAST_SHOWN = 5e-4
"""An uncertainty below this many per cent is not shown."""


@dataclass(frozen=True, kw_only=True)
class Percent:
    """A share in per cent with its standard uncertainty, exactly and as shown."""

    percent: str
    u_percent: str
    shown: str
    u_shown: str

    def __str__(self) -> str:
        """Return the share as shown: "6.90 % ± 0.88 %"."""
        if not self.shown.strip("0."):
            return "less than 0.001 %"
        spread = f" ± {self.u_shown} %" if self.u_shown != "0" else ""
        return f"{self.shown} %{spread}"


@dataclass(frozen=True, kw_only=True)
class SourceShare:
    """One origin's share of an item's gold and silver.

    `item` names it; where its parts could not be weighed against each other, it stands
    for its `origins`. `what` says what it is, `why` why it cannot be told apart. A
    metal that nothing tells of has no share (None).
    """

    item: str
    group: str
    source: str
    what: str
    origins: tuple[str, ...]
    why: str
    gold: Percent | None
    silver: Percent | None


@dataclass(frozen=True, kw_only=True)
class GroupShare:
    """The share of all origins of one group together."""

    group: str
    gold: Percent | None
    silver: Percent | None


@dataclass(frozen=True, kw_only=True)
class Sources:
    """All that an item's metal came from: by group, and each origin.

    `provisional` are parts whose figure is still to come, which shares rest on.
    """

    groups: tuple[GroupShare, ...]
    each: tuple[SourceShare, ...]
    provisional: tuple[str, ...]


NO_SOURCES = Sources(groups=(), each=(), provisional=())
"""Of an origin itself, and of what no record tells of."""


def sources_of(ledger_id: int, item: Item, back: Mapping[str, Item]) -> Sources:
    """Return the shares of an item's origins, as known at the ledger's last entry.

    `back` are all items behind it. Only their records are read, unless some figure is
    still to come: a typical one then stands in, which takes the records of all.
    """
    known_at = last_known_at(ledger_id)
    near = _records_near(ledger_id, [item, *back.values()]).as_known(known_at)
    if item.item not in near.items or not inputs_of(near, item.item):
        return NO_SOURCES
    quantities = Quantities(near)
    behind = [each for each in near.items.values() if each.item != item.item]
    if all(_is_known_alone(each, quantities) for each in behind):
        return _sources(quantities, item.item)
    data = ledger_records(ledger_id).as_known(known_at)
    return _sources(Quantities(data), item.item)


def _sources(quantities: Quantities, item: str) -> Sources:
    """Return the shares of an item's origins, told group by group."""
    data = quantities.data
    by_metal = {metal: Shares(quantities, metal=metal) for metal in METALS}
    found = {metal: shares.of(item) for metal, shares in by_metal.items()}
    told = [
        _told(name, data, by_metal["gold"], {m: found[m].get(name) for m in METALS})
        for name in dict.fromkeys(name for metal in METALS for name in found[metal])
    ]
    told.sort(key=lambda each: (GROUPS.index(each.group), each.item))
    return Sources(
        groups=_grouped(told, found),
        each=tuple(told),
        provisional=tuple(sorted(by_metal["gold"].pending_in(item))),
    )


def _records_near(ledger_id: int, items: Iterable[Item]) -> LedgerRecords:
    """Return the records of these items, and of whatever was drawn off them."""
    held = {each.item: each for each in items if each.sort != "flush"}
    ahead = list(held.values())
    while ahead:
        drawn = {name for each in ahead for name in each.drawn} - held.keys()
        met = rows.by_keys(ledger_id, Item, drawn)
        held.update(met)
        ahead = list(met.values())
    records: list[Record] = [*held.values()]
    for record_type, count in VERSIONS.items():
        keys = [
            record_type.key_of.format(item=each.item, version=n, n=n)
            for each in held.values()
            for n in range(1, getattr(each, count) + 1)
        ]
        records += rows.by_keys(ledger_id, record_type, keys).values()
    records += rows.by_keys(ledger_id, OtherMetal, held).values()
    records += rows.every(ledger_id, Instrument)
    records += rows.every(ledger_id, ErrorBudget)
    return LedgerRecords.from_records(records)


def _is_known_alone(item: Item, quantities: Quantities) -> bool:
    """Return whether an item's contents follow from its own and its near ones' records.

    What was drawn off another is valued as that was; a charge and a holder hold what
    was put in.
    """
    is_alone = item.sort not in ("charge", *HOLDERS) and not item.drawn_from
    return not is_alone or quantities.measured(item.item).is_measured


def origins_behind(data: LedgerRecords, item: str) -> tuple[str, ...]:
    """Return every origin behind an item, by name; itself, if it is one."""
    to_do, seen, found = [item], {item}, []
    while to_do:
        name = to_do.pop()
        inputs = inputs_of(data, name)
        if not inputs:
            found.append(name)
        ahead = [each for each in inputs if each not in seen]
        seen.update(ahead)
        to_do += ahead
    return tuple(sorted(found))


def _told(
    name: str,
    data: LedgerRecords,
    shares: Shares,
    by_metal: Mapping[str, Measured | None],
) -> SourceShare:
    is_item = name in data.items
    return SourceShare(
        item=name,
        group=_group(name, data, shares),
        source=source_of_origin(data, name),
        what=_what(name, data),
        origins=origins_behind(data, name) if is_item else (),
        why=shares.inseparable.get(name, ""),
        gold=_percent(by_metal["gold"]),
        silver=_percent(by_metal["silver"]),
    )


def _group(name: str, data: LedgerRecords, shares: Shares) -> str:
    """Return what an origin is called."""
    if is_earlier(name):
        return EARLIER
    if name in shares.inseparable:
        return UNSEPARATED
    item = data.items[name]
    if name in data.other_metal:
        return ROUND_THE_HOPPER if item.source == "gravity" else "other metal"
    if not inputs_of(data, name) and item.sort != "load":
        crossings = data.crossings.get(name, ())
        if any(each.where_to == FOUND_IN_EQUIPMENT for each in crossings):
            return "found in equipment"
        if is_declared(item, data):
            return "opening stock"
        if item.sort == "sweepings":
            return "found in the room"
    return "gravity" if item.source == "gravity" else "other metal"


def _what(name: str, data: LedgerRecords) -> str:
    """Return what an origin is, in trade words."""
    if is_earlier(name):
        return f"{source_of_origin(data, name)} metal of many earlier returns"
    received = data.other_metal.get(name)
    if received is not None:
        return received.origin.replace("_", " ")
    return data.items[name].sort.replace("_", " ")


def _grouped(
    told: Iterable[SourceShare], found: Mapping[str, Mapping[str, Measured]]
) -> tuple[GroupShare, ...]:
    """Return the shares of the groups, each summed with its errors."""
    members: dict[str, list[str]] = {}
    for each in told:
        members.setdefault(each.group, []).append(each.item)
    return tuple(
        GroupShare(
            group=group,
            gold=_percent(_summed(found["gold"], names)),
            silver=_percent(_summed(found["silver"], names)),
        )
        for group, names in members.items()
    )


def _summed(shares: Mapping[str, Measured], names: Iterable[str]) -> Measured | None:
    """Return the sum of the shares that are there; None if none is."""
    there = [shares[name] for name in names if name in shares]
    return total(there) if there else None


def _percent(share: Measured | None) -> Percent | None:
    """Return a share as shown, in per cent."""
    if share is None:
        return None
    exactly, u_percent = decimal_text(100 * share.value, MILLIONTH), 100 * share.u
    worth_telling = u_percent if u_percent >= LEAST_SHOWN else 0.0
    return Percent(
        percent=exactly,
        u_percent=decimal_text(u_percent, MILLIONTH),
        shown=shown_value(Decimal(exactly), worth_telling),
        u_shown=shown_u(worth_telling),
    )
