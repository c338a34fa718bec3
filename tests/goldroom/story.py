"""One lot's way from the table to the refinery's melt, told in stages. All invented.

`upto(stage)` gives a room in which everything up to that stage was said:

    lot, table, charge, pour, slag, numbered, reweighed, assayed, placed, advised,
    taken, handed_over, received, melted

`VALUES` holds what each stage says, `ENTRY` the ids of its entries, so that a test
may spoil one value and say it again.
"""

from copy import deepcopy
from decimal import Decimal
from typing import Any

from goldroom.custody import moves
from goldroom.custody.figures import mass, term
from goldroom.custody.records import Crossing, Item, Record, Stay, Vessel
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.assays import AssayReported
from goldroom.statements.bars import BarNumbered, BarReweighed
from goldroom.statements.dispatch import (
    DispatchAdvised,
    DispatchHandedOver,
    DispatchReceived,
)
from goldroom.statements.kind import Statement
from goldroom.statements.melts import DispatchMelted
from goldroom.statements.slag import SlagWeighed
from goldroom.statements.smelt import ChargeMadeUp, ChargePoured
from goldroom.statements.table import TableRun
from goldroom.statements.vault import VaultPlaced, VaultTaken
from tests.goldroom.room import act, fitted, reading, removed, room, say, vessel

SHIPPERS = (("p-sefu", "security"), ("p-leith", "witness"))
CHEMISTS = (("p-noor", "laboratory"), ("p-ines", "metallurgist"))

