"""The one way into a ledger.

`append` takes a signed statement and makes it an entry, in one durable transaction
that holds the lock on the ledger's head row:

    before the lock   the envelope and the signatures' mathematics
    under the lock    is it there already; origin, signers, basis, nonces;
                      the caller's `check`; attachments; the entry; the caller's
                      `project`; the head

What the caller's functions raise undoes everything. A statement that is already an
entry, byte for byte, is answered with that entry (`replayed`), so that a double
click and a repeated request do no harm. The clock never makes a refusal: if it has
gone back, the last entry's time is kept and the entry says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, connection, transaction

from ledger import admission, attachments, chain
from ledger.chain import Chain
from ledger.clock import clock_text
from ledger.core.entry import Entry, Signed, assemble, parse_leaf
from ledger.core.keyring import Keyring
from ledger.errors import LedgerDamaged, LedgerExists
from ledger.models import Head, Ledger


@dataclass(frozen=True)
class AppendContext:
    """What a check or projection may know: the place the entry takes."""

    ledger_id: int
    seq: int
    at: str
    keyring: Keyring
    statement: dict[str, Any]


@dataclass(frozen=True)
class Appended:
    """An entry in its place, and the root over all up to it.

    `replayed` says that it was there already. `receipt` and `mirror` are for the
    signing slip and the second copy, which belong to the acknowledgement.
    """

    entry: Entry
    seq: int
    leaf_hash: bytes
    root: bytes
    replayed: bool
    receipt: None = None
    mirror: None = None


Check = Callable[[AppendContext], None]
Project = Callable[[AppendContext, Entry], None]


@dataclass(frozen=True)
class Callbacks:
    """The caller's rules and derived tables, and the moment of appending."""

    check: Check
    project: Project
    now: datetime


def append(
    ledger_id: int, signed: Signed, *, now: datetime, check: Check, project: Project
) -> Appended:
    """Append one signed statement; see the module for the order of things."""
    return append_many(ledger_id, [signed], now=now, check=check, project=project)[0]


def append_many(
    ledger_id: int,
    statements: Iterable[Signed],
    *,
    now: datetime,
    check: Check,
    project: Project,
) -> list[Appended]:
    """Append several statements in their order: all of them or none."""
    before = chain.current(ledger_id)
    candidates = [admission.candidate(signed, before) for signed in statements]
    callbacks = Callbacks(check, project, now)
    with transaction.atomic(durable=True):
        working = chain.current(ledger_id, lock=True).copy()
        results = _append_all(working, candidates, callbacks)
    chain.publish(working)
    return results


def open_ledger(
    signed: Signed, *, now: datetime, check: Check, project: Project
) -> Appended:
    """Begin the ledger that a signed `ledger.opened` describes.

    Its entry 0 comes into being with it. The same statement again is a replay.
    """
    origin = str(signed.statement["origin"])
    empty = Chain.empty(0, origin)
    candidates = [admission.candidate(signed, empty)]
    callbacks = Callbacks(check, project, now)
    known = Ledger.objects.filter(origin=origin).first()
    if known is not None:
        return append(known.id, signed, now=now, check=check, project=project)
    try:
        with transaction.atomic(durable=True):
            row = Ledger.objects.create(origin=origin, slug=_free_slug(origin))
            Head.objects.create(ledger=row, size=0, last_hash=b"", frontier="", at="")
            working = chain.current(row.id, lock=True).copy()
            results = _append_all(working, candidates, callbacks)
    except IntegrityError as error:
        if Ledger.objects.filter(origin=origin).exists():
            raise LedgerExists(
                f"The ledger {origin} was opened by another request just now. Send "
                "the statement again to see its entry."
            ) from error
        raise
    chain.publish(working)
    return results[0]


def slugs(origin: str) -> tuple[str, str]:
    """Return the short name of a ledger, and the longer one if that is taken.

    The site's part of the origin; then with the first 8 digits of its random part.
    """
    *site, random_part = origin.split("/")
    return site[-1], f"{site[-1]}-{random_part[:8]}"


def _free_slug(origin: str) -> str:
    short, longer = slugs(origin)
    taken = Ledger.objects.filter(slug=short).exists()
    return longer if taken else short


def _append_all(
    working: Chain, candidates: list[admission.Candidate], callbacks: Callbacks
) -> list[Appended]:
    size_before = working.size
    results = [_append_one(working, item, callbacks) for item in candidates]
    if working.size > size_before:
        _store_head(working, size_before)
    return results


def _append_one(
    working: Chain, item: admission.Candidate, callbacks: Callbacks
) -> Appended:
    known = admission.known_entry(working, item)
    if known is not None:
        root = working.root_at(known.seq + 1)
        assert root is not None
        return Appended(known, known.seq, known.leaf_hash, root, replayed=True)
    statement = item.signed.statement
    admission.check_rules(working, item)
    admission.burn_nonces(working, item.signed, callbacks.now)
    now = clock_text(callbacks.now)
    at = max(now, working.at)
    context = AppendContext(
        working.ledger_id, working.size, at, working.keyring, statement
    )
    callbacks.check(context)
    attachments.take_in(working.ledger_id, statement["attachments"])
    leaf = assemble(
        item.signed,
        seq=working.size,
        previous=working.last_hash,
        at=at,
        clock_held=now < at,
    )
    entry = parse_leaf(leaf)
    working.add(entry)
    _store_entry(working.ledger_id, entry)
    callbacks.project(context, entry)
    return Appended(entry, entry.seq, entry.leaf_hash, working.root(), replayed=False)


def _store_entry(ledger_id: int, entry: Entry) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
            " VALUES (%s, %s, %s, %s, %s)",
            [ledger_id, entry.seq, entry.entry_id, entry.leaf, entry.leaf_hash],
        )


def _store_head(working: Chain, size_before: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE ledger_head SET size = %s, last_hash = %s, frontier = %s, at = %s"
            " WHERE ledger_id = %s AND size = %s",
            [
                working.size,
                working.last_hash,
                working.frontier_text(),
                working.at,
                working.ledger_id,
                size_before,
            ],
        )
        if cursor.rowcount != 1:
            raise LedgerDamaged(
                f"The head of {working.origin} moved while it was locked; run "
                "verify_ledger."
            )
