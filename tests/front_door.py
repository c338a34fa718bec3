"""A gold room in a database, told through the front door: for whole-house tests.

People, names and figures are invented. `Room.opened()` opens a demo ledger with its
standing things; `say` signs with everybody's key and appends; `STORY` takes metal from
two flushes to a refinery's melt.
"""

import dataclasses
import functools
import hashlib
from datetime import datetime, timedelta
from typing import Any

from goldroom import commands
from goldroom.sayings import Saying, Signer
from ledger.append import Appended
from ledger.core.signing import SigningKey

OFFICER, WITNESS = ("p-amara", "officer"), ("p-leith", "witness")
ROOM = (OFFICER, WITNESS)
STANDING = (("p-soto", "security"), ("p-okoro", "manager"))
ASSAY = (("p-lima", "laboratory"), ("p-amara", "officer"))
MILL = (("p-lima", "laboratory"), ("p-mori", "metallurgist"))
SHIPPING = (("p-amara", "officer"), ("p-soto", "security"))
PLANT = (("gw-mill", "gateway"),)

PERSONS = [
    ("p-amara", "Amara Invented", "processing", ["officer"], "person"),
    ("p-leith", "Leith Invented", "security", ["witness"], "person"),
    ("p-soto", "Soto Invented", "security", ["security", "witness"], "person"),
    ("p-okoro", "Okoro Invented", "site", ["manager"], "person"),
    ("p-lima", "Lima Invented", "laboratory", ["laboratory"], "person"),
    ("p-mori", "Mori Invented", "technical", ["metallurgist"], "person"),
    ("p-anan", "Anan Invented", "finance", ["accountant"], "person"),
    ("gw-mill", "Mill gateway (invented)", "plant", ["gateway"], "gateway"),
]


@functools.cache
def key_of(person: str) -> SigningKey:
    """Return the test key of a person: public test data, never a secret."""
    seed = hashlib.sha256(f"invented test key of {person}".encode()).digest()
    return SigningKey.from_seed(seed)


KEYS = {name: key_of(name) for name in [*(each[0] for each in PERSONS), "log"]}


def opening() -> Saying:
    """Return the saying that opens the invented ledger."""
    return Saying(
        kind="ledger.opened",
        occurred_at="2026-03-01T05:00:00+02:00",
        received_at="2026-03-01T05:00:00+02:00",
        entry_id="00000000-0000-4000-8000-000000000000",
        signers=(),
        data={
            "origin_name": "invented.example/test-room",
            "site": "Invented test room",
            "demo": True,
            "production_day_start": "06:00",
            "time_zone": "Africa/Gaborone",
            "persons": [
                dict(
                    zip(("person", "name", "line", "roles", "sort"), each, strict=True)
                )
                for each in PERSONS
            ],
        },
    )


def kg(reading: str, instrument: str) -> dict[str, Any]:
    """Return a reading in kilograms."""
    return {
        "reading": reading,
        "unit": "kg",
        "instrument": instrument,
        "source": "typed",
    }


def g(reading: str, instrument: str) -> dict[str, Any]:
    """Return a reading in grams."""
    return {
        "reading": reading,
        "unit": "g",
        "instrument": instrument,
        "source": "typed",
    }


def place(name: str, sort: str) -> tuple[Any, ...]:
    """Return a place to register."""
    data = {"place": name, "name": f"{name} (invented)", "sort": sort}
    return ("place.registered", STANDING, data)


def instrument(
    name: str, sort: str, unit: str, interval: str, capacity: str
) -> tuple[Any, ...]:
    """Return an instrument to register in the gold room."""
    data = {
        "instrument": name,
        "name": f"{name} (invented)",
        "sort": sort,
        "place": "hopper-bay" if sort == "hopper_cells" else "gold-room",
        "unit": unit,
        "interval": interval,
        "capacity": capacity,
    }
    return ("instrument.registered", STANDING, data)


def calibration(name: str, reading_u_g: str, slope: str) -> tuple[Any, ...]:
    """Return a calibration of an instrument, due in a year."""
    data = {
        "instrument": name,
        "calibration": f"{name}-2026",
        "due": "2027-03-01",
        "certificate": "invented",
        "reading_u_g": reading_u_g,
        "slope_u_relative": slope,
        "place": "hopper-bay" if name == "LC1" else "gold-room",
    }
    return ("instrument.calibrated", STANDING, data)


