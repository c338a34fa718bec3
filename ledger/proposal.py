"""What a proposal is: a statement, the signatures it has and those it still wants.

Also what must be true of it before anybody waits for it, and the statement by which
it lapses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from ledger import chain
from ledger.admission import lapsed_entry_id
from ledger.append import Appended
from ledger.core import canonical
from ledger.core.entry import LAPSED_KIND, Signature, Signed, build_statement
from ledger.errors import ProposalRefused, WrongOrigin
from ledger.models import WorkProposal


@dataclass(frozen=True)
class Lapse:
    """Why a proposal comes to nothing.

    `reason` is refused, withdrawn or expired; `detail` says why, in the words of
    whoever decided it.
    """

    reason: str = "refused"
    detail: str = ""


@dataclass(frozen=True)
class Proposal:
    """A statement and who has signed it. `appended` is set once it is an entry."""

    ledger_id: int
    statement: dict[str, Any]
    signatures: tuple[Signature, ...]
    created_at: str
    expires_at: str
    appended: Appended | None = None

    @property
    def entry_id(self) -> str:
        """The id of the proposal, and of the entry it may become."""
        return str(self.statement["entry_id"])

    @property
    def signed(self) -> tuple[str, ...]:
        """The persons who have signed, in the statement's order."""
        return self._persons(have_signed=True)

    @property
    def missing(self) -> tuple[str, ...]:
        """The persons whose signatures are still wanted."""
        return self._persons(have_signed=False)

    def _persons(self, *, have_signed: bool) -> tuple[str, ...]:
        keys = {signature.key for signature in self.signatures}
        return tuple(
            signer["person"]
            for signer in self.statement["signers"]
            if (signer["key"] in keys) is have_signed
        )

    def with_signature(self, signature: Signature) -> Signed:
        """Return the statement with one more signature, in the signers' order."""
        by_key = {item.key: item for item in (*self.signatures, signature)}
        named = [signer["key"] for signer in self.statement["signers"]]
        return Signed(
            self.statement, tuple(by_key[key] for key in named if key in by_key)
        )


def proposal_of_row(row: WorkProposal) -> Proposal:
    """Return the proposal that a row of the work area holds."""
    given = canonical.decode(bytes(row.signatures))
    return Proposal(
        row.ledger_id,
        canonical.decode(bytes(row.statement)),
        tuple(Signature.from_json(item) for item in given),
        row.created_at,
        row.expires_at,
    )


def proposal_of_entry(ledger_id: int, appended: Appended) -> Proposal:
    """Return what a proposal looks like once it is an entry."""
    entry = appended.entry
    return Proposal(
        ledger_id, entry.statement, entry.signatures, entry.at, entry.at, appended
    )


def signature_bytes(signatures: Sequence[Signature]) -> bytes:
    """Return signatures as the work area keeps them."""
    return canonical.encode([item.to_json() for item in signatures])


def check_first(
    ledger_id: int, statement: dict[str, Any], signature: Signature, *, now: datetime
) -> None:
    """Refuse early what could never become an entry as things stand."""
    state = chain.current(ledger_id)
    ring = state.keyring
    if statement["origin"] != state.origin:
        raise WrongOrigin(
            f"The statement was made for {statement['origin']}, not for "
            f"{state.origin}.",
            field="origin",
        )
    if statement["class"] != "two":
        raise ProposalRefused(
            f"A statement of class {statement['class']} waits for nobody; record it.",
            field="class",
        )
    problems = ring.check_signature(statement, signature, state.size)
    problems += ring.check_basis(statement, state.size, state.root_at)
    for problem in problems:
        raise problem.refusal()
    signers = [(item["person"], item["role"]) for item in statement["signers"]]
    wanted = ring.missing_for(statement["kind"], signers)
    if wanted:
        slots = "; ".join(" or ".join(slot) for slot in wanted)
        raise ProposalRefused(
            f"{statement['kind']} also needs a signature by: {slots}. Name another "
            "signer.",
            field="signers",
            code="slots_not_filled",
        )
    lapse = lapse_statement(
        statement,
        [signature],
        why=Lapse("expired"),
        basis=statement["basis"],
        now=now,
    )
    canonical.encode({"statement": lapse})  # it must be possible to record the lapse


def lapse_statement(
    statement: dict[str, Any],
    signatures: Sequence[Signature],
    *,
    why: Lapse,
    basis: Mapping[str, Any],
    now: datetime,
) -> dict[str, Any]:
    """Return the statement by which another one lapses."""
    return build_statement(
        kind=LAPSED_KIND,
        sign_class="server",
        signers=[],
        entry_id=lapsed_entry_id(statement["entry_id"]),
        origin=statement["origin"],
        occurred_at=now.astimezone(UTC).isoformat(timespec="seconds"),
        basis=dict(basis),
        data={
            "reason": why.reason,
            "detail": why.detail,
            "statement": statement,
            "signatures": [item.to_json() for item in signatures],
        },
    )
