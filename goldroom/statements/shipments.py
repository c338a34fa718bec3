"""What the statements of a shipment's way share: its stage, its bars, differences."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import latest_mass
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Record, Shipment
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.statements.limits import limit_value
from goldroom.statements.wording import listed


def shipment_in(state: State, shipment_id: str, statuses: Sequence[str]) -> Shipment:
    """Return a shipment in one of these statuses; refuse another.

    Raises UnknownShipment and NotInThisState.
    """
    shipment = the(state, Shipment, shipment_id, "shipment")
    if shipment.status not in statuses:
        raise NotInThisState(
            f"shipment: {shipment_id} is {shipment.status.replace('_', ' ')};"
            f" expected {' or '.join(statuses).replace('_', ' ')}. Look at what was"
            " said of it since.",
            field="shipment",
        )
    return shipment


def shipped_items(shipment: Shipment) -> tuple[str, ...]:
    """Return the bars handed over, by box."""
    return tuple(item_id for box in shipment.boxes for item_id in box.items)


def check_numbered(state: State, item_id: str, field: str) -> Item:
    """Return a numbered bar that is at hand; refuse another thing.

    Raises UnknownItem, WrongSort, ItemConsumed, ItemNotHeld and NotInThisState.
    """
    item = item_at_hand(state, item_id, field, sorts=("bar",))
    if item.step != "vault":
        raise NotInThisState(
            f"{field}: {item_id} has no number yet. Stamp and weigh it first.",
            field=field,
        )
    return item


def bars_g(state: State, items: Sequence[str]) -> Decimal | None:
    """Return the newest masses together, in grams; None if one was never weighed."""
    masses = [latest_mass(state, item_id) for item_id in items]
    known = [each.net_g for each in masses if each is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(masses) else None


def mass_notice(
    state: State,
    act: Act,
    *,
    item: str,
    found_g: Decimal | None,
    expected_g: Decimal | None,
) -> Iterator[Record]:
    """Yield a finding if a mass, where both are known, differs beyond the limit."""
    if found_g is None or expected_g is None:
        return
    limit_percent = limit_value(state, "mine_refinery_mass_percent")
    if abs(found_g - expected_g) * 100 > limit_percent * expected_g:
        yield notice(
            state,
            act,
            "dispatch_differs",
            item=item,
            found=f"{found_g} g",
            expected=f"{expected_g} g within {limit_percent} %",
            message=f"{item} differs from what was handed over by"
            f" {found_g - expected_g} g",
        )


def list_differs(
    state: State, act: Act, shipment: str, found: Sequence[str], expected: Sequence[str]
) -> Iterator[Record]:
    """Yield a finding if what was found is not what was announced."""
    missing = [each for each in expected if each not in found]
    extra = [each for each in found if each not in expected]
    if missing or extra:
        yield notice(
            state,
            act,
            "dispatch_differs",
            item=shipment,
            found=listed(found),
            expected=listed(expected),
            message=f"{shipment} is not as announced: missing"
            f" {listed(missing) or 'nothing'}, not announced"
            f" {listed(extra) or 'nothing'}",
        )
