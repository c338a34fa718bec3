"""A small mine's first days, said through the front door. All invented.

Two units flush into hopper H1; two loads make lot LOT-1; its concentrate is poured
into BAR-1 and BAR-2, which the refinery melts together into MELT-1. On the way one
sheet is taken back and said again, one bar's reading is put right, and an emergency
stays unratified. `tell()` says it all into a new ledger and returns its id.
"""

import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from goldroom import commands
from goldroom.sayings import Saying, Signer
from ledger.core.signing import SigningKey
from tests.goldroom.room import INSTRUMENTS, PAIR, PERSONS, PLACES, fitted, removed
from tests.goldroom.room import reading as read_off

GUARDS = (("p-sefu", "security"), ("p-ines", "metallurgist"))
OPENERS = (*GUARDS, ("p-odile", "accountant"))
CHEMISTS = (("p-noor", "laboratory"), ("p-ines", "metallurgist"))
SHIPPERS = (("p-sefu", "security"), ("p-leith", "witness"))
MENDERS = (("p-jonas", "officer"), ("p-sefu", "security"))
GATEWAY = (("g-plant", "gateway"),)
KEYS = {
    name: SigningKey.from_seed(name.encode().ljust(32, b"."))
    for name in (*(person[0] for person in PERSONS), "g-plant", "log")
}
FLUSHES = tuple(f"U1-1-{n}" for n in range(11, 19)) + tuple(
    f"U2-1-{n}" for n in range(21, 25)
)
"""Every flush that LOT-1, and so both bars, came from."""

Hands = tuple[tuple[str, str], ...]


def entry_id(name: str) -> str:
    """Return the id of the entry of this name."""
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"small mine/{name}"))


def saying(name: str, at: str, kind: str, hands: Hands, /, **values: Any) -> Saying:
    """Return a saying taken down ten minutes after `at` ("10-01 13:43")."""
    occurred_at = datetime.fromisoformat(f"2026-{at}:00+02:00")
    corrects = values.pop("corrects", "")
    return Saying(
        kind=kind,
        data=values,
        occurred_at=occurred_at.isoformat(),
        signers=tuple(Signer(person=person, role=role) for person, role in hands),
        entry_id=entry_id(name),
        corrects=corrects,
        received_at=(occurred_at + timedelta(minutes=10)).isoformat(),
    )


def opening(origin_name: str) -> Saying:
    """Return the saying that opens the ledger."""
    people: list[dict[str, Any]] = [
        {
            "person": person,
            "name": name,
            "line": line,
            "roles": list(roles),
            "sort": "person",
        }
        for person, name, line, roles in PERSONS
    ]
    people.append(
        {
            "person": "g-plant",
            "name": "Plant gateway",
            "line": "plant",
            "roles": ["gateway"],
            "sort": "gateway",
        }
    )
    return saying(
        f"opening/{origin_name}",
        "09-30 09:00",
        "ledger.opened",
        (),
        origin_name=origin_name,
        site="Kestrel Ridge (invented)",
        demo=True,
        production_day_start="06:00",
        time_zone="Africa/Johannesburg",
        persons=people,
    )


def standing() -> Iterator[Saying]:
    """Yield what is registered before the first shift."""
    for n, (place, name, sort) in enumerate(PLACES):
        yield saying(
            f"place/{place}", f"09-30 09:{20 + n}", "place.registered", GUARDS,
            place=place, name=name, sort=sort,
        )  # fmt: skip
    for n, scale in enumerate(INSTRUMENTS):
        yield from _scale(n, scale)
    yield saying(
        "oven", "09-30 10:30", "instrument.registered", GUARDS,
        instrument="OV1", name="Drying oven", sort="oven", place="gold_room",
    )  # fmt: skip
    for n, values in enumerate(_vessels()):
        yield saying(
            f"vessel/{n}", f"09-30 11:{n:02d}", "vessel.registered", GUARDS, **values
        )
    for unit in ("U1", "U2"):
        yield saying(
            f"unit/{unit}", "09-30 12:00", "concentrator.registered", GUARDS,
            unit=unit, name=f"Concentrator {unit}", sort="semi_continuous",
            hopper="H1", counter_epoch=1, minimum_cycle_min=15,
        )  # fmt: skip
    yield saying(
        "seals", "09-30 12:10", "seals.issued", GUARDS,
        series="S", first=1, last=40, issued_to="p-sefu",
    )  # fmt: skip
    yield saying(
        "model", "09-30 12:20", "gravity_model.set", GUARDS, model="main",
        grg_fraction="0.45", survival_b="0.98", to_underflow_c="0.98",
        treated_p="0.25", recovery_rho0="0.45", saturation_tau_min="90",
        silver_to_gold="0.14",
    )  # fmt: skip