def vessel(
    name: str, sort: str, where: str, points: list[str], **more: Any
) -> tuple[Any, ...]:
    """Return a vessel to register."""
    data = {
        "vessel": name,
        "name": f"{name} (invented)",
        "sort": sort,
        "place": where,
        **more,
    }
    return (
        "vessel.registered",
        STANDING,
        {**data, **({"points": points} if points else {})},
    )


def unit(name: str) -> tuple[Any, ...]:
    """Return a semi-continuous concentrator to register."""
    data = {
        "unit": name,
        "name": f"{name} (invented)",
        "sort": "semi_continuous",
        "hopper": "H1",
        "counter_epoch": 1,
        "minimum_cycle_min": 20,
    }
    return ("concentrator.registered", STANDING, data)


STANDING_THINGS: list[tuple[Any, ...]] = [
    place("gold-room", "room"),
    place("hopper-bay", "bay"),
    place("vault", "vault"),
    place("lab", "laboratory"),
    place("refinery", "refinery"),
    instrument("LC1", "hopper_cells", "kg", "0.5", "5000"),
    instrument("PS1", "platform_scale", "kg", "0.1", "600"),
    instrument("BU1", "bullion_balance", "g", "0.1", "32000"),
    (
        "instrument.registered",
        STANDING,
        {
            "instrument": "OV1",
            "name": "OV1 (invented)",
            "sort": "oven",
            "place": "gold-room",
        },
    ),
    calibration("LC1", "500", "0.003"),
    calibration("PS1", "30", "0.001"),
    calibration("BU1", "0.2", "0.00002"),
    vessel(
        "H1",
        "hopper",
        "hopper-bay",
        ["lid", "drain"],
        tare_kg="650",
        load_cells="LC1",
        solids_density_kg_m3="4200",
        marks=[{"mark": "M1", "volume_m3": "1.2"}],
    ),
    vessel("D1", "drum", "gold-room", ["lid"], tare_kg="20.0"),
    vessel("T1", "table", "gold-room", []),
    vessel("F1", "furnace", "gold-room", []),
    vessel("TR1", "tray", "gold-room", [], tare_kg="0.2"),
    vessel("S1", "safe", "vault", ["door"]),
    vessel("B1", "box", "vault", ["lid"]),
    unit("U1"),
    unit("U2"),
    (
        "seals.issued",
        STANDING,
        {"series": "S", "first": 1, "last": 40, "digits": 4, "issued_to": "p-amara"},
    ),
    (
        "gravity_model.set",
        (("p-soto", "security"), ("p-mori", "metallurgist")),
        {
            "model": "GM-1",
            "grg_fraction": "0.45",
            "survival_b": "0.98",
            "to_underflow_c": "0.98",
            "treated_p": "0.25",
            "recovery_rho0": "0.35",
            "saturation_tau_min": "90",
            "silver_to_gold": "0.15",
        },
    ),
    (
        "hopper.closed",
        ROOM,
        {
            "hopper": "H1",
            "seals_fitted": [
                {"point": "lid", "seal": "S-0001"},
                {"point": "drain", "seal": "S-0002"},
            ],
        },
    ),
]


@dataclasses.dataclass
class Room:
    """A ledger in the database and a clock that moves on by a minute an act."""

    ledger_id: int
    now: datetime
    said: list[Saying] = dataclasses.field(default_factory=list)

    @classmethod
    def opened(cls) -> "Room":
        """Open the ledger and register its standing things."""
        first = opening()
        appended = commands.open_ledger(first, KEYS)
        room = cls(
            commands.ledger_of(appended.entry),
            datetime.fromisoformat("2026-03-01T05:00:00+02:00"),
            [first],
        )
        for kind, hands, data in STANDING_THINGS:
            room.say(kind, data, hands)
        return room

    def saying(
        self,
        kind: str,
        data: dict[str, Any],
        hands: tuple[tuple[str, str], ...] = ROOM,
        *,
        at: str = "",
        **more: Any,
    ) -> Saying:
        """Return a saying a minute after the last, or at a time of its own."""
        self.now += timedelta(minutes=1)
        if at:
            self.now = datetime.fromisoformat(at)
        number = len(self.said)
        more.setdefault("entry_id", f"00000000-0000-4000-8000-{number:012d}")
        more.setdefault("received_at", self.now.isoformat())
        return Saying(
            kind=kind,
            data=data,
            occurred_at=self.now.isoformat(),
            signers=tuple(Signer(person=who, role=role) for who, role in hands),
            **more,
        )

    def say(
        self, kind: str, data: dict[str, Any], *hands: Any, **more: Any
    ) -> Appended:
        """Say it with everybody's key; return the entry it became."""
        saying = self.saying(kind, data, *hands, **more)
        appended = commands.say(self.ledger_id, saying, KEYS)
        self.said.append(saying)
        return appended


