"""Records for the findings' tests, with everything that does not matter filled in."""

from decimal import Decimal
from typing import Any

from goldroom.custody.records import Assay, Flush, Item, Seal, Shipment
from goldroom.findings.family import Point
from goldroom.findings.found import Threshold


def threshold(name: str, value: str, unit: str) -> Threshold:
    """Return a limit in force."""
    return Threshold(name=name, value=Decimal(value), unit=unit)


def flush(unit: str, number: int, **more: Any) -> Flush:
    """Return a flush of epoch 1 that the plant counted and no sheet lists."""
    plain: dict[str, Any] = {
        "flush": f"{unit}-1-{number}",
        "unit": unit,
        "counter_epoch": 1,
        "number": number,
        "started_at": "2026-10-01T04:00:00Z",
        "at": "2026-10-01T05:00:00Z",
        "feed_t": None,
        "cycle_status": "complete",
        "reason": "",
        "answer": "",
        "sheet": "",
        "hopper": "H1",
        "load": "",
    }
    return Flush(**{**plain, **more})


def seal(number: str, status: str = "issued") -> Seal:
    """Return a seal of series S issued to the gold room."""
    return Seal(
        seal=number,
        status=status,
        series="S",
        issued_to="gold_room",
        vessel="",
        point="",
        fitted_entry="",
        removed_entry="",
    )


def bar(item: str, **more: Any) -> Item:
    """Return a bar held in the vault since the first of October."""
    plain: dict[str, Any] = {
        "item": item,
        "sort": "bar",
        "status": "held",
        "place": "vault",
        "step": "vault",
        "source": "gravity",
        "parents": (),
        "children": (),
        "made_by": "entry-1",
        "used_by": "",
        "held_from": "2026-10-01T09:00:00Z",
        "held_until": "",
        "label": item,
        "at": "2026-10-01T09:00:00Z",
    }
    return Item(**{**plain, **more})


def assay(item: str, standing: str) -> Assay:
    """Return an assay of a bar."""
    return Assay(
        item=item,
        version=1,
        assay_id=f"a-{item}",
        sample="s-1",
        standing=standing,
        unit="permille",
        gold=Decimal("850"),
        silver=Decimal("120"),
        base=None,
        laboratory="lab",
        method="fire_assay",
        sampler="p-amara",
        wanted_for="bar",
        at="2026-10-02T09:00:00Z",
        entry="entry-2",
        known_at="2026-10-02T09:00:00Z",
    )


def shipment(name: str, status: str, at: str) -> Shipment:
    """Return a shipment of one bar."""
    return Shipment(
        shipment=name,
        status=status,
        carrier="Longline Carriage (invented)",
        carrier_person="Ode Marr",
        refinery="refinery",
        items=("B-1",),
        boxes=(),
        from_at=at,
        until_at=at,
        at=at,
        entry="entry-3",
    )


def points(*values: float) -> list[Point]:
    """Return points P-00, P-01 ... of these values, an hour after each other."""
    return [
        Point(
            item=f"P-{n:02d}",
            at=f"2026-10-{1 + n // 24:02d}T{n % 24:02d}:00:00Z",
            value=Decimal(str(value)),
        )
        for n, value in enumerate(values)
    ]
