"""Findings about finished metal: bars kept long, shipments that do not arrive."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.records import Item, Shipment
from goldroom.findings.found import (
    EXCEPTION,
    NOTICE,
    Found,
    Threshold,
    due_text,
    is_overdue,
)
from goldroom.findings.runs import counted

OPEN_WITHIN = "shipment_open_d"
SHIPPED_WITHIN = "stock_age_d"


@dataclass(frozen=True, kw_only=True)
class SentShipment:
    """A shipment with the moment it was handed over at."""

    shipment: Shipment
    handed_over_at: str


def shipments_open(
    sent: Iterable[SentShipment], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the shipments handed over longer ago than the limit and not received.

    `within` is the limit `shipment_open_d`.
    """
    return [
        Found(
            code="shipment_open_long",
            level=EXCEPTION,
            item=each.shipment.shipment,
            found=f"handed to {each.shipment.carrier} {each.handed_over_at},"
            " not received",
            expected=f"received at {each.shipment.refinery} within {within}",
            message=f"shipment {each.shipment.shipment} has not been received;"
            " ask after it",
            at=due_text(each.handed_over_at, within),
        )
        for each in sent
        if each.shipment.status == "handed_over"
        and is_overdue(each.handed_over_at, within, now)
    ]


def bars_kept_long(
    bars: Iterable[Item], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the bars on site longer than the limit: one finding for each pouring day.

    `within` is the limit `stock_age_d`.
    """
    groups: dict[str, list[Item]] = {}
    for bar in bars:
        if bar.status == "held" and is_overdue(bar.held_from, within, now):
            groups.setdefault(bar.held_from[:10], []).append(bar)
    return [
        Found(
            code="bar_kept_long",
            level=NOTICE,
            item=min(bar.item for bar in kept),
            found=f"{counted((bar.item for bar in kept), 'bar')} poured {day},"
            " still on site",
            expected=f"shipped within {within}",
            message="bars stay on site longer than they should",
            at=due_text(min(bar.held_from for bar in kept), within),
        )
        for day, kept in sorted(groups.items())
    ]