def _scale(n: int, scale: tuple[str, ...]) -> Iterator[Saying]:
    name, title, sort, unit, interval, capacity, place, u_g, slope = scale
    yield saying(
        f"scale/{name}", f"09-30 10:{n:02d}", "instrument.registered", GUARDS,
        instrument=name, name=title, sort=sort, place=place, unit=unit,
        interval=interval, capacity=capacity,
    )  # fmt: skip
    yield saying(
        f"calibration/{name}", f"09-30 10:{10 + n}", "instrument.calibrated", GUARDS,
        instrument=name, calibration=f"{name}-c1", due="2027-03-01",
        certificate=f"{name}-c1", reading_u_g=u_g, slope_u_relative=slope, place=place,
    )  # fmt: skip


def _vessels() -> Iterator[dict[str, Any]]:
    yield {
        "vessel": "H1", "name": "Hopper 1", "sort": "hopper", "place": "hopper_bay",
        "points": ["lid", "drain"], "tare_kg": "650", "load_cells": "LC1",
        "marks": [{"mark": "M1", "volume_m3": "1.2"}], "solids_density_kg_m3": "4200",
    }  # fmt: skip
    for vessel, sort, place, points in (
        ("L1", "drum", "gold_room", ["lid"]),
        ("D1", "drum", "gold_room", ["lid"]),
        ("D2", "drum", "gold_room", ["lid"]),
        ("T1", "table", "gold_room", []),
        ("F1", "furnace", "gold_room", []),
        ("S1", "safe", "vault", ["door"]),
        ("B1", "box", "vault", ["lid"]),
    ):
        plain = {"vessel": vessel, "name": f"{sort.title()} {vessel}", "sort": sort}
        tare = {"tare_kg": "18.5"} if sort == "drum" else {}
        sealed = {"points": points} if points else {}
        yield {**plain, "place": place, **sealed, **tare}


def cycles(name: str, at: str, unit: str, numbers: range) -> Saying:
    """Return the plant's count of a unit's flushes, every half hour up to `at`."""
    end = datetime.fromisoformat(f"2026-{at}:00+02:00") - timedelta(minutes=5)
    rows = [
        {
            "unit": unit,
            "counter_epoch": 1,
            "flush": number,
            "started_at": (end - timedelta(minutes=30 * left + 28)).isoformat(),
            "ended_at": (end - timedelta(minutes=30 * left)).isoformat(),
            "feed_t": "60.0",
            "status": "complete",
        }
        for number in numbers
        for left in [numbers[-1] - number]
    ]
    return saying(name, at, "cycles.recorded", GATEWAY, cycles=rows)


def sheet(name: str, at: str, **units: tuple[int, int]) -> Saying:
    """Return a cleanup sheet: first and last flush by unit."""
    rows = [
        {"unit": unit, "counter_epoch": 1, "first": first, "last": last}
        for unit, (first, last) in units.items()
    ]
    return saying(name, at, "cleanup.recorded", PAIR, hopper="H1", flushes=rows)


