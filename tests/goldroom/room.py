"""A small standing gold room for tests, put into a state as records. All invented.

`room()` gives the state; `act` an act in it; `say` parses, checks and folds a
statement the way the front door does, without a ledger:

    state = room()
    said = say(state, HopperWeighed, {...}, at="2026-10-05T06:10:00+02:00")

The hopper H1 and the cell EC1 are closed and sealed (S-0001 on lid, S-0002 on drain;
S-0041 on lid); the drums D1 and D2 stand open; seals S-0003 to S-0040 are issued and
unused.
"""

import itertools
from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from goldroom.custody.act import Act, Hand
from goldroom.custody.records import (
    Calibration,
    Concentrator,
    Instrument,
    Mark,
    Noticed,
    Person,
    Place,
    Record,
    Seal,
    SealPoint,
    Vessel,
)
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements import fold
from goldroom.statements.fields import parse
from goldroom.statements.kind import Statement

S = TypeVar("S", bound=Statement)
AT = "2026-10-05T06:10:00+02:00"
PAIR = (("p-amara", "officer"), ("p-leith", "witness"))
NUMBERS = itertools.count(1)

PERSONS = (
    ("p-amara", "Amara Venn", "gold room", ("officer",)),
    ("p-jonas", "Jonas Teal", "gold room", ("officer",)),
    ("p-leith", "Leith Orban", "plant", ("witness",)),
    ("p-sefu", "Sefu Marlow", "security", ("security",)),
    ("p-ines", "Ines Quill", "plant", ("metallurgist",)),
    ("p-odile", "Odile Farrant", "accounts", ("accountant",)),
    ("p-noor", "Noor Hale", "laboratory", ("laboratory",)),
    ("p-brandt", "Brandt Osei", "management", ("manager",)),
)
PLACES = (
    ("gold_room", "Gold room", "room"),
    ("vault", "Vault", "vault"),
    ("hopper_bay", "Hopper bay", "bay"),
    ("lab", "Laboratory", "laboratory"),
    ("mill", "Mill", "mill"),
    ("refinery", "Refinery", "refinery"),
)
INSTRUMENTS = (
    # id, name, sort, unit, interval, capacity, place, reading u in g, slope u
    (
        "LC1",
        "Hopper cells",
        "hopper_cells",
        "kg",
        "0.5",
        "3000",
        "hopper_bay",
        "500",
        "0.003",
    ),
    (
        "PS1",
        "Platform scale",
        "platform_scale",
        "kg",
        "0.1",
        "600",
        "gold_room",
        "300",
        "0.001",
    ),
    (
        "BB1",
        "Bench balance",
        "bench_balance",
        "g",
        "0.1",
        "6200",
        "gold_room",
        "0.5",
        "0.0001",
    ),
    (
        "BU1",
        "Bullion balance",
        "bullion_balance",
        "g",
        "0.1",
        "32000",
        "gold_room",
        "0.2",
        "0.00002",
    ),
)


def room() -> State:
    """Return a state with the standing room and nothing in custody."""
    state = State()
    for record in (
        *_people(),
        *_places(),
        *_instruments(),
        *_vessels(),
        *_units(),
        *_seals(),
    ):
        state.put(record)
    state.settle()
    return state


def act(
    kind: str | type[Statement],
    *,
    at: str = AT,
    people: tuple[tuple[str, str], ...] = PAIR,
    entry: str | None = None,
    late_h: int = 0,
    corrects: str = "",
    attachments: int = 0,
) -> Act:
    """Return an act of this kind, taken down ten minutes (and `late_h`) later."""
    occurred_at = datetime.fromisoformat(at)
    return Act(
        entry=entry or f"entry-{next(NUMBERS):05d}",
        kind=kind if isinstance(kind, str) else kind.kind_name,
        klass="two" if isinstance(kind, str) else kind.klass,
        occurred_at=occurred_at,
        received_at=occurred_at + timedelta(minutes=10, hours=late_h),
        hands=tuple(Hand(person=person, role=role) for person, role in people),
        corrects_entry=corrects,
        attachments=attachments,
    )


def say(
    state: State,
    kind: type[S],
    values: Mapping[str, Any],
    *,
    at: str = AT,
    people: tuple[tuple[str, str], ...] = PAIR,
    entry: str | None = None,
    late_h: int = 0,
    corrects: str = "",
    attachments: int = 0,
) -> S:
    """Parse, check and fold a statement; return it. Raises its refusal."""
    said = parse(kind, values)
    done = act(
        kind, at=at, people=people, entry=entry, late_h=late_h, corrects=corrects,
        attachments=attachments,
    )  # fmt: skip
    fold.check(said, done, state)
    fold.fold(said, done, state)
    return said


def refused(
    state: State, kind: type[Statement], values: Mapping[str, Any], **more: Any
) -> str | None:
    """Return the code of the refusal that saying this meets, or None if accepted."""
    try:
        say(state, kind, values, **more)
    except Refusal as refusal:
        return refusal.code
    return None


def noticed(state: State) -> list[Noticed]:
    """Return every finding in the state, in the order they were put there."""
    return [each for each in state.all_held().values() if isinstance(each, Noticed)]


def codes(state: State) -> list[str]:
    """Return the codes of the findings in the state."""
    return [each.code for each in noticed(state)]


def reading(digits: str, unit: str, instrument: str, **more: Any) -> dict[str, Any]:
    """Return a reading as it stands in a statement's values."""
    return {"reading": digits, "unit": unit, "instrument": instrument, **more}


