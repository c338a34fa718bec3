"""Findings about stock: kept long or over what is insured, not arrived, not counted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody.records import Item, Shipment
from goldroom.custody.stock import NEVER_COUNTED, StockCount
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
INSURED = "stock_insured_g"


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


@dataclass(frozen=True, kw_only=True)
class HeldBar:
    """A bar on site with its fine gold; None while nothing tells how much."""

    bar: Item
    gold_g: Decimal | None


def stock_over_insured(held: Iterable[HeldBar], *, at_most: Threshold) -> list[Found]:
    """Return a finding if the bars on site hold more fine gold than is insured.

    `at_most` is the limit `stock_insured_g`. It names the bar that went over. Bars
    whose gold nobody knows yet are not in the sum, and are said.
    """
    here = [each for each in held if each.bar.status == "held"]
    here.sort(key=lambda each: (each.bar.held_from, each.bar.item))
    unknown = [each.bar.item for each in here if each.gold_g is None]
    together, over = Decimal(0), None
    for each in here:
        together += each.gold_g or Decimal(0)
        if over is None and together > at_most.value:
            over = each.bar
    if over is None:
        return []
    more = f", and {counted(unknown, 'bar')} of unknown gold" if unknown else ""
    return [
        Found(
            code="stock_over_insured",
            level=NOTICE,
            item=over.item,
            found=f"{together:.0f} g of fine gold in {len(here)} bars{more}",
            expected=f"at most {at_most}",
            message="more gold is on site than is insured; ship it, or have it insured",
            at=over.held_from,
        )
    ]


@dataclass(frozen=True, kw_only=True)
class PlacedItem:
    """An item held, and when a statement last said where it is."""

    item: Item
    seen_at: str


def not_in_last_count(
    counts: Iterable[StockCount], items: Iterable[PlacedItem]
) -> list[Found]:
    """Return what the book has in a counted place and its last count does not name.

    A count of a vessel is compared at once, one of a place here: only a rule that may
    look at all items knows what the book has there. What was made, or seen anywhere,
    since the count is let pass.
    """
    last: dict[str, StockCount] = {}
    for each in sorted(counts, key=lambda each: (each.at, each.known_at)):
        if each.place:
            last[each.place] = each
    missed: dict[str, list[str]] = {}
    for placed in items:
        item = placed.item
        count = last.get(item.place)
        if count is None or item.status != "held" or item.sort in NEVER_COUNTED:
            continue
        named = item.item in count.found or item.item in count.missing
        if not named and max(placed.seen_at, item.held_from) < count.at:
            missed.setdefault(item.place, []).append(item.item)
    return [
        Found(
            code="not_in_count",
            level=EXCEPTION,
            item=min(names),
            found=f"{counted(names, 'item')} in {place} by the book, named by nobody",
            expected=f"found when it was counted, {last[place].at}",
            message=f"the count of {place} leaves out what the book has there",
            at=last[place].at,
        )
        for place, names in sorted(missed.items())
    ]