def hopper_days() -> Iterator[Saying]:
    """Yield the first day: stock taken over, two loads, the hopper emptied."""
    yield saying(
        "closed", "10-01 05:00", "hopper.closed", PAIR, hopper="H1",
        seals_fitted=[fitted("lid", "S-0001"), fitted("drain", "S-0002")],
    )  # fmt: skip
    yield saying(
        "stock", "10-01 05:30", "stock.opened", OPENERS,
        stock=[{
            "item": "SLG-0", "sort": "slag", "step": "smelt", "source": "gravity",
            "place": "gold_room",
            "estimate": {
                "gold_g": "14.0", "gold_u_g": "4.0", "silver_g": "9.0",
                "silver_u_g": "3.0", "method": "panned assay of earlier slags",
            },
        }],
        last_flushes=[
            {"unit": "U1", "counter_epoch": 1, "last_flush": 10},
            {"unit": "U2", "counter_epoch": 1, "last_flush": 20},
        ],
        last_bar_number="KR-0100",
    )  # fmt: skip
    yield cycles("cycles/1", "10-01 13:34", "U1", range(11, 15))
    yield cycles("cycles/2", "10-01 13:35", "U2", range(21, 25))
    yield sheet("sheet/1", "10-01 13:43", U1=(11, 14), U2=(21, 24))
    yield weighed("LD-1", "10-01 13:53", "1972")
    yield cycles("cycles/3", "10-01 21:35", "U1", range(15, 19))
    yield sheet("sheet/2", "10-01 21:43", U1=(15, 17))
    yield saying(
        "void", "10-01 21:50", "record.corrected", MENDERS,
        entry=entry_id("sheet/2"), mode="void", kind="cleanup.recorded",
        reason="flush 18 was left off the sheet", corrects=entry_id("sheet/2"),
    )  # fmt: skip
    yield sheet("sheet/2 again", "10-01 21:55", U1=(15, 18))
    yield weighed("LD-2", "10-01 22:05", "2033")
    yield saying(
        "emptied", "10-02 06:06", "hopper.emptied", PAIR, hopper="H1", lot="LOT-1",
        seals_removed=[removed("lid", "S-0001"), removed("drain", "S-0002")],
        into="L1", gross=read_off("310.1", "kg", "PS1"),
        moisture={"percent": "17.7", "oven": "OV1"},
        lot_seals=[fitted("lid", "S-0003")],
        seals_fitted=[fitted("lid", "S-0004"), fitted("drain", "S-0005")],
        level_after={"mark": "M1", "gross": read_off("1850", "kg", "LC1")},
    )  # fmt: skip
    yield saying(
        "mill day", "10-02 10:00", "mill_day.reported", CHEMISTS,
        day="2026-10-01", feed_t="1160", gold_gpt="2.4", silver_gpt="0.9",
    )  # fmt: skip


def weighed(load: str, at: str, gross: str) -> Saying:
    """Return the hopper's reading that makes a load."""
    return saying(
        load, at, "hopper.weighed", PAIR, load=load, hopper="H1", mark="M1",
        gross=read_off(gross, "kg", "LC1"),
    )  # fmt: skip


def assayed(name: str, at: str, *rows: tuple[list[str], str, str, str]) -> Saying:
    """Return a laboratory's report; a row is items, unit, gold, silver."""
    return saying(
        name, at, "assay.reported", CHEMISTS, laboratory="lab", method="fire_assay",
        standing="provisional" if "bars" in name else "final", sampler="p-amara",
        results=[
            {"items": items, "sample": f"{name}-{n}", "unit": unit, "gold": gold,
             "silver": silver}
            for n, (items, unit, gold, silver) in enumerate(rows)
        ],
    )  # fmt: skip


def pour_days() -> Iterator[Saying]:
    """Yield table, assays, charge, pour and numbered bars, up to the vault."""
    yield saying(
        "table", "10-02 12:50", "table.run", PAIR, table="T1", feed=["LOT-1"],
        opened=[{"vessel": "L1", "seals_removed": [removed("lid", "S-0003")]}],
        products=[
            _product("CON-1", "concentrate", "19.0", "0", vessel="D1"),
            _product("MID-1", "middlings", "20.5", "12", vessel="D2"),
            _product("TLS-1", "tails", "300.0", "18"),
        ],
        closed=[
            {"vessel": "D1", "seals_fitted": [fitted("lid", "S-0006")]},
            {"vessel": "D2", "seals_fitted": [fitted("lid", "S-0007")]},
        ],
    )  # fmt: skip
    yield assayed(
        "solids", "10-02 15:30",
        (["LD-1", "LD-2"], "gpt", "990.0", "140.0"),
        (["LOT-1"], "gpt", "1005.0", "142.0"),
        (["CON-1"], "percent", "42.10", "5.90"),
        (["MID-1"], "gpt", "4000", "600"),
        (["TLS-1"], "gpt", "95", "14"),
    )  # fmt: skip
    yield saying(
        "charge", "10-05 07:00", "charge.made_up", PAIR, charge="CH-1", furnace="F1",
        crucible="K7", crucible_uses=3,
        opened=[{"vessel": "D1", "seals_removed": [removed("lid", "S-0006")]}],
        sources=[{"item": "CON-1"}], fluxes=[{"flux": "borax", "mass_kg": "0.4"}],
    )  # fmt: skip
    yield saying(
        "pour", "10-05 09:00", "charge.poured", PAIR, charge="CH-1",
        place="gold_room", slag="SLG-1",
        castings=[{"item": "BAR-1", "mould": "M1"}, {"item": "BAR-2", "mould": "M2"}],
        samples=[{"item": "DIP-1", "taken_by": "dip",
                  "mass": read_off("2.1", "g", "BB1")}],
    )  # fmt: skip
    yield _numbered("BAR-1", "KR-0101", "10-05 13:00", "120.4")
    yield _numbered("BAR-2", "KR-0102", "10-05 13:10", "118.0")
    yield saying(
        "bar mass", "10-05 14:00", "record.corrected", MENDERS,
        entry=entry_id("BAR-1"), mode="figures", kind="bar.numbered",
        values={"item": "BAR-1", "stamped": "KR-0101",
                "first": read_off("120.7", "g", "BU1")},
        reason="the display was read as 4 for 7", corrects=entry_id("BAR-1"),
    )  # fmt: skip
    yield assayed(
        "bars", "10-05 16:00", (["BAR-1", "BAR-2", "DIP-1"], "permille", "860.0", "119")
    )
    yield saying(
        "placed", "10-05 17:00", "vault.placed", SHIPPERS, safe="S1",
        items=["BAR-1", "BAR-2"],
        closed=[{"vessel": "S1", "seals_fitted": [fitted("door", "S-0008")]}],
    )  # fmt: skip
    yield saying(
        "emergency", "10-06 16:00", "emergency.declared", (("p-amara", "officer"),),
        what="gas alarm, the room was left at once", place="gold_room",
    )  # fmt: skip


