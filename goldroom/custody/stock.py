"""Records of stock taking: counts, things weighed again at a count, rolled counts.

A count is an observation: it stands beside the book and never changes a figure of
it. What was weighed again is kept as a check figure, so that a bar keeps the mass
that it was made and will be settled by.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record

FOUND_IN_EQUIPMENT = "found in equipment"
"""Where metal comes from that was held all along and in no book: outside."""

NEVER_COUNTED = ("flush", "charge")
"""Sorts that nobody looks for at a count: their metal lies in something else."""


@dataclass(frozen=True, kw_only=True)
class StockCount(Record):
    """What somebody found in a place or in a vessel, not knowing the book's list.

    `found` are the items recognised; `missing` those that the book had there, or that
    people looked for, and that were not; `unknown` things that the book knows nothing
    of, in the words of whoever saw them. Of `place` and `vessel` one is "".
    """

    table = "stock_count"
    key_of = "{count}"
    count: str
    place: str
    vessel: str
    found: tuple[str, ...]
    missing: tuple[str, ...]
    unknown: tuple[str, ...]
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class StockCheck(Record):
    """An item weighed again at a count: a check on the book's mass, never that mass.

    `book_g` is the net mass in the book when it was counted, None if it had none.
    """

    table = "stock_check"
    key_of = "{count}/{item}/{version:02d}"
    count: str
    item: str
    version: int
    net_g: Decimal
    book_g: Decimal | None
    instrument: str
    at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class RolledCount(Record):
    """A count as it would have been at the cut-off, by the movements in between."""

    table = "rolled_count"
    key_of = "{entry}"
    entry: str
    count: str
    cut_off: str
    items: tuple[str, ...]
    at: str
    known_at: str
