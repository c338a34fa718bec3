"""Shipments advised, handed over, received and melted."""

from datetime import timedelta
from typing import Any

from goldroom.custody.records import Shipment
from goldroom.statements.dispatch import (
    DispatchAdvised,
    DispatchHandedOver,
    DispatchReceived,
)
from goldroom.statements.melts import DispatchMelted
from goldroom.statements.shipments import shipped_items
from tests.goldroom.simulated.metal import (
    Metal,
    balance,
    content,
    grams,
)
from tests.goldroom.simulated.walk import Walk


def shipments(walk: Walk, *statuses: str) -> list[Shipment]:
    """Return the shipments in these statuses."""
    held = walk.state.all_held().values()
    found = [each for each in held if isinstance(each, Shipment)]
    return [each for each in found if each.status in statuses]


def advise(walk: Walk) -> bool:
    """Advise a shipment of bars that no other has."""
    promised = {item for each in shipments(walk, "advised") for item in each.items}
    bars = [each for each in walk.held("bar", step="vault") if each not in promised]
    if not bars:
        return False
    until = walk.clock + timedelta(days=2)
    values = {
        "shipment": walk.new("SHP"), "refinery": "refinery", "carrier": "Marram",
        "carrier_person": "Tavi Brandel", "items": walk.some(bars),
        "window_from": walk.clock.isoformat(), "window_until": until.isoformat(),
    }  # fmt: skip
    walk.say(DispatchAdvised, values)
    return True


def hand_over(walk: Walk) -> bool:
    """Hand advised bars over in one or two boxes; now and then one stays."""
    advised = shipments(walk, "advised")
    boxes = [each for each in ("B1", "B2") if not walk.vessel(each).contents]
    if not advised or not boxes:
        return False
    shipment = walk.random.choice(advised)
    here = walk.held("bar", step="vault")
    bars = [each for each in shipment.items if each in here]
    if not bars:
        return False
    if len(bars) > 1 and walk.chance(0.2):
        bars.pop()
    half = len(bars) // 2 if len(boxes) > 1 and walk.chance(0.5) else 0
    packed = [part for part in (bars[:half], bars[half:]) if part]
    used = boxes[: len(packed)]
    opened = walk.opened([*used, *walk.where(bars)])
    rows, taken = [], []
    for box, items in zip(used, packed, strict=True):
        seals = walk.fit(box, bare=("lid",), taken=taken)
        if any(each.seal for each in walk.vessel(box).points) and box not in [
            each["vessel"] for each in opened
        ]:
            return False
        if not seals:
            return False
        taken += [each["seal"] for each in seals]
        gross = walk.total(items).dry // 100 + 20_000
        rows.append(
            {"box": box, "items": items, "gross": balance(gross), "seals_fitted": seals}
        )
    values: dict[str, Any] = {
        "shipment": shipment.shipment, "carrier": "Marram",
        "carrier_person": "tavi  brandel", "identity_check": "card against advice",
        "waybill": "W-1", "paper_signature": "waybill.pdf", "boxes": rows,
    }  # fmt: skip
    values |= {"opened": opened} if opened else {}
    walk.say(DispatchHandedOver, values)
    return True


def receive(walk: Walk) -> bool:
    """Take the refinery's receipt down."""
    on_way = shipments(walk, "handed_over")
    if not on_way:
        return False
    shipment = walk.random.choice(on_way)
    values = {
        "shipment": shipment.shipment, "received_by": "Iro Santh", "receipt": "R-1",
        "boxes": [{"box": each.box} for each in shipment.boxes],
    }  # fmt: skip
    walk.say(DispatchReceived, values)
    return True


def melt(walk: Walk) -> bool:
    """Let the refinery melt some of a shipment's bars together."""
    sent = shipments(walk, "handed_over", "received")
    if not sent:
        return False
    shipment = walk.random.choice(sent)
    waiting = [
        each for each in shipped_items(shipment) if walk.item(each).status != "consumed"
    ]
    if not waiting:
        return False
    items = walk.some(waiting)
    melted = walk.total(items)
    theft = Metal()
    if "vault" in walk.thieves:
        walk.thieves.discard("vault")
        theft = Metal(0, walk.random.randint(100, melted.gold // 4), 0)
    left = melted - theft
    name = walk.new("MELT")
    values = {
        "shipment": shipment.shipment, "melt": name, "items": items,
        "after_melt_g": grams(left.dry), "standing": "refiner",
        "gold_permille": content(left.gold, left.dry, "permille"),
        "silver_permille": content(left.silver, left.dry, "permille"),
        "sample": walk.new("RM"), "report": "outturn.pdf",
    }  # fmt: skip
    off = grams(left.dry - 1500)
    wrong = {**values, "after_melt_g": off} if walk.chance(0.25) else None
    walk.say(
        DispatchMelted, values, truth={name: left}, wrong=wrong,
        theft=("vault", theft) if theft != Metal() else None,
    )  # fmt: skip
    return True
