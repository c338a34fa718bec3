"""What stands open at each step of the work, and which acts can follow.

An act carries over what it is about: unit, hopper, vessel, item. A mass, a seal's
number or a stamped number is never carried: those are read afresh.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from goldroom.custody.cells import CellLoad
from goldroom.custody.leach import LeachBatch
from goldroom.custody.moves import HELD
from goldroom.custody.names import a_sort
from goldroom.custody.records import (
    Assay,
    Concentrator,
    Estimate,
    Flush,
    Item,
    Mass,
    Place,
    Shipment,
    Vessel,
)
from goldroom.custody.sampled import Sample
from goldroom.findings.runs import counted, in_words
from goldroom.reports import rows
from goldroom.reports.expected import ExpectedFlushes, expected_flushes
from goldroom.reports.figures import versions
from goldroom.statements.heating import DRIED
from goldroom.statements.registry import kind_named

READ = (
    Item, Vessel, Flush, Concentrator, LeachBatch, CellLoad, Sample, Assay, Mass,
    Estimate, Shipment, Place,
)  # fmt: skip
"""What is looked at, read in one query."""

TABLED = ("lot", "middlings")
CHARGED = ("concentrate", "calcine", "sludge", "magnetics", "other", "sweepings")
"""Sorts that go on to the table, and into a charge."""


@dataclass(frozen=True, kw_only=True)
class Follows:
    """An act that can follow: its kind, its title, and what it carries over."""

    kind: str
    title: str
    carried: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Open:
    """Something that stands open: in words, since when (UTC text), what can follow.

    `things` are items to look up; `by` is the kind whose entries tell of it, where
    only some may read those. `batch` names a leach batch, `account` tells of its metal.
    """

    said: str
    since: str
    things: tuple[str, ...] = ()
    follows: tuple[Follows, ...] = ()
    by: str = ""
    batch: str = ""
    account: str = ""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The records looked at: items are those held."""

    items: tuple[Item, ...]
    vessels: tuple[Vessel, ...]
    expected: tuple[ExpectedFlushes, ...]
    batches: tuple[LeachBatch, ...]
    cell_loads: tuple[CellLoad, ...]
    shipments: tuple[Shipment, ...]
    samples: Mapping[str, Sample]
    places: Mapping[str, Place]
    weighed: frozenset[str]
    dry: frozenset[str]
    final: frozenset[str]

    def of_sort(self, *sorts: str) -> list[Item]:
        """Return the items held of these sorts, the longest held first."""
        found = [each for each in self.items if each.sort in sorts]
        return sorted(found, key=lambda each: (each.held_from, each.item))

    def is_vault(self, place: str) -> bool:
        """Tell whether a place is a vault."""
        return place in self.places and self.places[place].sort == "vault"


def seen(ledger_id: int) -> Seen:
    """Return the records as the tables hold them now."""
    items = rows.every(ledger_id, Item, *HELD)
    masses = versions(ledger_id, Mass, items, "masses")
    estimates = versions(ledger_id, Estimate, items, "estimates")
    assays = versions(ledger_id, Assay, items, "assays")
    return Seen(
        items=tuple(items),
        vessels=tuple(rows.every(ledger_id, Vessel)),
        expected=expected_flushes(ledger_id),
        batches=tuple(rows.every(ledger_id, LeachBatch)),
        cell_loads=tuple(rows.every(ledger_id, CellLoad)),
        shipments=tuple(rows.every(ledger_id, Shipment)),
        samples={each.sample: each for each in rows.every(ledger_id, Sample)},
        places={each.place_id: each for each in rows.every(ledger_id, Place)},
        weighed=frozenset(
            [*(each.item for each in masses), *(each.item for each in estimates)]
        ),
        dry=frozenset(
            each.item
            for each in masses
            if each.moisture_percent is None and each.wanted_for != "wet"
        ),
        final=frozenset(each.item for each in assays if each.standing == "final"),
    )


def _follows(*kinds: str, **carried: str) -> tuple[Follows, ...]:
    return tuple(
        Follows(kind=kind, title=kind_named(kind).title, carried=carried)
        for kind in kinds
    )


def _each(
    items: Iterable[Item], said: str, *kinds: str, field: str = "item"
) -> Iterator[Open]:
    """Yield each item as open: "LOT-1 (a lot) waits for the table"."""
    for each in items:
        label = f", {each.label}" if each.label else ""
        yield Open(
            said=f"{each.item} ({a_sort(each.sort)}{label}) {said}",
            since=each.held_from,
            things=(each.item,),
            follows=_follows(*kinds, **{field: each.item}),
        )


def _cleanup(now: Seen) -> Iterator[Open]:
    for each in now.expected:
        yield Open(
            said=f"{each.unit}: flushes {each.first} to {each.last} on no sheet"
            f" ({each.count} counted by the plant)",
            since=each.since,
            follows=_follows("cleanup.recorded", hopper=each.hopper),
        )


def _hopper(now: Seen) -> Iterator[Open]:
    loads = {each.item: each for each in now.of_sort("load")}
    for vessel in now.vessels:
        if vessel.sort != "hopper":
            continue
        here = {"hopper": vessel.vessel}
        if vessel.is_open:
            yield Open(
                said=f"{vessel.name} stands open",
                since="",
                follows=_follows("hopper.closed", "hopper.emptied", **here),
            )
        if vessel.pending_flushes:
            yield Open(
                said=f"{vessel.name}: {counted(vessel.pending_flushes, 'flush')} on a"
                " sheet and not yet weighed",
                since="",
                follows=_follows("hopper.weighed", **here),
            )
        held = [each for each in vessel.contents if each in loads]
        if held:
            yield Open(
                said=f"{vessel.name}: {counted(held, 'load')} weighed and not yet"
                " emptied",
                since=min(loads[each].held_from for each in held),
                things=tuple(held),
                follows=_follows("hopper.emptied", **here),
            )