def _product(
    item: str, product: str, gross: str, moisture: str, *, vessel: str = ""
) -> dict[str, Any]:
    kept = {"vessel": vessel, "goes_to": "kept"} if vessel else {"goes_to": "mill"}
    return {
        "item": item, "product": product, "gross": read_off(gross, "kg", "PS1"),
        "tare": read_off("18.5", "kg", "PS1"), "moisture_percent": moisture,
        "oven": "OV1", **kept,
    }  # fmt: skip


def _numbered(item: str, stamped: str, at: str, mass: str) -> Saying:
    return saying(
        item, at, "bar.numbered", PAIR, item=item, stamped=stamped,
        first=read_off(mass, "g", "BU1"),
    )  # fmt: skip


def shipping_days() -> Iterator[Saying]:
    """Yield dispatch, receipt and the refinery's melt."""
    carrier = {"carrier": "Marram Secure Haulage", "carrier_person": "Tavi Brandel"}
    yield saying(
        "advised", "10-07 08:00", "dispatch.advised", SHIPPERS, shipment="SHP-1",
        refinery="refinery", items=["BAR-1", "BAR-2"], **carrier,
        window_from="2026-10-08T06:00:00+02:00",
        window_until="2026-10-08T12:00:00+02:00",
    )  # fmt: skip
    yield saying(
        "taken", "10-08 07:00", "vault.taken", SHIPPERS, safe="S1",
        opened=[{"vessel": "S1", "seals_removed": [removed("door", "S-0008")]}],
        items=["BAR-1", "BAR-2"], purpose="dispatch", vessel="B1",
    )  # fmt: skip
    yield saying(
        "handed over", "10-08 08:00", "dispatch.handed_over", SHIPPERS,
        shipment="SHP-1", **carrier, identity_check="card 4471 against the advice",
        waybill="W-90", paper_signature="waybill W-90.pdf",
        boxes=[{"box": "B1", "items": ["BAR-1", "BAR-2"],
                "seals_fitted": [fitted("lid", "S-0009")]}],
    )  # fmt: skip
    yield saying(
        "received", "10-09 10:00", "dispatch.received", SHIPPERS, shipment="SHP-1",
        received_by="Iro Santh", receipt="R-17", boxes=[{"box": "B1"}],
    )  # fmt: skip
    yield saying(
        "melted", "10-12 10:00", "dispatch.melted", SHIPPERS, shipment="SHP-1",
        melt="MELT-1", items=["BAR-1", "BAR-2"], as_received_g="238.7",
        after_melt_g="238.5", gold_permille="859.0", silver_permille="119.5",
        standing="refiner", sample="RM-1", report="outturn 17.pdf",
    )  # fmt: skip


def tell(origin_name: str = "goldroom.example/kestrel-ridge", *, upto: str = "") -> int:
    """Say it all, or up to and with the saying of this name; return the ledger id."""
    opened = commands.open_ledger(opening(origin_name), KEYS)
    ledger_id = commands.ledger_of(opened.entry)
    for parts in (standing(), hopper_days(), pour_days(), shipping_days()):
        for each in parts:
            commands.say(ledger_id, each, KEYS)
            if upto and each.entry_id == entry_id(upto):
                return ledger_id
    return ledger_id
