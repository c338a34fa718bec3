"""The front door: everything that enters the record comes through here.

`propose` makes the statement, asks the rules and keeps it with the first signature;
`countersign` asks the rules again, under the lock, and appends. `say` does both at
once for people who stand in the same room with their keys unlocked; `say_many`
takes a file of sayings whole or not at all. Only this module reads a clock; a
simulated one is heard in demo ledgers alone.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from goldroom.errors import Refusal, SubjectChanged
from goldroom.keys import Keys
from goldroom.projection import Folding
from goldroom.rehearsal import Rehearsal
from goldroom.sayings import Saying, Signer
from goldroom.writing import (
    already_proposed,
    already_said,
    check_simulated,
    moment_of,
    standpoint,
    statement_of,
    unlocked,
)
from ledger import append, nonces, proposals, read
from ledger.append import AppendContext, Appended
from ledger.core.entry import Entry, Signature, Signed, check_form, sign
from ledger.core.signing import SigningKey, new_nonce
from ledger.proposal import Lapse, Proposal

Clock = Callable[[], datetime]
Progress = Callable[[int, int], None]


@dataclass(frozen=True, kw_only=True)
class Refused:
    """A saying of a file that cannot be accepted: its place and the refusal."""

    n: int
    code: str
    field: str
    message: str


class FileRefused(Refusal):
    """A file holds sayings that cannot be accepted; nothing of it was taken."""

    code = "file_refused"

    def __init__(self, refused: Sequence[Refused]) -> None:
        """Keep every refusal, for a report by line."""
        super().__init__(
            f"{len(refused)} statements of the file cannot be accepted; nothing of it"
            " was taken. Mend them and send the file again."
        )
        self.refused = tuple(refused)


class NotAsPrepared(Refusal):
    """A statement signed elsewhere is not what its saying comes to here."""

    code = "not_as_prepared"


def now_of(
    ledger_id: int | None, clock: Clock | None, received_at: str = ""
) -> datetime:
    """Return the moment of receipt: the machine's clock, or a demo ledger's."""
    if clock is None and not received_at:
        return datetime.now(UTC)
    opening = read.keyring(ledger_id).opening if ledger_id is not None else None
    if opening is not None:
        check_simulated(opening.demo)
    if received_at:
        return moment_of(received_at, "received_at").astimezone(UTC)
    assert clock is not None
    return clock().astimezone(UTC)


def open_ledger(saying: Saying, keys: Keys, *, clock: Clock | None = None) -> Appended:
    """Open a ledger: every first key and the log key must be in `keys`.

    The saying's data hold `origin_name`, site, demo flag, production-day start,
    time zone and persons; keys, policy and classes are filled in.
    """
    statement = statement_of(standpoint(None), saying, keys)
    if clock is not None or saying.received_at:
        check_simulated(statement["data"]["demo"] is True)
    now = now_of(None, clock, saying.received_at)
    signed = _signed(statement, keys, new_nonce)
    folding = Folding(0)

    def check(context: AppendContext) -> None:
        folding.ledger_id = context.ledger_id
        folding.check(statement, _received(context))

    return append.open_ledger(
        signed, now=now, check=check, project=lambda _, entry: folding.project(entry)
    )


def propose(
    ledger_id: int, saying: Saying, key: SigningKey, *, clock: Clock | None = None
) -> Proposal:
    """Check a saying, sign it first with `key`, and let it wait for the others.

    A saying that waits already, or is an entry by now, is answered with that; the
    same id with other values is refused. Proposals whose time is over lapse first.
    """
    now = now_of(ledger_id, clock, saying.received_at)
    _expire(ledger_id, now)
    known = already_proposed(ledger_id, saying)
    if known is not None:
        return known
    statement = statement_of(standpoint(ledger_id), saying, {})
    Folding(ledger_id).check(statement, now)
    signature = sign(statement, key, nonce=nonces.issue(ledger_id, now))
    return proposals.propose(ledger_id, statement, signature, now=now)


def check(
    ledger_id: int, saying: Saying, *, clock: Clock | None = None
) -> dict[str, Any]:
    """Return the statement of a saying as it could be signed now; nothing is kept.

    Raises what `propose` would raise, but for what only a signature can show.
    """
    now = now_of(ledger_id, clock, saying.received_at)
    statement = statement_of(standpoint(ledger_id), saying, {})
    Folding(ledger_id).check(statement, now)
    return statement


def countersign(
    ledger_id: int, entry_id: str, key: SigningKey, *, clock: Clock | None = None
) -> Proposal:
    """Add the next signature; the last one makes the entry (`.appended`).

    Raises SubjectChanged when what the statement speaks of has changed since the
    first signature.
    """
    now = now_of(ledger_id, clock)
    statement = proposals.get(ledger_id, entry_id).statement
    signature = sign(statement, key, nonce=nonces.issue(ledger_id, now))
    return _countersigned(ledger_id, statement, signature, now)


def fresh_nonce(ledger_id: int, *, clock: Clock | None = None) -> str:
    """Return a nonce for one signature that is made where its key is."""
    return nonces.issue(ledger_id, now_of(ledger_id, clock))


def take_signed(
    ledger_id: int,
    statement: dict[str, Any],
    signature: Signature,
    *,
    clock: Clock | None = None,
) -> Proposal:
    """Take in a prepared statement with its first signature, made elsewhere.

    It waits, or is an entry if nobody else must sign. Raises what `propose` does, and
    NotAsPrepared for a statement that its own saying does not come to.
    """
    check_form(statement)
    now = now_of(ledger_id, clock)
    _expire(ledger_id, now)
    saying = _saying_in(statement)
    known = already_proposed(ledger_id, saying)
    if known is not None:
        return known
    here = statement_of(standpoint(ledger_id), saying, {})
    if {**here, "basis": statement["basis"]} != statement:
        raise NotAsPrepared(
            "statement: it is not what was prepared here. Ask for a preparation again,"
            " and sign the bytes that it gives.",
            field="statement",
        )
    folding = Folding(ledger_id)
    if statement["class"] == "two":
        folding.check(statement, now)
        return proposals.propose(ledger_id, statement, signature, now=now)
    append.append(
        ledger_id,
        Signed(statement, (signature,)),
        now=now,
        check=lambda context: folding.check(statement, _received(context)),
        project=lambda _, entry: folding.project(entry),
    )
    return proposals.get(ledger_id, saying.entry_id)


def add_signed(
    ledger_id: int,
    entry_id: str,
    signature: Signature,
    *,
    clock: Clock | None = None,
) -> Proposal:
    """Add a signature made elsewhere, as `countersign` adds one made here."""
    statement = proposals.get(ledger_id, entry_id).statement
    return _countersigned(ledger_id, statement, signature, now_of(ledger_id, clock))


def say(
    ledger_id: int, saying: Saying, keys: Keys, *, clock: Clock | None = None
) -> Appended:
    """Sign a saying with all its signers' keys and append it.

    A saying that is an entry already is answered with that entry; the same id with
    other values is refused.
    """
    found = already_said(ledger_id, saying)
    if found is not None:
        return _replayed(ledger_id, found)
    if saying.withdrawn:
        return _propose_and_withdraw(ledger_id, saying, keys, clock)
    now = now_of(ledger_id, clock, saying.received_at)
    statement = statement_of(standpoint(ledger_id), saying, keys)
    fresh = iter(nonces.issue_many(ledger_id, len(saying.signers), now))
    signed = _signed(statement, keys, lambda: next(fresh))
    folding = Folding(ledger_id)
    return append.append(
        ledger_id,
        signed,
        now=now,
        check=lambda context: folding.check(statement, _received(context)),
        project=lambda _, entry: folding.project(entry),
    )


def say_many(
    ledger_id: int | None,
    sayings: Sequence[Saying],
    keys: Keys,
    *,
    progress: Progress | None = None,
) -> tuple[int, list[Appended]]:
    """Take a file of sayings whole or not at all; return the ledger and entries.

    All are checked and folded in memory before the first is appended, so a wrong
    one stops the file (FileRefused lists every one). What a crash cut short, the
    same file finishes: each saying has its own id and is taken once. Without a
    ledger the first saying must open one.
    """
    rehearse(ledger_id, sayings, keys)
    done: list[Appended] = []
    for n, saying in enumerate(sayings):
        if ledger_id is None:
            done.append(open_ledger(saying, keys))
            ledger_id = ledger_of(done[-1].entry)
        else:
            done.append(say(ledger_id, saying, keys))
        if progress is not None:
            progress(n + 1, len(sayings))
    assert ledger_id is not None
    return ledger_id, done


def rehearse(ledger_id: int | None, sayings: Iterable[Saying], keys: Keys) -> None:
    """Check sayings one after another in memory. Raises FileRefused with them all.

    A saying that is refused is left out for those after it, so that one wrong line
    does not hide the next; what follows from it may be refused too.
    """
    rehearsal = Rehearsal(ledger_id, keys)
    refused = [
        Refused(n=n, code=error.code, field=error.field, message=error.message)
        for n, saying in enumerate(sayings)
        if (error := rehearsal.refusal_of(saying)) is not None
    ]
    if refused:
        raise FileRefused(refused)


def ledger_of(entry: Entry) -> int:
    """Return the ledger id of an entry's origin."""
    return int(read.get_ledger(entry.statement["origin"]).pk)


