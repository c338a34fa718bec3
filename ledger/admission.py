"""What a signed statement must pass before it becomes an entry.

`candidate` does before the lock what needs no lock. Under the lock of the head row
`known_entry` looks whether the statement is an entry already, `check_rules` applies
the record's own rules at its place, and `burn_nonces` uses up what it was signed
with. Rules about metal are not here; the caller brings them.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import connection

from ledger import nonces
from ledger.chain import Chain
from ledger.core import form
from ledger.core.base64text import from_base64
from ledger.core.canonical import render
from ledger.core.entry import (
    LAPSED_KIND,
    Entry,
    Signed,
    check_form,
    nonces_of,
    parse_leaf,
)
from ledger.core.keyring import Keyring
from ledger.errors import (
    CorrectsUnknown,
    EntryIdUsed,
    ProposalLapsed,
    ProposalRefused,
    WrongOrigin,
)


@dataclass(frozen=True)
class Candidate:
    """A signed statement whose envelope is in order.

    `ring` is the keyring under which its signatures were found in order before the
    lock, or None. Under the lock that still holds if nothing was enrolled, revoked
    or ruled since.
    """

    signed: Signed
    octets: bytes
    ring: Keyring | None


def candidate(signed: Signed, before: Chain) -> Candidate:
    """Check what needs no lock: the envelope, and the signatures as of `before`."""
    check_form(signed.statement)
    seq, ring = before.size, before.keyring
    problems = ring.check_signers(signed.statement, signed.signatures, seq)
    return Candidate(signed, render(signed.statement), None if problems else ring)


def lapsed_entry_id(entry_id: str) -> str:
    """Return the entry id of the lapse of a proposal: one for each, fixed."""
    return str(uuid.uuid5(uuid.UUID(form.entry_id(entry_id)), LAPSED_KIND))


def known_entry(working: Chain, item: Candidate) -> Entry | None:
    """Return the entry that this statement already is, if it is one."""
    statement = item.signed.statement
    entry_id, other_id = statement["entry_id"], _other_id(statement)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT entry_id, leaf FROM ledger_entry"
            " WHERE ledger_id = %s AND entry_id IN (%s, %s)",
            [working.ledger_id, entry_id, other_id],
        )
        found = {name: bytes(leaf) for name, leaf in cursor.fetchall()}
    if not found:
        return None
    if entry_id in found:
        entry = parse_leaf(found[entry_id])
        if render(entry.statement) != item.octets:
            if statement["kind"] == LAPSED_KIND:
                raise ProposalLapsed(
                    f"The proposal {other_id} has lapsed already, entry {entry.seq}.",
                    field="data.statement",
                )
            raise EntryIdUsed(
                f"The entry id {entry_id} stands for another statement, entry "
                f"{entry.seq}. A new statement needs a new id.",
                field="entry_id",
            )
        return entry
    if statement["kind"] == LAPSED_KIND:
        raise EntryIdUsed(
            f"The proposal {other_id} got its signatures; it can lapse no more.",
            field="data.statement",
        )
    raise ProposalLapsed(
        f"The statement {entry_id} was proposed and has lapsed. Write it anew, with a "
        "new id.",
        field="entry_id",
    )


def _other_id(statement: dict[str, Any]) -> str:
    """Return the id that excludes this statement's: its lapse, or what lapsed."""
    if statement["kind"] != LAPSED_KIND:
        return lapsed_entry_id(str(statement["entry_id"]))
    data = statement["data"]
    quoted = data.get("statement") if isinstance(data, dict) else None
    return str(quoted.get("entry_id")) if isinstance(quoted, dict) else ""


def check_rules(working: Chain, item: Candidate) -> None:
    """Refuse what the record's own rules refuse at this place."""
    statement, seq, ring = item.signed.statement, working.size, working.keyring
    if statement["origin"] != working.origin:
        raise WrongOrigin(
            f"The statement was made for {statement['origin']}, not for "
            f"{working.origin}. Write and sign it for this ledger.",
            field="origin",
        )
    problems = []
    if item.ring is None or not _same_rules(item.ring, ring):
        problems = ring.check_signers(statement, item.signed.signatures, seq)
    problems += ring.check_basis(statement, seq, working.root_at)
    for problem in problems:
        raise problem.refusal()
    ring.check_change(statement, seq)
    _check_lapse(statement)
    _check_corrects(working.ledger_id, statement)


def _same_rules(before: Keyring, now: Keyring) -> bool:
    """Tell whether nothing that bears on signatures changed between two keyrings.

    Keys hold from an entry on until they are ended, so what was in order for the
    next entry then is in order for any later one under the very same register.
    """
    return now.size >= before.size > 0 and all(
        getattr(before, name) is getattr(now, name)
        for name in ("opening", "persons", "keys", "policy", "classes")
    )


def _check_lapse(statement: dict[str, Any]) -> None:
    if statement["kind"] != LAPSED_KIND:
        return
    wanted = lapsed_entry_id(_other_id(statement))
    if statement["entry_id"] != wanted:
        raise ProposalRefused(
            f"The lapse of {_other_id(statement)} has the id {wanted} and no other; "
            f"found {statement['entry_id']}.",
            field="entry_id",
        )


def _check_corrects(ledger_id: int, statement: dict[str, Any]) -> None:
    cited = statement["corrects"]
    if not isinstance(cited, dict):
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT leaf_hash FROM ledger_entry WHERE ledger_id = %s AND entry_id = %s",
            [ledger_id, cited["entry"]],
        )
        found = cursor.fetchone()
    if found is None or bytes(found[0]) != from_base64(cited["leaf"]):
        raise CorrectsUnknown(
            f"The statement corrects {cited['entry']}, but no entry of this id and "
            "leaf hash is here. Open the entry again and correct that one.",
            field="corrects",
        )


def burn_nonces(working: Chain, signed: Signed, now: datetime) -> None:
    """Use up the nonces of the signatures, also of those that a lapse quotes.

    The first entry has none: there was no ledger yet that could hand them out.
    """
    if working.size == 0:
        return
    statement, given = signed.statement, nonces_of(signed)
    is_lapse = statement["kind"] == LAPSED_KIND
    holder = _other_id(statement) if is_lapse else statement["entry_id"]
    nonces.burn(working.ledger_id, given, entry_id=holder, now=now)
