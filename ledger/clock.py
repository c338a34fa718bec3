"""The server's clock as text. Nothing here reads a clock: `now` is always given."""

from datetime import UTC, datetime

from ledger.core.entry import format_at


def clock_text(now: datetime) -> str:
    """Return a moment as leaves record it: `2026-09-24T04:00:00.123456Z`."""
    assert now.tzinfo is not None, "a moment without an offset names no moment"
    return format_at(now.astimezone(UTC))
