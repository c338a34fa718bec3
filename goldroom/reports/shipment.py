"""A shipment from its advice to its outturn: bars, boxes, seals, hands.

Masses and fineness are as now known. Before it was handed over it is read by named
readers only (`is_dispatched` says whether it was).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from goldroom.custody.records import Shipment
from goldroom.errors import UnknownShipment
from goldroom.reports import rows
from goldroom.reports.entry import EntryTold
from goldroom.reports.fineness import bar_fineness
from goldroom.reports.metal import site_clock, standing_text
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from goldroom.reports.sheet_acts import (
    Permille,
    SheetAct,
    act_of,
    acts_of,
    acts_saying,
    cited_seqs,
    masses_of,
    of_kind,
    permille,
    said_in,
)
from goldroom.statements.dispatch import DispatchHandedOver, DispatchReceived
from goldroom.statements.melts import DispatchMelted

ADVISED, HANDED_OVER = "dispatch.advised", "dispatch.handed_over"
RECEIVED, MELTED = "dispatch.received", "dispatch.melted"
NUMBERED = "bar.numbered"


@dataclass(frozen=True, kw_only=True)
class ShippedBar:
    """A bar of the shipment: its stamped number, mass in grams, and fineness.

    `standing` says whose figure the fineness is; "estimated" is by the bar's charge,
    "" if nothing tells. Fineness is in parts per thousand of gold.
    """

    item: str
    stamped: str
    mass_g: Decimal | None
    gold: Permille | None
    standing: str


@dataclass(frozen=True, kw_only=True)
class SealOn:
    """A seal at its point of a box."""

    point: str
    seal: str


@dataclass(frozen=True, kw_only=True)
class PackedBox:
    """A box as handed over; `gross` is as displayed, "" if nobody weighed it.

    `received_gross_g` is what the refinery weighed, None until it told.
    """

    box: str
    name: str
    bars: tuple[ShippedBar, ...]
    bars_g: Decimal | None
    gross: str
    seals: tuple[SealOn, ...]
    received_gross_g: Decimal | None


@dataclass(frozen=True, kw_only=True)
class MeltedThere:
    """One melt of the refinery: mass after melting and fineness, with its standing."""

    melt: str
    after_melt_g: Decimal
    gold_permille: Decimal
    standing: str
    report: str


@dataclass(frozen=True, kw_only=True)
class ShipmentReport:
    """One shipment. Times are the site's wall clock, "" if it is not so far yet."""

    shipment: str
    status: str
    refinery: str
    refinery_name: str
    carrier: str
    carrier_person: str
    window_from: str
    window_until: str
    bars: tuple[ShippedBar, ...]
    bars_g: Decimal | None
    boxes: tuple[PackedBox, ...]
    packed_by: tuple[str, ...]
    handed_over_at: str
    identity_check: str
    waybill: str
    paper_signature: str
    received_at: str
    received_by: str
    receipt: str
    as_received_g: Decimal | None
    melts: tuple[MeltedThere, ...]
    acts: tuple[SheetAct, ...]
    seqs: tuple[int, ...]

    @property
    def is_dispatched(self) -> bool:
        """Return whether the metal has left: until then few may read of it."""
        return self.status != "advised"

    def to_json(self) -> Any:
        """Return the report as plain values."""
        return as_plain(self)


def shipment_report(ledger_id: int, shipment_id: str) -> ShipmentReport:
    """Return a shipment whole. Raises UnknownShipment."""
    shipment = rows.one(ledger_id, Shipment, shipment_id)
    if shipment is None:
        raise UnknownShipment(
            f"shipment: no shipment {shipment_id!r} was ever advised. Check its id."
        )
    kinds = (ADVISED, HANDED_OVER, RECEIVED, MELTED)
    entries = acts_saying(ledger_id, kinds, "shipment", shipment_id)
    return _report(ledger_id, shipment, entries)


