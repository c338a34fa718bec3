"""Acts at a face: check, sign first, sign second, take back; all by `commands`.

A key is opened for one signature and forgotten. In a demo ledger the demo's clock
counts, everywhere else the machine's.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest

from goldroom import commands
from goldroom.commands import Clock
from goldroom.errors import Refusal
from goldroom.faces import clock, logs
from goldroom.faces.backend import unlocked_key
from goldroom.faces.reader import Reader
from goldroom.faces.reading import NotForYou, check_entry
from goldroom.sayings import Saying
from goldroom.statements.registry import kind_named
from ledger import proposals
from ledger.errors import NoSuchProposal, ProposalLapsed
from ledger.proposal import Proposal


class NotYourPlace(Refusal):
    """Somebody would sign or take back a statement that does not name them."""

    code = "not_your_place"


@dataclass(frozen=True, kw_only=True)
class Opening:
    """What opens a person's key: passphrase, and a key file of their own or none."""

    person: str
    passphrase: str
    key_file: bytes = b""


def clock_of(ledger_id: int) -> Clock | None:
    """Return the clock that commands are to hear: a demo's, or None for their own."""

    def simulated() -> datetime:
        return clock.now(ledger_id)

    return simulated if clock.shift(ledger_id) else None


def check(reader: Reader, saying: Saying) -> dict[str, Any]:
    """Return the statement of a saying as it could be signed now; keep nothing."""
    return commands.check(reader.ledger_id, saying, clock=clock_of(reader.ledger_id))


def sign_first(
    request: HttpRequest, reader: Reader, saying: Saying, opening: Opening
) -> Proposal:
    """Sign a saying as its first signer; it waits, or is an entry if nobody else must.

    Raises refusals of the rules, and of the key.
    """
    if not saying.signers or saying.signers[0].person != opening.person:
        raise NotYourPlace(
            "The first signature is that of whoever wrote the statement. Sign in"
            " yourself to write one.",
            field="passphrase",
        )
    key = unlocked_key(
        request, reader.slug, opening.person, opening.passphrase, opening.key_file
    )
    heard = clock_of(reader.ledger_id)
    if kind_named(saying.kind).klass == "two":
        return commands.propose(reader.ledger_id, saying, key, clock=heard)
    done = commands.say(reader.ledger_id, saying, {opening.person: key}, clock=heard)
    logs.note_entry(request, done.seq)
    return proposals.get(reader.ledger_id, saying.entry_id)


def sign_next(
    request: HttpRequest, reader: Reader, entry_id: str, opening: Opening
) -> Proposal:
    """Sign a waiting statement as one of those it still wants."""
    waiting = waiting_or_entry(reader, entry_id)
    if waiting.appended is not None:
        return waiting
    if opening.person not in waiting.missing:
        raise NotYourPlace(
            f"The statement does not wait for {opening.person}. Choose one of those"
            " named on it.",
            field="person",
        )
    key = unlocked_key(
        request, reader.slug, opening.person, opening.passphrase, opening.key_file
    )
    heard = clock_of(reader.ledger_id)
    signed = commands.countersign(reader.ledger_id, entry_id, key, clock=heard)
    if signed.appended is not None:
        logs.note_entry(request, signed.appended.seq)
    return signed


def take_back(reader: Reader, entry_id: str, *, detail: str) -> int:
    """Take back a waiting statement, or refuse it; return the lapsed entry's number.

    Who wrote it withdraws it; who was to sign it next refuses it.
    """
    waiting = waiting_or_entry(reader, entry_id)
    people = [each["person"] for each in waiting.statement["signers"]]
    if reader.person not in people:
        raise NotYourPlace(
            "Only those named on a statement take it back or refuse it. Ask one of"
            " them.",
            field="detail",
        )
    appended = commands.withdraw(
        reader.ledger_id,
        entry_id,
        detail=detail,
        reason="withdrawn" if reader.person == people[0] else "refused",
        clock=clock_of(reader.ledger_id),
    )
    return appended.seq


def waiting_or_entry(reader: Reader, entry_id: str) -> Proposal:
    """Return the proposal of this id, waiting or an entry. Raises NoSuchProposal."""
    found = proposals.get(reader.ledger_id, entry_id)
    signers = [each["person"] for each in found.statement["signers"]]
    check_entry(reader, found.statement["kind"], entry_id, signers)
    return found


def is_known(reader: Reader, entry_id: str) -> bool:
    """Tell whether a statement of this id waits, is an entry, or has lapsed."""
    try:
        proposals.get(reader.ledger_id, entry_id)
    except NoSuchProposal:
        return False
    except ProposalLapsed:
        return True
    return True


def all_waiting(reader: Reader) -> list[Proposal]:
    """Return the statements that wait and that the reader may read, oldest first."""
    found = []
    for each in proposals.waiting(reader.ledger_id):
        signers = [signer["person"] for signer in each.statement["signers"]]
        try:
            check_entry(reader, each.statement["kind"], each.entry_id, signers)
        except NotForYou:
            continue
        found.append(each)
    return found
