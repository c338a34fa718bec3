"""The way out: ledgers, heads, entries and keyrings as they are recorded."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from ledger import chain, stored
from ledger.core import canonical, form
from ledger.core.base64text import to_base64
from ledger.core.entry import Entry as ParsedEntry
from ledger.core.entry import parse_leaf
from ledger.core.errors import LedgerRefusal
from ledger.core.keyring import Keyring
from ledger.errors import NoSuchEntry, NoSuchLedger
from ledger.models import Entry, Ledger, WorkProposal


@dataclass(frozen=True)
class HeadState:
    """Where a ledger stands; `at` is the clock text of its last entry."""

    size: int
    root: bytes
    last_hash: bytes
    at: str


@dataclass(frozen=True)
class Waiting:
    """A statement that waits for signatures since `since`, a clock text.

    It is no entry yet: what it says has not been accepted.
    """

    entry_id: str
    kind: str
    since: str


def ledgers() -> list[Ledger]:
    """Return the ledgers of this database, by slug."""
    return list(Ledger.objects.order_by("slug"))


def get_ledger(origin_or_slug: str) -> Ledger:
    """Return the ledger of this origin or slug."""
    for name in ("origin", "slug"):
        found = Ledger.objects.filter(**{name: origin_or_slug}).first()
        if found is not None:
            return found
    known = ", ".join(ledger.slug for ledger in ledgers()) or "none"
    raise NoSuchLedger(
        f"There is no ledger {origin_or_slug!r} here; there are: {known}.",
        field="ledger",
    )


def head(ledger_id: int) -> HeadState:
    """Return where the ledger stands now."""
    now = chain.current(ledger_id)
    return HeadState(now.size, now.root(), now.last_hash, now.at)


def root_at(ledger_id: int, size: int) -> bytes:
    """Return the root over the first `size` entries."""
    root = chain.current(ledger_id).root_at(size)
    if root is None:
        raise NoSuchEntry(f"The ledger has fewer than {size} entries.", field="entry")
    return root


def basis(ledger_id: int) -> dict[str, Any]:
    """Return the size and root that a signer sees now, as a statement says it."""
    now = chain.current(ledger_id)
    return {"root": to_base64(now.root()), "size": now.size}


def keyring(ledger_id: int) -> Keyring:
    """Return who may sign the next entry."""
    return chain.current(ledger_id).keyring


def entry(ledger_id: int, seq: int) -> ParsedEntry:
    """Return the entry at place `seq`."""
    return _entry(ledger_id, f"at place {seq}", seq=seq)


def entry_by_id(ledger_id: int, entry_id: str) -> ParsedEntry:
    """Return the entry of this id."""
    try:
        form.entry_id(entry_id)
    except LedgerRefusal as error:
        raise NoSuchEntry(
            f"No entry has the id {entry_id[:60]!a}, which is no UUID.", field="entry"
        ) from error
    return _entry(ledger_id, f"of id {entry_id}", entry_id=entry_id)


def entries(
    ledger_id: int, start: int = 0, stop: int | None = None
) -> Iterator[ParsedEntry]:
    """Yield the entries from `start` up to, not including, `stop` (the end)."""
    end = chain.current(ledger_id).size
    for leaf in chain.rows(ledger_id, start, end if stop is None else min(stop, end)):
        yield parse_leaf(leaf)


def leaves(ledger_id: int, seqs: Iterable[int]) -> list[bytes]:
    """Return the leaves of the entries at these places, in their order, one query.

    Places without an entry are left out; some hundreds may be asked for at once.
    """
    found = Entry.objects.filter(ledger_id=ledger_id, seq__in=list(seqs))
    return [
        stored.octets(leaf)
        for leaf in found.order_by("seq").values_list("leaf", flat=True)
    ]


def leaf_hashes(ledger_id: int, size: int) -> list[bytes]:
    """Return the leaf hashes of the first `size` entries, in their order."""
    found = Entry.objects.filter(ledger_id=ledger_id, seq__lt=size)
    return [
        stored.octets(digest)
        for digest in found.order_by("seq").values_list("leaf_hash", flat=True)
    ]


def waiting(ledger_id: int) -> list[Waiting]:
    """Return the statements that wait for signatures, the oldest first."""
    found = WorkProposal.objects.filter(ledger_id=ledger_id).order_by("id")
    return [
        Waiting(
            entry_id=row.entry_id,
            kind=str(canonical.decode(bytes(row.statement))["kind"]),
            since=row.created_at,
        )
        for row in found
    ]


def _entry(ledger_id: int, which: str, **where: Any) -> ParsedEntry:
    row = Entry.objects.filter(ledger_id=ledger_id, **where).only("leaf").first()
    if row is None:
        raise NoSuchEntry(f"The ledger has no entry {which}.", field="entry")
    return parse_leaf(bytes(row.leaf))