def _report(
    ledger_id: int, shipment: Shipment, entries: tuple[EntryTold, ...]
) -> ShipmentReport:
    given = next((e for e in of_kind(entries, HANDED_OVER)), None)
    handed = None if given is None else said_in(given, DispatchHandedOver)
    came = next((e for e in of_kind(entries, RECEIVED)), None)
    received = None if came is None else said_in(came, DispatchReceived)
    called, clock = names(ledger_id), site_clock(ledger_id)
    bars = _bars(ledger_id, shipment)
    return ShipmentReport(
        shipment=shipment.shipment,
        status=shipment.status,
        refinery=shipment.refinery,
        refinery_name=called.place(shipment.refinery),
        carrier=shipment.carrier,
        carrier_person=shipment.carrier_person,
        window_from=clock.wall_text(shipment.from_at),
        window_until=clock.wall_text(shipment.until_at),
        bars=tuple(bars.values()),
        bars_g=_sum_g(list(bars.values())),
        boxes=() if handed is None else _boxes(called.vessels, handed, received, bars),
        packed_by=() if given is None else tuple(e.name for e in given.signers),
        handed_over_at="" if given is None else given.occurred_wall,
        identity_check="" if handed is None else handed.identity_check,
        waybill="" if handed is None else handed.waybill,
        paper_signature="" if handed is None else handed.paper_signature,
        received_at="" if came is None else came.occurred_wall,
        received_by="" if received is None else received.received_by,
        receipt="" if received is None else received.receipt,
        as_received_g=None if received is None else received.as_received_g,
        melts=tuple(_melt(each) for each in of_kind(entries, MELTED)),
        acts=tuple(act_of(each) for each in entries),
        seqs=cited_seqs(entries),
    )


def _bars(ledger_id: int, shipment: Shipment) -> dict[str, ShippedBar]:
    packed = [name for box in shipment.boxes for name in box.items]
    wanted = tuple(dict.fromkeys((*packed, *shipment.items)))
    masses = masses_of(ledger_id, wanted)
    stamped = {
        each.data["item"]: each.data["stamped"]
        for each in acts_of(ledger_id, (NUMBERED,), wanted)
    }
    found = {}
    for name in wanted:
        gold, standing = _fineness(ledger_id, name)
        found[name] = ShippedBar(
            item=name,
            stamped=stamped.get(name, ""),
            mass_g=masses[name].net_g if name in masses else None,
            gold=gold,
            standing=standing,
        )
    return found


def _fineness(ledger_id: int, bar: str) -> tuple[Permille | None, str]:
    """Return a bar's newest fineness, and whose figure it is."""
    known = bar_fineness(ledger_id, bar)
    if known.told:
        newest = known.told[-1]
        gold = permille(newest.gold_permille, newest.u_permille)
        return gold, standing_text(newest.standing)
    if known.by_charge is None:
        return None, ""
    by_charge = known.by_charge.gold_permille
    return permille(by_charge.value, by_charge.u), "estimated"


def _sum_g(bars: Sequence[ShippedBar]) -> Decimal | None:
    known = [each.mass_g for each in bars if each.mass_g is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(bars) else None


def _boxes(
    called: Any,
    handed: DispatchHandedOver,
    received: DispatchReceived | None,
    bars: dict[str, ShippedBar],
) -> tuple[PackedBox, ...]:
    there = {
        row.box: row.gross_g for row in (() if received is None else received.boxes)
    }
    return tuple(
        PackedBox(
            box=row.box,
            name=called.get(row.box, row.box),
            bars=tuple(bars[name] for name in row.items),
            bars_g=_sum_g([bars[name] for name in row.items]),
            gross="" if row.gross is None else str(row.gross),
            seals=tuple(SealOn(point=e.point, seal=e.seal) for e in row.seals_fitted),
            received_gross_g=there.get(row.box),
        )
        for row in handed.boxes
    )


def _melt(entry: EntryTold) -> MeltedThere:
    said = said_in(entry, DispatchMelted)
    return MeltedThere(
        melt=said.melt,
        after_melt_g=said.after_melt_g,
        gold_permille=said.gold_permille,
        standing=said.standing,
        report=said.report,
    )