def removed(point: str, seal: str, **more: Any) -> dict[str, Any]:
    """Return a row of a seal taken off in order, with its remains kept."""
    row = {"point": point, "seal": seal, "tamper_signs": "none", "remains_kept": True}
    return {**row, **more}


def fitted(point: str, seal: str) -> dict[str, str]:
    """Return a row of a seal put on."""
    return {"point": point, "seal": seal}


def _people() -> list[Record]:
    enrolled: list[Record] = [
        Person(
            person=person,
            name=name,
            line=line,
            roles=roles,
            keys=(f"key-{person}",),
            sort="person",
        )
        for person, name, line, roles in PERSONS
    ]
    gateway = Person(
        person="g-plant",
        name="Plant gateway",
        line="plant",
        roles=("gateway",),
        keys=("key-g-plant",),
        sort="gateway",
    )
    return [*enrolled, gateway]


def _places() -> list[Record]:
    return [
        Place(place_id=place_id, name=name, sort=sort)
        for place_id, name, sort in PLACES
    ]


def _instruments() -> list[Record]:
    made: list[Record] = []
    for ident, name, sort, unit, interval, capacity, place, u_g, slope in INSTRUMENTS:
        calibration = Calibration(
            calibration_id=f"{ident}-c1",
            from_at="2026-09-01T04:00:00Z",
            due_at="2027-03-01T04:00:00Z",
            slope_u_relative=Decimal(slope),
            reading_u_g=Decimal(u_g),
            place=place,
        )
        made.append(
            Instrument(
                instrument=ident,
                name=name,
                sort=sort,
                unit=unit,
                interval=Decimal(interval),
                capacity=Decimal(capacity),
                place=place,
                blocked="",
                calibrations=(calibration,),
            )
        )
    made.append(
        Instrument(
            instrument="OV1",
            name="Drying oven",
            sort="oven",
            unit="",
            interval=Decimal(0),
            capacity=Decimal(0),
            place="gold_room",
            blocked="",
            calibrations=(),
        )
    )
    return made


def vessel(
    ident: str, sort: str, place: str, points: Mapping[str, str], **more: Any
) -> Vessel:
    """Return a plain vessel with these seal points and the seals on them."""
    plain: dict[str, Any] = {
        "tare_kg": None,
        "contents": (),
        "load_cells": "",
        "marks": (),
        "solids_density_kg_m3": None,
        "pending_flushes": (),
        "last_level": None,
        "is_open": any(not seal for seal in points.values()),
        "name": ident,
    }
    return Vessel(
        vessel=ident,
        sort=sort,
        place=place,
        points=tuple(
            SealPoint(point=point, seal=seal) for point, seal in points.items()
        ),
        **{**plain, **more},
    )


def _vessels() -> list[Record]:
    hopper = vessel(
        "H1",
        "hopper",
        "hopper_bay",
        {"lid": "S-0001", "drain": "S-0002"},
        tare_kg=Decimal(650),
        load_cells="LC1",
        name="Hopper 1",
        marks=(Mark(mark="M1", volume_m3=Decimal("1.2")),),
        solids_density_kg_m3=Decimal(4200),
    )
    return [
        hopper,
        vessel("D1", "drum", "gold_room", {"lid": ""}, tare_kg=Decimal("18.5")),
        vessel("D2", "drum", "gold_room", {"lid": ""}, tare_kg=Decimal("18.2")),
        vessel("S1", "safe", "vault", {"door": ""}),
        vessel("LV1", "leach_vessel", "gold_room", {"lid": ""}),
        vessel("TK1", "tank", "gold_room", {"hatch": ""}),
        vessel("TK2", "tank", "gold_room", {"hatch": ""}),
        vessel("EC1", "cell", "gold_room", {"lid": "S-0041"}),
        vessel("TR1", "tray", "gold_room", {}, tare_kg=Decimal("2.1")),
        vessel("TR2", "tray", "gold_room", {}, tare_kg=Decimal("2.0")),
        vessel("RT1", "retort", "gold_room", {}),
    ]


def _units() -> list[Record]:
    flushing: list[Record] = [
        Concentrator(
            unit=unit,
            name=f"Concentrator {unit}",
            sort="semi_continuous",
            hopper="H1",
            counter_epoch=1,
            last_flush=0,
            last_cycle=0,
            minimum_cycle_min=15,
            usual_flush_kg_min=Decimal(10),
            usual_flush_kg_max=Decimal(70),
        )
        for unit in ("U1", "U2")
    ]
    streaming: list[Record] = [
        Concentrator(
            unit=unit,
            name=f"Concentrator {unit}",
            sort="continuous",
            hopper="",
            counter_epoch=1,
            last_flush=0,
            last_cycle=0,
            minimum_cycle_min=0,
            usual_flush_kg_min=None,
            usual_flush_kg_max=None,
            stage=stage,
            feeds=feeds,
        )
        for unit, stage, feeds in (("U3", "rougher", "U4"), ("U4", "cleaner", "mill"))
    ]
    return [*flushing, *streaming]


def _seals() -> list[Record]:
    on = {
        "S-0001": ("H1", "lid"),
        "S-0002": ("H1", "drain"),
        "S-0041": ("EC1", "lid"),
    }
    made: list[Record] = []
    for n in range(1, 42):
        number = f"S-{n:04d}"
        where, point = on.get(number, ("", ""))
        made.append(
            Seal(
                seal=number,
                status="fitted" if where else "issued",
                series="S",
                issued_to="gold_room",
                vessel=where,
                point=point,
                fitted_entry="entry-before" if where else "",
                removed_entry="",
            )
        )
    return made