STAGES: dict[str, tuple[type[Statement], str, dict[str, Any]]] = {
    "table": (
        TableRun,
        "2026-10-05T08:00:00+02:00",
        {
            "table": "T1",
            "feed": ["LOT-1"],
            "opened": [{"vessel": "D1", "seals_removed": [removed("lid", "S-0003")]}],
            "products": [
                {
                    "item": "CON-1",
                    "product": "concentrate",
                    "gross": reading("30.7", "kg", "PS1"),
                    "moisture_percent": "8.0",
                    "oven": "OV1",
                    "vessel": "D2",
                    "goes_to": "kept",
                },
                {
                    "item": "TAILS-1",
                    "product": "tails",
                    "gross": reading("420.0", "kg", "PS1"),
                    "tare": reading("18.5", "kg", "PS1"),
                    "moisture_percent": "15.0",
                    "oven": "OV1",
                    "goes_to": "mill",
                },
            ],
            "closed": [{"vessel": "D2", "seals_fitted": [fitted("lid", "S-0004")]}],
        },
    ),
    "charge": (
        ChargeMadeUp,
        "2026-10-06T07:00:00+02:00",
        {
            "charge": "CHG-1",
            "furnace": "F1",
            "crucible": "K7",
            "crucible_uses": 3,
            "opened": [{"vessel": "D2", "seals_removed": [removed("lid", "S-0004")]}],
            "sources": [
                {"item": "CON-1", "dry_gross": reading("11.4", "kg", "PS1")},
            ],
            "fluxes": [
                {"flux": "borax", "mass_kg": "4.5"},
                {"flux": "silica", "mass_kg": "1.0"},
            ],
        },
    ),
    "pour": (
        ChargePoured,
        "2026-10-06T09:00:00+02:00",
        {
            "charge": "CHG-1",
            "place": "gold_room",
            "temperature_c": "1220",
            "castings": [
                {"item": "BAR-1", "mould": "M1"},
                {"item": "BAR-2", "mould": "M2"},
            ],
            "slag": "SLAG-1",
            "samples": [
                {
                    "item": "DIP-1",
                    "taken_by": "dip",
                    "mass": reading("12.4", "g", "BB1"),
                },
            ],
        },
    ),
    "slag": (
        SlagWeighed,
        "2026-10-06T12:00:00+02:00",
        {
            "item": "SLAG-1",
            "gross": reading("26.1", "kg", "PS1"),
            "vessel": "D1",
            "gold_g": "9.5",
            "gold_u_g": "3",
            "silver_g": "4",
            "silver_u_g": "2",
            "method": "from the last twelve slags",
        },
    ),
    "numbered": (
        BarNumbered,
        "2026-10-06T13:00:00+02:00",
        {
            "item": "BAR-1",
            "stamped": "KR-0101",
            "first": reading("6000.4", "g", "BU1"),
            "second": reading("6000.5", "g", "BU1"),
            "photo": "bar KR-0101.jpg",
        },
    ),
    "numbered_2": (
        BarNumbered,
        "2026-10-06T13:20:00+02:00",
        {
            "item": "BAR-2",
            "stamped": "KR-0102",
            "first": reading("4900.0", "g", "BU1"),
        },
    ),
    "reweighed": (
        BarReweighed,
        "2026-10-06T14:00:00+02:00",
        {
            "item": "BAR-1",
            "taken": [
                {
                    "item": "DRL-1",
                    "taken_by": "drill",
                    "mass": reading("8.2", "g", "BB1"),
                },
            ],
            "first": reading("5992.3", "g", "BU1"),
        },
    ),
    "assayed": (
        AssayReported,
        "2026-10-06T16:00:00+02:00",
        {
            "laboratory": "lab",
            "method": "fire_assay",
            "standing": "provisional",
            "sampler": "dip_ladle",
            "results": [
                {
                    "items": ["BAR-1", "BAR-2", "DIP-1"],
                    "sample": "E-1",
                    "unit": "permille",
                    "gold": "842.6",
                    "silver": "119.2",
                    "base": "38.1",
                },
            ],
        },
    ),
    "placed": (
        VaultPlaced,
        "2026-10-06T17:00:00+02:00",
        {
            "safe": "S1",
            "items": ["BAR-1", "BAR-2"],
            "closed": [{"vessel": "S1", "seals_fitted": [fitted("door", "S-0005")]}],
        },
    ),
    "advised": (
        DispatchAdvised,
        "2026-10-07T08:00:00+02:00",
        {
            "shipment": "SHP-1",
            "refinery": "refinery",
            "carrier": "Marram Secure Haulage",
            "carrier_person": "Tavi Brandel",
            "items": ["BAR-1", "BAR-2"],
            "window_from": "2026-10-08T06:00:00+02:00",
            "window_until": "2026-10-08T12:00:00+02:00",
        },
    ),
    "taken": (
        VaultTaken,
        "2026-10-08T07:00:00+02:00",
        {
            "safe": "S1",
            "opened": [{"vessel": "S1", "seals_removed": [removed("door", "S-0005")]}],
            "items": ["BAR-1", "BAR-2"],
            "purpose": "dispatch",
            "vessel": "B1",
        },
    ),
    "handed_over": (
        DispatchHandedOver,
        "2026-10-08T08:00:00+02:00",
        {
            "shipment": "SHP-1",
            "carrier": "Marram Secure Haulage",
            "carrier_person": "tavi  brandel",
            "identity_check": "card 4471 against the advice",
            "waybill": "W-90",
            "paper_signature": "waybill W-90.pdf",
            "boxes": [
                {
                    "box": "B1",
                    "items": ["BAR-1", "BAR-2"],
                    "gross": reading("12892.3", "g", "BU1"),
                    "seals_fitted": [fitted("lid", "S-0006")],
                },
            ],
        },
    ),
    "received": (
        DispatchReceived,
        "2026-10-09T10:00:00+02:00",
        {
            "shipment": "SHP-1",
            "received_by": "Iro Santh",
            "receipt": "R-17",
            "boxes": [
                {
                    "box": "B1",
                    "gross_g": "12892.5",
                    "seals_seen": [
                        {"point": "lid", "seal": "S-0006", "tamper_signs": "none"},
                    ],
                },
            ],
            "as_received_g": "10892.4",
        },
    ),
    "melted": (
        DispatchMelted,
        "2026-10-10T10:00:00+02:00",
        {
            "shipment": "SHP-1",
            "melt": "MELT-1",
            "items": ["BAR-1", "BAR-2"],
            "as_received_g": "10892.4",
            "after_melt_g": "10885.1",
            "gold_permille": "842.9",
            "silver_permille": "119.5",
            "standing": "refiner",
            "sample": "RM-1",
            "report": "outturn 17.pdf",
        },
    ),
}
SIGNED_BY = {
    "placed": SHIPPERS, "advised": SHIPPERS, "taken": SHIPPERS,
    "handed_over": SHIPPERS, "received": SHIPPERS, "melted": SHIPPERS,
    "assayed": CHEMISTS,
}  # fmt: skip


