"""Flushes as the plant counted them, by id."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.records import Flush
from goldroom.reports import rows


@dataclass(frozen=True, kw_only=True)
class CountedFlush:
    """A cycle that the plant's counter reported. Times are UTC texts."""

    flush: str
    started_at: str
    ended_at: str
    feed_t: Decimal | None
    status: str
    reason: str


def counted_flushes(
    ledger_id: int, flush_ids: Iterable[str]
) -> dict[str, CountedFlush]:
    """Return those of the flushes that the plant has counted, by id."""
    found = rows.by_keys(ledger_id, Flush, flush_ids)
    return {
        name: CountedFlush(
            flush=name,
            started_at=each.started_at,
            ended_at=each.at,
            feed_t=each.feed_t,
            status=each.cycle_status,
            reason=each.reason,
        )
        for name, each in found.items()
        if each.cycle_status
    }
