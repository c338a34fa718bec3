"""Where a ledger stands, kept per process and brought up to date from the entries.

A `Chain` is what appending and reading need beside the rows: size, last hash,
running root, the roots of the last sizes and the keyring. It is folded from the
leaves themselves and compared with the head row, whose frontier stands for the
whole history: if they disagree, the fold starts again from nothing, and if they
still disagree the ledger is damaged and takes no more entries.

Only committed state is ever published to other calls of this process, and what is
published is never changed. Whoever appends grows a copy and publishes that after
the commit.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from django.db import connection

from ledger import stored
from ledger.core.entry import Entry, parse_leaf
from ledger.core.errors import LedgerRefusal
from ledger.core.keyring import Keyring
from ledger.core.merkle import EMPTY_ROOT, Frontier, leaf_hash, tree_root
from ledger.core.policy import OPENED_KIND, STANDING_KINDS
from ledger.errors import LedgerDamaged, NoSuchLedger

ROOTS_KEPT = 1_024
ROWS_AT_ONCE = 2_000
PLACES_MAX = 2**63 - 1  # what a column of the database can count to
# Kinds that change who may sign. In canonical bytes a kind has one spelling, so
# that a leaf without these bytes is surely of another kind.
STANDING_MARKS = tuple(
    f'"kind":"{kind}"'.encode() for kind in sorted(STANDING_KINDS | {OPENED_KIND})
)


@dataclass
class Chain:
    """A ledger after `size` entries. Others may read it; a copy may grow."""

    ledger_id: int
    origin: str
    size: int
    last_hash: bytes
    at: str
    frontier: Frontier
    keyring: Keyring
    roots: dict[int, bytes]

    @classmethod
    def empty(cls, ledger_id: int, origin: str) -> Chain:
        """Return the chain of a ledger without entries."""
        return cls(
            ledger_id, origin, 0, b"", "", Frontier(), Keyring.empty(), {0: EMPTY_ROOT}
        )

    def copy(self) -> Chain:
        """Return a chain that can grow without touching this one."""
        return replace(self, frontier=self.frontier.copy(), roots=dict(self.roots))

    def add(self, entry: Entry) -> None:
        """Grow by one entry whose rules have been checked."""
        assert entry.seq == self.size
        self.keyring = self.keyring.apply(entry)
        self.at = entry.at
        self._grow(entry.leaf_hash)
        self._remember_root()

    def add_stored(self, leaf: bytes, *, is_recent: bool) -> None:
        """Grow by a stored leaf, parsed only if it may change who may sign."""
        if any(mark in leaf for mark in STANDING_MARKS):
            self.keyring = self.keyring.apply(parse_leaf(leaf))
        self._grow(leaf_hash(leaf))
        if is_recent:
            self._remember_root()

    def root(self) -> bytes:
        """Return the root over all entries."""
        return self.frontier.root()

    def root_at(self, size: int) -> bytes | None:
        """Return the root of the first `size` entries; None beyond the last."""
        if size > self.size:
            return None
        return self.roots.get(size) or self._root_from_rows(size)

    def frontier_text(self) -> str:
        """Return the running root as the head row keeps it."""
        return " ".join(self.frontier.to_list())

    def _grow(self, digest: bytes) -> None:
        self.frontier.append(digest)
        self.last_hash = digest
        self.size += 1
        self.keyring = replace(self.keyring, size=self.size)

    def _remember_root(self) -> None:
        self.roots[self.size] = self.frontier.root()
        self.roots.pop(self.size - ROOTS_KEPT, None)

    def _root_from_rows(self, size: int) -> bytes:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT leaf_hash FROM ledger_entry"
                " WHERE ledger_id = %s AND seq < %s ORDER BY seq",
                [self.ledger_id, size],
            )
            return tree_root([bytes(digest) for (digest,) in cursor.fetchall()])


@dataclass(frozen=True)
class HeadRow:
    """The head row as stored, with the ledger's origin."""

    origin: str
    size: int
    last_hash: bytes
    at: str
    frontier: str


