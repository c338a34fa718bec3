"""A finding as a value, the threshold that it was held against, and ages.

The rules of this package are pure functions: records and a moment in, findings
out. Each names its threshold, a limit that the site sets by an entry. What a single
entry shows by itself the fold notices; what is here takes several entries, or time
passing.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody.act import utc_text

EXCEPTION = "exception"
"""Level of a finding that somebody should look at now."""

NOTICE = "notice"
"""Level of a finding to be looked at in the round."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """Something noticed: where, what was found, what was expected, since when.

    `item` is the id of what it is about, `at` the moment from which it held, as UTC
    text.
    """

    code: str
    level: str
    item: str
    found: str
    expected: str
    message: str
    at: str


@dataclass(frozen=True, kw_only=True)
class Threshold:
    """A limit in force: its name, value and unit (min, h, d, %)."""

    name: str
    value: Decimal
    unit: str

    @property
    def duration(self) -> timedelta:
        """Return the value as a stretch of time; its unit must be min, h or d."""
        seconds = {"min": 60, "h": 3600, "d": 24 * 3600}[self.unit]
        return timedelta(seconds=int(self.value * seconds))

    def __str__(self) -> str:
        """Return the value with its unit, and the name to set it by."""
        return f"{self.value} {self.unit} (limit {self.name})"


def moment(text: str) -> datetime:
    """Return the moment of a time as the records keep it."""
    return datetime.fromisoformat(text)


def due_at(since: str, threshold: Threshold) -> datetime:
    """Return the moment from which something that began then is overdue."""
    return moment(since) + threshold.duration


def is_overdue(since: str, threshold: Threshold, now: datetime) -> bool:
    """Return whether more time has passed since then than the threshold grants."""
    return due_at(since, threshold) < now


def due_text(since: str, threshold: Threshold) -> str:
    """Return when something that began then became overdue, as UTC text."""
    return utc_text(due_at(since, threshold))
