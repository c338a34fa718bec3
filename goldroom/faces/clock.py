"""The faces' clock: the machine's, or a demo ledger's own.

`GOLDROOM_DEMO_CLOCK=THEN@NOW` (two RFC 3339 times) lets a demo ledger's clock go on
from THEN, counted from the moment NOW: the invented month is then still today, and
the clock never goes back however often the server starts. Other ledgers never hear
of it.
"""

from datetime import UTC, datetime, timedelta
from functools import cache

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from ledger import read


def real_now() -> datetime:
    """Return the machine's time, for sessions, drafts and tokens."""
    return datetime.now(UTC)


def now(ledger_id: int) -> datetime:
    """Return the time that counts in this ledger."""
    return real_now() - shift(ledger_id)


def now_text(ledger_id: int) -> str:
    """Return the time that counts in this ledger, as UTC text to the second."""
    return now(ledger_id).strftime("%Y-%m-%dT%H:%M:%SZ")


def simulated(ledger_id: int) -> datetime | None:
    """Return the demo clock's time, or None where the machine's own clock counts."""
    return now(ledger_id) if shift(ledger_id) else None


def shift(ledger_id: int) -> timedelta:
    """Return by how much a ledger's clock is behind: nothing but in a demo."""
    if not settings.DEMO_CLOCK:
        return timedelta(0)
    opening = read.keyring(ledger_id).opening
    if opening is None or not opening.demo:
        return timedelta(0)
    return shift_of(settings.DEMO_CLOCK)


@cache
def shift_of(setting: str) -> timedelta:
    """Return NOW less THEN of a setting. Raises ImproperlyConfigured."""
    then, _, since = setting.partition("@")
    try:
        return _moment(since) - _moment(then)
    except (ValueError, TypeError) as wrong:
        raise ImproperlyConfigured(
            f"GOLDROOM_DEMO_CLOCK is {setting!r}; write two times with their offsets,"
            " such as 2026-10-31T18:00:00+02:00@2026-11-20T09:00:00+00:00."
        ) from wrong


def _moment(text: str) -> datetime:
    found = datetime.fromisoformat(text)
    if found.tzinfo is None:
        raise ValueError(text)
    return found