_published: dict[tuple[Any, ...], Chain] = {}
_publishing = threading.Lock()


def current(ledger_id: int, *, lock: bool = False) -> Chain:
    """Return the ledger's chain as the head row has it, to be read, not changed.

    With `lock`, inside a transaction, the head row stays locked until its end.
    """
    head = _head_row(ledger_id, lock=lock)
    known = _published.get(_key(ledger_id))
    if known is not None and _equals(known, head):
        return known
    candidates = [Chain.empty(ledger_id, head.origin)]
    if known is not None:
        candidates.insert(0, known.copy())
    for candidate in candidates:
        if _catch_up(candidate, head):
            if not connection.in_atomic_block:
                publish(candidate)
            return candidate
    raise LedgerDamaged(
        f"The head of {head.origin} speaks of {head.size} entries, and the entries do "
        "not lead there. Nothing more is recorded; run verify_ledger."
    )


def publish(chain: Chain) -> None:
    """Make committed state known to the other calls of this process."""
    with _publishing:
        _published[_key(chain.ledger_id)] = chain


def rows(ledger_id: int, start: int, stop: int) -> Iterator[bytes]:
    """Yield the stored leaves of entries `start` up to, not including, `stop`.

    Goes from row to row: numbers that stand for no row, however many, cost nothing.
    """
    with connection.cursor() as cursor:
        while True:
            cursor.execute(
                "SELECT seq, leaf FROM ledger_entry"
                " WHERE ledger_id = %s AND seq >= %s AND seq < %s"
                " ORDER BY seq LIMIT %s",
                [ledger_id, start, stop, ROWS_AT_ONCE],
            )
            found = cursor.fetchall()
            for _, leaf in found:
                yield stored.octets(leaf)
            if len(found) < ROWS_AT_ONCE:
                return
            start = found[-1][0] + 1


def _catch_up(chain: Chain, head: HeadRow) -> bool:
    """Fold the entries that `chain` lacks; tell whether it now equals the head."""
    if chain.size > head.size:
        return False
    try:
        for leaf in rows(chain.ledger_id, chain.size, head.size):
            is_recent = chain.size >= head.size - ROOTS_KEPT
            chain.add_stored(leaf, is_recent=is_recent)
    except LedgerRefusal:
        return False  # what is stored there was never accepted
    chain.at = head.at
    return _equals(chain, head)


def _equals(chain: Chain, head: HeadRow) -> bool:
    """Tell whether a chain is the one the head row stands for."""
    return (chain.size, chain.last_hash, chain.at, chain.frontier_text()) == (
        head.size,
        head.last_hash,
        head.at,
        head.frontier,
    )


def _head_row(ledger_id: int, *, lock: bool) -> HeadRow:
    for_update = " FOR UPDATE OF h" if lock and connection.vendor != "sqlite" else ""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT l.origin, h.size, h.last_hash, h.at, h.frontier"
            " FROM ledger_head h JOIN ledger_ledger l ON l.id = h.ledger_id"
            f" WHERE h.ledger_id = %s{for_update}",
            [ledger_id],
        )
        found = cursor.fetchone()
    if found is None:
        raise NoSuchLedger(f"There is no ledger number {ledger_id} here.")
    origin, size, last_hash, at, frontier = found
    if not (
        stored.is_number(size)
        and stored.is_octets(last_hash)
        and all(map(stored.is_text, (at, frontier)))
    ):
        raise LedgerDamaged(
            f"The head of {origin} does not hold what a head holds. Nothing more is "
            "recorded; run verify_ledger."
        )
    return HeadRow(origin, size, bytes(last_hash), at, frontier)


def _key(ledger_id: int) -> tuple[Any, ...]:
    """Name a ledger within this process: another database is another ledger."""
    settings = connection.settings_dict
    names = (settings[name] for name in ("HOST", "PORT", "NAME"))
    return (connection.vendor, *map(str, names), ledger_id)