def off(point: str, seal: str) -> dict[str, Any]:
    """Return a seal removed as it should be."""
    return {"point": point, "seal": seal, "tamper_signs": "none", "remains_kept": True}


def on(point: str, seal: str) -> dict[str, Any]:
    """Return a seal fitted."""
    return {"point": point, "seal": seal}


def cycle(unit_id: str, flush: int, start: str, end: str) -> dict[str, Any]:
    """Return a complete cycle of a unit, 70 dry tonnes."""
    return {
        "unit": unit_id,
        "counter_epoch": 1,
        "flush": flush,
        "started_at": f"2026-03-02T{start}:00+02:00",
        "ended_at": f"2026-03-02T{end}:00+02:00",
        "feed_t": "70.0",
        "status": "complete",
    }


STORY: list[tuple[Any, ...]] = [
    (
        "mill_day.reported",
        MILL,
        {"day": "2026-03-01", "feed_t": "1800", "gold_gpt": "4.0", "silver_gpt": "0.6"},
        "2026-03-02T07:00:00+02:00",
    ),
    (
        "cycles.recorded",
        PLANT,
        {
            "cycles": [
                cycle("U1", 1, "07:00", "08:00"),
                cycle("U2", 1, "07:10", "08:10"),
                cycle("U1", 2, "08:02", "09:02"),
            ]
        },
        "2026-03-02T09:10:00+02:00",
    ),
    (
        "cleanup.recorded",
        ROOM,
        {
            "hopper": "H1",
            "flushes": [
                {"unit": "U1", "counter_epoch": 1, "first": 1, "last": 2},
                {"unit": "U2", "counter_epoch": 1, "first": 1, "last": 1},
            ],
        },
        "2026-03-02T09:30:00+02:00",
    ),
    (
        "hopper.weighed",
        ROOM,
        {"load": "LOAD-1", "hopper": "H1", "mark": "M1", "gross": kg("1910.5", "LC1")},
        "2026-03-02T09:40:00+02:00",
    ),
    (
        "assay.reported",
        ASSAY,
        {
            "laboratory": "lab",
            "method": "screen_fire_assay",
            "standing": "final",
            "sampler": "flush-cutter",
            "results": [
                {
                    "items": ["LOAD-1"],
                    "sample": "SMP-1",
                    "unit": "gpt",
                    "gold": "2084",
                    "silver": "313",
                }
            ],
        },
        "2026-03-02T12:00:00+02:00",
    ),
    (
        "hopper.emptied",
        ROOM,
        {
            "hopper": "H1",
            "lot": "LOT-1",
            "into": "D1",
            "seals_removed": [off("lid", "S-0001"), off("drain", "S-0002")],
            "gross": kg("113.0", "PS1"),
            "tare": kg("20.0", "PS1"),
            "moisture": {"percent": "14.0", "oven": "OV1"},
            "lot_seals": [on("lid", "S-0003")],
            "seals_fitted": [on("lid", "S-0004"), on("drain", "S-0005")],
        },
        "2026-03-02T13:00:00+02:00",
    ),
    (
        "assay.reported",
        ASSAY,
        {
            "laboratory": "lab",
            "method": "screen_fire_assay",
            "standing": "final",
            "sampler": "spear",
            "results": [
                {
                    "items": ["LOT-1"],
                    "sample": "SMP-2",
                    "unit": "gpt",
                    "gold": "2090",
                    "silver": "310",
                }
            ],
        },
        "2026-03-02T16:00:00+02:00",
    ),
    (
        "table.run",
        ROOM,
        {
            "table": "T1",
            "feed": ["LOT-1"],
            "opened": [{"vessel": "D1", "seals_removed": [off("lid", "S-0003")]}],
            "products": [
                {
                    "item": "CON-1",
                    "product": "concentrate",
                    "gross": g("655.0", "BU1"),
                    "tare": g("200.0", "BU1"),
                    "vessel": "TR1",
                    "goes_to": "kept",
                },
                {
                    "item": "TAI-1",
                    "product": "tails",
                    "gross": kg("79.5", "PS1"),
                    "goes_to": "mill",
                },
            ],
        },
        "2026-03-03T09:00:00+02:00",
    ),
    (
        "assay.reported",
        ASSAY,
        {
            "laboratory": "lab",
            "method": "screen_fire_assay",
            "standing": "final",
            "sampler": "riffle",
            "results": [
                {
                    "items": ["CON-1"],
                    "sample": "SMP-3",
                    "unit": "percent",
                    "gold": "31.5",
                    "silver": "4.60",
                },
                {
                    "items": ["TAI-1"],
                    "sample": "SMP-4",
                    "unit": "gpt",
                    "gold": "310",
                    "silver": "55",
                },
            ],
        },
        "2026-03-03T15:00:00+02:00",
    ),
    (
        "charge.made_up",
        ROOM,
        {
            "charge": "CH-1",
            "furnace": "F1",
            "crucible": "C-1",
            "crucible_uses": 3,
            "sources": [{"item": "CON-1"}],
            "fluxes": [{"flux": "borax", "mass_kg": "0.3"}],
        },
        "2026-03-04T08:00:00+02:00",
    ),
    (
        "charge.poured",
        ROOM,
        {
            "charge": "CH-1",
            "place": "gold-room",
            "castings": [{"item": "BAR-1", "mould": "M-1"}],
            "slag": "SLAG-1",
        },
        "2026-03-04T11:00:00+02:00",
    ),
    (
        "bar.numbered",
        ROOM,
        {"item": "BAR-1", "stamped": "INV-0001", "first": g("167.8", "BU1")},
        "2026-03-04T13:00:00+02:00",
    ),
    (
        "slag.weighed",
        ROOM,
        {
            "item": "SLAG-1",
            "gross": kg("0.6", "PS1"),
            "gold_g": "0.4",
            "gold_u_g": "0.2",
            "silver_g": "0.1",
            "silver_u_g": "0.05",
            "method": "judged by eye",
        },
        "2026-03-04T13:30:00+02:00",
    ),
    (
        "assay.reported",
        ASSAY,
        {
            "laboratory": "lab",
            "method": "fire_assay",
            "standing": "provisional",
            "sampler": "dip",
            "results": [
                {
                    "items": ["BAR-1"],
                    "sample": "SMP-5",
                    "unit": "permille",
                    "gold": "851.0",
                    "silver": "121.0",
                }
            ],
        },
        "2026-03-04T16:00:00+02:00",
    ),
    (
        "vault.placed",
        SHIPPING,
        {
            "safe": "S1",
            "items": ["BAR-1"],
            "closed": [{"vessel": "S1", "seals_fitted": [on("door", "S-0006")]}],
        },
        "2026-03-04T17:00:00+02:00",
    ),
    (
        "assay.reported",
        ASSAY,
        {
            "laboratory": "lab",
            "method": "fire_assay",
            "standing": "final",
            "sampler": "dip",
            "results": [
                {
                    "items": ["BAR-1"],
                    "sample": "SMP-5",
                    "unit": "permille",
                    "gold": "850.4",
                    "silver": "120.2",
                }
            ],
        },
        "2026-03-06T10:00:00+02:00",
    ),
    (
        "cleanup.recorded",
        ROOM,
        {
            "hopper": "H1",
            "flushes": [{"unit": "U1", "counter_epoch": 1, "first": 3, "last": 4}],
        },
        "2026-03-07T09:30:00+02:00",
    ),
    (
        "hopper.weighed",
        ROOM,
        {
            "load": "LOAD-9",
            "hopper": "H1",
            "mark": "M1",
            "gross": kg("1905.0", "LC1"),
        },
        "2026-03-07T09:40:00+02:00",
    ),
]
"""(kind, signers, values, time): two units' flushes to a bar in the safe."""


def told() -> Room:
    """Return a room in which the whole story has been told."""
    room = Room.opened()
    for kind, hands, data, at in STORY:
        room.say(kind, data, hands, at=at)
    return room