def entry_of(stage: str) -> str:
    """Return the id of the entry that said a stage."""
    return f"entry-of-{stage}"


def values(stage: str, **changed: Any) -> dict[str, Any]:
    """Return what a stage says, with some values changed (None drops one)."""
    said = {**deepcopy(STAGES[stage][2]), **changed}
    return {name: value for name, value in said.items() if value is not None}


def tell(state: State, stage: str, **changed: Any) -> Statement:
    """Say a stage, with some values changed; return it. Raises its refusal."""
    kind, at, _ = STAGES[stage]
    more: dict[str, Any] = {}
    if stage in SIGNED_BY:
        more["people"] = SIGNED_BY[stage]
    return say(
        state, kind, values(stage, **changed), at=at, entry=entry_of(stage), **more
    )


def upto(stage: str) -> State:
    """Return a room in which everything up to a stage was said."""
    state = lot_room()
    for each in STAGES:
        if stage == "lot":
            break
        tell(state, each)
        if each == stage:
            break
    return state


def before(stage: str) -> State:
    """Return a room in which everything before a stage was said."""
    state = lot_room()
    for each in STAGES:
        if each == stage:
            break
        tell(state, each)
    return state


def lot_room() -> State:
    """Return a room with lot LOT-1 in the sealed drum D1: 400 kg dry."""
    state = room()
    for made in (
        vessel("T1", "table", "gold_room", {}),
        vessel("F1", "furnace", "gold_room", {}),
        vessel("B1", "box", "vault", {"lid": ""}),
        vessel("D1", "drum", "gold_room", {"lid": "S-0003"}, tare_kg=Decimal("18.5")),
    ):
        state.put(made)
    add_item(state, "LOT-1", "lot", step="table", vessel_id="D1", dry_kg="400")
    state.settle()
    return state


def add_item(
    state: State,
    name: str,
    sort: str,
    *,
    step: str,
    vessel_id: str = "",
    dry_kg: str = "",
) -> None:
    """Put an item in the room as opening stock, with a mass if one is given."""
    done = act("stock.opened", at="2026-10-01T06:00:00+02:00", entry="entry-opening")
    new = moves.NewItem(
        item=name,
        sort=sort,
        step=step,
        vessel=vessel_id,
        place="gold_room",
        is_opening=True,
    )
    put(state, moves.make(state, done, new))
    if dry_kg:
        weighed = term(
            state, done, path=name, instrument="PS1", grams=Decimal(dry_kg) * 1000
        )
        put(state, mass(state, done, item=name, terms=(weighed,), wanted_for=sort))


def put(state: State, records: Any) -> None:
    """Hold each record before the next is asked for, as the fold does."""
    record: Record
    for record in records:
        state.put(record)


def item(state: State, name: str) -> Item:
    """Return an item that must be there."""
    found = state.get(Item, name)
    assert found is not None, name
    return found


def refused(state: State, stage: str, changed: dict[str, Any]) -> str | None:
    """Return the code with which a stage is refused when changed so; None if not."""
    try:
        tell(state, stage, **changed)
    except Refusal as refusal:
        return refusal.code
    return None


def crossings(state: State, name: str) -> list[tuple[str, str, str]]:
    """Return an item's crossings: from, to, where to."""
    count = item(state, name).crossings
    found = [state.get(Crossing, f"{name}/{n}") for n in range(1, count + 1)]
    return [
        (each.from_step, each.to_step, each.where_to)
        for each in found
        if each is not None
    ]


def last_stay(state: State, name: str) -> Stay:
    """Return where an item is, under which seals."""
    found = state.get(Stay, f"{name}/{item(state, name).stays:04d}")
    assert found is not None
    return found


def in_vessel(state: State, name: str) -> tuple[str, ...]:
    """Return what a vessel holds."""
    found = state.get(Vessel, name)
    assert found is not None
    return found.contents