def _table(now: Seen) -> Iterator[Open]:
    waiting = now.of_sort(*TABLED)
    yield from _each(waiting, "can go on the table", "table.run", field="feed")


AFTER = {
    "leaching": ("leach.sampled", "leach.dosed", "leach.drained"),
    "drained": ("leach.washed", "leach.discharged"),
    "washed": ("leach.washed", "leach.discharged"),
}
"""What can follow at a batch, by how far it has come."""


def _leach(now: Seen) -> Iterator[Open]:
    for each in now.batches:
        if each.status in AFTER:
            yield Open(
                said=f"Batch {each.batch} in {each.vessel}: {each.status}",
                since=each.at,
                things=(each.batch,),
                follows=_follows(*AFTER[each.status], batch=each.batch),
                batch=each.batch,
            )
    residues = now.of_sort("residue")
    yield from _each(residues, "is kept", "leach.released")


def _cells(now: Seen) -> Iterator[Open]:
    for each in now.cell_loads:
        if each.status == "open":
            here = {"cell": each.cell, "load": each.load}
            yield Open(
                said=f"Load {each.load} in {each.cell}, {len(each.runs)}"
                f" {'run' if len(each.runs) == 1 else 'runs'} so far",
                since=each.started_at,
                things=(each.load,),
                follows=(
                    *_follows("cells.run", **here),
                    *_follows("cells.opened", cell=each.cell),
                    *_follows("cells.cleaned", **here),
                ),
            )
    for vessel in now.vessels:
        if vessel.sort == "cell" and vessel.is_open:
            yield Open(
                said=f"{vessel.name} stands open",
                since="",
                follows=_follows("cells.closed", cell=vessel.vessel),
            )
    pregnant = [e for e in now.of_sort("solution") if e.step == "electrowinning"]
    yield from _each(pregnant, "can go to the cells", "cells.run", field="solutions")


def _drying(now: Seen) -> Iterator[Open]:
    wet = [
        each
        for each in now.of_sort(*DRIED)
        if each.step in ("smelt", "electrowinning") and each.item not in now.dry
    ]
    yield from _each(
        wet, "has no dry weighing yet", "material.dried", "material.calcined",
        "material.retorted",
    )  # fmt: skip


def _smelt(now: Seen) -> Iterator[Open]:
    charges = now.of_sort("charge")
    yield from _each(
        charges, "is made up and not poured", "charge.poured", field="charge"
    )
    ready = [each for each in now.of_sort(*CHARGED) if each.step == "smelt"]
    yield from _each(
        ready, "can go into a charge", "charge.made_up", field="sources[0].item"
    )
    slags = now.of_sort("slag")
    yield from _each(
        (each for each in slags if each.item not in now.weighed),
        "is not weighed yet",
        "slag.weighed",
    )
    yield from _each(
        (each for each in slags if each.item in now.weighed), "is kept", "slag.released"
    )


def _bars(now: Seen) -> Iterator[Open]:
    bare = [each for each in now.of_sort("bar") if each.step != "vault"]
    yield from _each(bare, "is poured and not numbered", "bar.numbered")


def _samples(now: Seen) -> Iterator[Open]:
    bars = [each for each in now.of_sort("bar") if each.item not in now.final]
    if bars:
        names = [each.item for each in bars]
        yield Open(
            said=f"{counted(names, 'bar')} without an assay that is final",
            since=min(each.held_from for each in bars),
            things=tuple(names),
            follows=_follows("assay.reported", "fire_assay.reported"),
        )
    for each in now.of_sort("sample"):
        known = now.samples.get(each.item)
        if known is None or known.status == "open":
            place = now.places.get(each.place)
            at = "" if place is None else f", {place.name}"
            label = f" ({each.label})" if each.label else ""
            yield Open(
                said=f"Sample {each.item}{label}{at}, not accounted for yet",
                since=each.held_from,
                things=(each.item,),
                follows=(
                    *_follows("sample.split", sample=each.item),
                    *_follows("sample.moved", **{"samples[0].item": each.item}),
                    *_follows("sample.consumed", **{"used[0].sample": each.item}),
                ),
            )


def _vault(now: Seen) -> Iterator[Open]:
    outside = [
        each
        for each in now.of_sort("bar")
        if each.step == "vault"
        and each.status == "held"
        and not now.is_vault(each.place)
    ]
    yield from _each(
        outside, "is numbered and not in the vault", "vault.placed", field="items"
    )


SENT = {
    "advised": ("announced and not handed over", "dispatch.handed_over"),
    "handed_over": ("on its way to the refinery", "dispatch.received"),
    "received": ("received and not melted", "dispatch.melted"),
}
"""How far a shipment has come, and what follows."""


def _dispatch(now: Seen) -> Iterator[Open]:
    for each in now.shipments:
        if each.status in SENT:
            words, kind = SENT[each.status]
            yield Open(
                said=f"Shipment {each.shipment} ({in_words(each.items)}): {words}",
                since=each.at,
                things=each.items,
                follows=_follows(kind, shipment=each.shipment),
                by="dispatch.advised" if each.status == "advised" else "",
            )


OPEN_AT: Mapping[str, Callable[[Seen], Iterator[Open]]] = {
    "cleanup": _cleanup,
    "hopper": _hopper,
    "table": _table,
    "leach": _leach,
    "cells": _cells,
    "drying": _drying,
    "smelt": _smelt,
    "bars": _bars,
    "samples": _samples,
    "vault": _vault,
    "dispatch": _dispatch,
}
"""What looks at each step."""