def withdraw(
    ledger_id: int,
    entry_id: str,
    *,
    detail: str,
    reason: str = "withdrawn",
    clock: Clock | None = None,
) -> Appended:
    """Take back a proposal: with its first signature it becomes a lapsed entry.

    `reason` is withdrawn (by who wrote it) or refused (by who was to sign it).
    """
    now = now_of(ledger_id, clock)
    folding = Folding(ledger_id)
    return proposals.refuse(
        ledger_id,
        entry_id,
        Lapse(reason=reason, detail=detail),
        now=now,
        check=lambda context: None,
        project=lambda _, entry: folding.project(entry),
    )


def _countersigned(
    ledger_id: int, statement: dict[str, Any], signature: Signature, now: datetime
) -> Proposal:
    folding = Folding(ledger_id)

    def check(context: AppendContext) -> None:
        try:
            folding.check(statement, _received(context))
        except Refusal as refusal:
            raise SubjectChanged(
                "Since the first signature things have changed:"
                f" {refusal.message} Look again and write a new statement.",
                field=refusal.field,
            ) from refusal

    return proposals.add_signature(
        ledger_id,
        str(statement["entry_id"]),
        signature,
        now=now,
        check=check,
        project=lambda _, entry: folding.project(entry),
    )


def _saying_in(statement: dict[str, Any]) -> Saying:
    return Saying(
        kind=statement["kind"],
        data=statement["data"],
        occurred_at=statement["occurred_at"],
        signers=tuple(
            Signer(person=each["person"], role=each["role"])
            for each in statement["signers"]
        ),
        entry_id=statement["entry_id"],
        corrects=(statement["corrects"] or {}).get("entry", ""),
        attachments=tuple(statement["attachments"]),
    )


