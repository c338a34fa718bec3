"""Records of the month end: closed periods, restatements, true-ups.

What was reported is kept as it was reported. What the record knows later is worked
out anew and shown beside it; the difference is posted in the period in which it
became known.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record

LAST_CLOSED = "last_closed_period"
"""Name of the marker that holds the id of the period closed last."""


@dataclass(frozen=True, kw_only=True)
class ReportedBalance:
    """One balance as reported: a step (several merged by a plus, or "all"), a metal.

    The amounts are None where the balance was not drawn.
    """

    step: str
    metal: str
    opening_g: Decimal | None
    came_in_g: Decimal | None
    went_out_g: Decimal | None
    closing_g: Decimal | None
    unaccounted_g: Decimal | None
    u_g: Decimal | None


@dataclass(frozen=True, kw_only=True)
class ReportedGravity:
    """The gravity check as reported; None where nothing told."""

    estimated_g: Decimal | None
    estimated_u_g: Decimal | None
    poured_g: Decimal | None
    accounted_g: Decimal | None
    accounted_u_g: Decimal | None


@dataclass(frozen=True, kw_only=True)
class Reported:
    """A period's figures as people reported them, and what they were drawn from.

    `standing` is provisional or final. `size` and `root` are those of the ledger then,
    `digest` stands for the whole report, `program` drew it.
    """

    standing: str
    as_known_at: str
    size: int
    root: str
    digest: str
    program: str
    balances: tuple[ReportedBalance, ...]
    gravity: ReportedGravity


@dataclass(frozen=True, kw_only=True)
class ClosedPeriod(Record):
    """A run of production days whose books are closed, with what was reported.

    [from_at, to_at); `before` is the period closed before it ("" for the first).
    `restated` counts the restatements, `trued_up` the entries that posted true-ups.
    """

    table = "closed_period"
    key_of = "{period}"
    period: str
    first_day: str
    last_day: str
    from_at: str
    to_at: str
    before: str
    reported: Reported
    restated: int
    trued_up: int
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class Restatement(Record):
    """A closed period reported anew, and why; what was reported stays beside it."""

    table = "restatement"
    key_of = "{period}/{version:03d}"
    period: str
    version: int
    reason: str
    reported: Reported
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class TrueUp(Record):
    """A difference of a closed period, posted when it became known.

    `cause` is timing, measurement, known_loss, unexplained, physical_adjustment or
    book_adjustment; `entries` are those that made it known.
    """

    table = "true_up"
    key_of = "{period}/{number:03d}/{n:03d}"
    period: str
    number: int
    n: int
    step: str
    metal: str
    amount_g: Decimal
    cause: str
    reason: str
    entries: tuple[str, ...]
    at: str
    entry: str
    known_at: str
