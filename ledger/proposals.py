"""Statements that wait for signatures.

The first signer proposes; the others sign; the last signature makes the entry. A
proposal that is refused, withdrawn or left to expire does not vanish: it becomes a
`record.lapsed` entry with the whole statement and the signatures given so far.

A proposal is named by its statement's entry id, made by the client before the first
request. Whatever arrives twice is answered once: the same statement is the same
proposal, and after the last signature it is the entry. The last signature is never
stored before it is accepted under the lock, so a refusal leaves things as they were.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from ledger import chain, nonces, read
from ledger.admission import lapsed_entry_id
from ledger.append import AppendContext, Appended, Check, Project, append
from ledger.clock import clock_text
from ledger.core.entry import (
    Signature,
    Signed,
    check_form,
    parse_leaf,
    statement_bytes,
)
from ledger.errors import (
    EntryIdUsed,
    NoSuchProposal,
    ProposalExpired,
    ProposalLapsed,
    ProposalRefused,
)
from ledger.models import Entry, WorkProposal
from ledger.proposal import (
    Lapse,
    Proposal,
    check_first,
    lapse_statement,
    proposal_of_entry,
    proposal_of_row,
    signature_bytes,
)

LIFETIME = timedelta(hours=12)


def propose(
    ledger_id: int,
    statement: dict[str, Any],
    signature: Signature,
    *,
    now: datetime,
    lifetime: timedelta = LIFETIME,
) -> Proposal:
    """Take in a statement with its first signature, or return what it already is."""
    check_form(statement)
    entry_id, octets = statement["entry_id"], statement_bytes(statement)
    known = _known(ledger_id, entry_id)
    if known is None:
        check_first(ledger_id, statement, signature, now=now)
        with transaction.atomic(durable=True):
            chain.current(ledger_id, lock=True)  # nothing is settled meanwhile
            known = _known(ledger_id, entry_id)
            if known is None:
                row = WorkProposal.objects.create(
                    ledger_id=ledger_id,
                    entry_id=entry_id,
                    statement=octets,
                    signatures=signature_bytes([signature]),
                    created_at=clock_text(now),
                    expires_at=clock_text(now + lifetime),
                )
                nonces.hold(ledger_id, signature.nonce, entry_id=entry_id, now=now)
                known = proposal_of_row(row)
    if statement_bytes(known.statement) != octets:
        raise EntryIdUsed(
            f"The id {entry_id} stands for another statement. A new statement needs "
            "a new id.",
            field="entry_id",
        )
    return known


def add_signature(
    ledger_id: int,
    entry_id: str,
    signature: Signature,
    *,
    now: datetime,
    check: Check,
    project: Project,
) -> Proposal:
    """Add a signature; the last one makes the entry (see `Proposal.appended`)."""
    ring = chain.current(ledger_id).keyring
    with transaction.atomic(durable=True):
        row = (
            WorkProposal.objects.select_for_update()
            .filter(ledger_id=ledger_id, entry_id=entry_id)
            .first()
        )
        if row is None:
            return get(ledger_id, entry_id)
        proposal = proposal_of_row(row)
        if any(given.key == signature.key for given in proposal.signatures):
            return proposal
        _check_in_time(proposal, now)
        for problem in ring.check_signature(proposal.statement, signature, ring.size):
            raise problem.refusal()
        signed = proposal.with_signature(signature)
        if len(proposal.missing) > 1:
            nonces.hold(ledger_id, signature.nonce, entry_id=entry_id, now=now)
            row.signatures = signature_bytes(signed.signatures)
            row.save(update_fields=["signatures"])
            return proposal_of_row(row)
    settled = _settling(check)
    appended = append(ledger_id, signed, now=now, check=settled, project=project)
    return proposal_of_entry(ledger_id, appended)


def refuse(
    ledger_id: int,
    entry_id: str,
    why: Lapse,
    *,
    now: datetime,
    check: Check,
    project: Project,
) -> Appended:
    """Let a proposal lapse: record that it was refused, withdrawn or has expired."""
    proposal = get(ledger_id, entry_id)
    if proposal.appended is not None:
        raise ProposalRefused(
            f"The statement {entry_id} is entry {proposal.appended.seq}; it can only "
            "be corrected now.",
            field="entry_id",
        )
    statement = lapse_statement(
        proposal.statement,
        proposal.signatures,
        why=why,
        basis=read.basis(ledger_id),
        now=now,
    )
    return append(
        ledger_id,
        Signed(statement, ()),
        now=now,
        check=_settling(check, proposal),
        project=project,
    )


def expire(
    ledger_id: int, *, now: datetime, check: Check, project: Project
) -> list[Appended]:
    """Let every proposal lapse whose time is over; forget expired nonces.

    One that was signed, refused or withdrawn meanwhile is left as it is.
    """
    late = WorkProposal.objects.filter(
        ledger_id=ledger_id, expires_at__lt=clock_text(now)
    )
    lapsed = []
    for entry_id, until in late.order_by("id").values_list("entry_id", "expires_at"):
        why = Lapse("expired", f"still not signed by all at {until}")
        with suppress(NoSuchProposal, ProposalLapsed, ProposalRefused):
            lapsed.append(
                refuse(ledger_id, entry_id, why, now=now, check=check, project=project)
            )
    nonces.sweep(ledger_id, now)
    return lapsed


def get(ledger_id: int, entry_id: str) -> Proposal:
    """Return the proposal of this id, also one that has become an entry."""
    known = _known(ledger_id, entry_id)
    if known is None:
        raise NoSuchProposal(
            f"No proposal {entry_id} waits for a signature here.", field="entry_id"
        )
    return known


def waiting(ledger_id: int) -> list[Proposal]:
    """Return all proposals that wait, oldest first."""
    rows = WorkProposal.objects.filter(ledger_id=ledger_id).order_by("id")
    return [proposal_of_row(row) for row in rows]


def _known(ledger_id: int, entry_id: str) -> Proposal | None:
    names = (entry_id, lapsed_entry_id(entry_id))
    row = WorkProposal.objects.filter(ledger_id=ledger_id, entry_id=entry_id).first()
    if row is not None:
        return proposal_of_row(row)
    stored = Entry.objects.filter(ledger_id=ledger_id, entry_id__in=names).first()
    if stored is None:
        return None
    if stored.entry_id != entry_id:
        raise ProposalLapsed(
            f"The proposal {entry_id} has lapsed, see entry {stored.seq}. Write the "
            "statement anew, with a new id.",
            field="entry_id",
        )
    entry = parse_leaf(bytes(stored.leaf))
    root = chain.current(ledger_id).root_at(entry.seq + 1)
    assert root is not None
    return proposal_of_entry(
        ledger_id, Appended(entry, entry.seq, entry.leaf_hash, root, replayed=True)
    )


def _check_in_time(proposal: Proposal, now: datetime) -> None:
    if proposal.expires_at < clock_text(now):
        raise ProposalExpired(
            f"The proposal {proposal.entry_id} expired at {proposal.expires_at}. Write "
            "the statement anew.",
            field="entry_id",
        )


def _settling(check: Check, quoted: Proposal | None = None) -> Check:
    """Return `check` preceded by taking the proposal away, under the lock.

    Whoever finds it gone came second: it was signed, refused or expired meanwhile. A
    lapse also comes second if it does not quote every signature given by now.
    """

    def check_and_settle(context: AppendContext) -> None:
        name = quoted.entry_id if quoted else context.statement["entry_id"]
        waiting = WorkProposal.objects.filter(
            ledger_id=context.ledger_id, entry_id=name
        )
        if quoted:
            given = signature_bytes(quoted.signatures)
            waiting = waiting.filter(signatures=given)
        settled, _ = waiting.delete()
        if not settled:
            raise NoSuchProposal(
                f"The proposal {name} does not wait any more as it did. Look at it "
                "again.",
                field="entry_id",
            )
        check(context)

    return check_and_settle