def _expire(ledger_id: int, now: datetime) -> None:
    """Let every proposal lapse, as an entry, that nobody signed in time."""
    proposals.expire(
        ledger_id,
        now=now,
        check=lambda context: None,
        project=lambda _, entry: Folding(ledger_id).project(entry),
    )


def _propose_and_withdraw(
    ledger_id: int, saying: Saying, keys: Keys, clock: Clock | None
) -> Appended:
    """Sign a saying first and take it back, as the people did."""
    now = now_of(ledger_id, clock, saying.received_at)
    given = None if clock is None and not saying.received_at else lambda: now
    first = unlocked(keys, saying.signers[0].person)
    waiting = propose(ledger_id, saying, first, clock=given)
    return withdraw(ledger_id, waiting.entry_id, detail=saying.withdrawn, clock=given)


def _signed(
    statement: dict[str, Any], keys: Keys, next_nonce: Callable[[], str]
) -> Signed:
    signatures = tuple(
        sign(statement, unlocked(keys, each["person"]), nonce=next_nonce())
        for each in statement["signers"]
    )
    return Signed(statement, signatures)


def _received(context: AppendContext) -> datetime:
    return datetime.fromisoformat(context.at)


def _replayed(ledger_id: int, entry: Entry) -> Appended:
    root = read.root_at(ledger_id, entry.seq + 1)
    return Appended(entry, entry.seq, entry.leaf_hash, root, replayed=True)
