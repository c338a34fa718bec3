"""Who may sign: the register of persons and keys, and the checks against it.

`Keyring.empty()` is the state before the first entry, `apply(entry)` returns the
state after it; `changes` says what each kind does. `check_signers` answers for
one statement at one place: were these the right persons, in roles they held,
under the rules in force, with signatures that verify? Persons, not keys, count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ledger.core.base64text import from_base64
from ledger.core.changes import step
from ledger.core.entry import Entry, Signature
from ledger.core.errors import KeyringRefusal, LedgerRefusal, Problem
from ledger.core.policy import OPENED_KIND, Holder, Slot
from ledger.core.register import Register, check_mathematics, signature_problem


@dataclass(frozen=True)
class Keyring(Register):
    """The state of the fold after `size` entries. `apply` returns the next one."""

    @classmethod
    def empty(cls) -> Keyring:
        """Return the keyring of a ledger without entries."""
        return cls()

    def apply(self, entry: Entry) -> Keyring:
        """Return the keyring after `entry`; refuse a change that breaks a rule."""
        return step(self, entry.statement, entry.seq)

    def check_change(self, statement: dict[str, Any], seq: int) -> None:
        """Raise what `apply` would raise for this statement at `seq`."""
        step(self, statement, seq)

    def missing_for(
        self, kind: str, signers: Iterable[tuple[str, str]]
    ) -> tuple[Slot, ...]:
        """Return the slots still open when (person, role) pairs have signed.

        Each slot is the roles of which one is still wanted. Raises when the
        policy has no rule for the kind.
        """
        group = self.policy.group_of(kind) if self.policy else None
        if group is None:
            raise KeyringRefusal(
                f"The signing policy has no rule for {kind}.", code="kind_without_rule"
            )
        return group.unfilled(list(self._holders(signers)))

    def check_signers(
        self,
        statement: dict[str, Any],
        signatures: Sequence[Signature],
        seq: int,
        *,
        digest: bytes | None = None,
    ) -> list[Problem]:
        """Return every problem with the signers and signatures at this place.

        The statement's form must have been checked; `digest` is its SHA-256, where
        known already. An empty list means: the right persons signed this statement
        with keys valid at `seq`.
        """
        ring = self
        if seq == 0 and self.opening is None and statement["kind"] == OPENED_KIND:
            try:
                ring = step(self, statement, seq)
            except LedgerRefusal as error:
                return [Problem("policy", error.code, error.message, error.field)]
        problems = ring._check_class(statement, seq)
        signers = statement["signers"]
        if len(signatures) != len(signers):
            problems.append(
                Problem(
                    "signature",
                    "signature_count",
                    f"{len(signers)} signers are named and {len(signatures)} signed.",
                    "signatures",
                    str(len(signers)),
                    str(len(signatures)),
                )
            )
        for signer, signature in zip(signers, signatures, strict=False):
            if signature.key != signer["key"]:
                problems.append(
                    Problem(
                        "signature",
                        "signature_order",
                        f"The signature at the place of {signer['person']} is by "
                        "another key; signatures stand in the signers' order.",
                        "signatures",
                        signer["key"],
                        signature.key,
                    )
                )
            else:
                problems += ring.check_signature(
                    statement, signature, seq, digest=digest
                )
        return problems + ring._check_policy(statement, seq)

    def check_signature(
        self,
        statement: dict[str, Any],
        signature: Signature,
        seq: int,
        *,
        digest: bytes | None = None,
    ) -> list[Problem]:
        """Return the problems with one signature: key, owner, role, mathematics."""
        where = f"signature of {signature.key[:12]}"
        signer = next(
            (item for item in statement["signers"] if item["key"] == signature.key),
            None,
        )
        if signer is None:
            return [signature_problem("key_not_named", f"{where}: no such signer.")]
        key = self.keys.get(signature.key)
        if key is None:
            return [signature_problem("key_unknown", f"{where}: never enrolled.")]
        problems = []
        if not key.is_valid_at(seq):
            problems.append(
                signature_problem(
                    "key_not_valid",
                    f"{where}: enrolled for entries {key.span}, not for {seq}.",
                )
            )
        if key.person != signer["person"]:
            problems.append(
                signature_problem(
                    "key_of_other_person",
                    f"{where}: the key is {key.person}'s, not {signer['person']}'s.",
                )
            )
        return (
            problems
            + self._check_role(signer, seq)
            + check_mathematics(
                statement, signer["role"], signature, key, digest=digest
            )
        )

    def check_basis(
        self,
        statement: dict[str, Any],
        seq: int,
        root_at: Callable[[int], bytes | None],
    ) -> list[Problem]:
        """Return the problems with what the signers say they saw.

        `root_at(size)` gives the recomputed root of the first `size` entries.
        """
        size = statement["basis"]["size"]
        root = from_base64(statement["basis"]["root"], size=32)
        if size > seq or (size == 0 and seq > 0):
            return [
                _basis_problem(
                    "basis_size",
                    "The basis must be a state of this ledger before the entry.",
                    f"{min(1, seq)} to {seq}",
                    str(size),
                )
            ]
        known = root_at(size)
        if known != root:
            return [
                _basis_problem(
                    "basis_root",
                    f"The signers saw another history of the first {size} entries.",
                    known.hex() if known else "unknown",
                    root.hex(),
                )
            ]
        lag = self.policy.basis_lag_entries if self.policy else None
        if lag is not None and seq - size > lag:
            return [
                _basis_problem(
                    "basis_lag",
                    f"The basis is {seq - size} entries old; refresh and sign again.",
                    f"at most {lag}",
                    str(seq - size),
                )
            ]
        return []

    def _holders(
        self, signers: Iterable[tuple[str, str]], seq: int | None = None
    ) -> Iterable[Holder]:
        for person, role in signers:
            standing_now = self.person(person, seq)
            if (
                standing_now is not None
                and standing_now.sort == "person"
                and role in standing_now.roles
            ):
                yield Holder(person, role, standing_now.line)

    def _check_class(self, statement: dict[str, Any], seq: int) -> list[Problem]:
        kind, sign_class = statement["kind"], statement["class"]
        if self.classes is None or self.policy is None:
            return [_policy_problem("not_opened", "The ledger has not been opened.")]
        if (sign_class == "genesis") != (seq == 0):
            return [
                _policy_problem(
                    "genesis_place", "Class genesis stands at entry 0 and nowhere else."
                )
            ]
        if not self.classes.allow(sign_class, kind):
            return [
                _policy_problem(
                    "class_not_allowed",
                    f"{kind} may not be recorded under class {sign_class}.",
                )
            ]
        return []

    def _check_role(self, signer: dict[str, Any], seq: int) -> list[Problem]:
        held = self.person(signer["person"], seq)
        if held is not None and signer["role"] in held.roles:
            return []
        return [
            _policy_problem(
                "role_not_held",
                f"{signer['person']} signs as {signer['role']}, a role not held then.",
            )
        ]

    def _check_policy(self, statement: dict[str, Any], seq: int) -> list[Problem]:
        if self.policy is None:
            return []
        signers = statement["signers"]
        sign_class = statement["class"]
        if sign_class == "two":
            return self._check_slots(statement["kind"], signers, seq)
        if sign_class == "genesis":
            if {signer["key"] for signer in signers} != set(self.keys):
                return [
                    _policy_problem(
                        "genesis_signers", "Every first key must sign, and no other."
                    )
                ]
            return []
        wanted = {"machine": "gateway", "single": "person"}.get(sign_class)
        sorts = [self._sort_of(signer["person"], seq) for signer in signers]
        if wanted is not None and sorts != [wanted]:
            return [
                _policy_problem(
                    "wrong_sort", f"Class {sign_class} is signed by one {wanted}."
                )
            ]
        return []

    def _sort_of(self, person: str, seq: int) -> str:
        held = self.person(person, seq)
        return held.sort if held else "unknown"

    def _check_slots(
        self, kind: str, signers: list[dict[str, Any]], seq: int
    ) -> list[Problem]:
        assert self.policy is not None
        problems = [
            _policy_problem(
                "wrong_sort",
                f"{signer['person']} is a machine and cannot sign as one of two.",
            )
            for signer in signers
            if self._sort_of(signer["person"], seq) == "gateway"
        ]
        group = self.policy.group_of(kind)
        if group is None:
            text = f"The signing policy has no rule for {kind}."
            return [*problems, _policy_problem("kind_without_rule", text)]
        pairs = [(signer["person"], signer["role"]) for signer in signers]
        holders = list(self._holders(pairs, seq))
        missing = group.unfilled(holders)
        if not missing:
            return problems
        if not group.unfilled(holders, mind_lines=False):
            text = f"{kind}: the signers must be of different reporting lines."
            return [*problems, _policy_problem("same_line", text)]
        wanted = "; ".join(" or ".join(slot) for slot in missing)
        return [
            *problems,
            _policy_problem("slots_not_filled", f"{kind}: still missing {wanted}."),
        ]


def _policy_problem(code: str, message: str) -> Problem:
    return Problem("policy", code, message, "signers")


def _basis_problem(code: str, message: str, expected: str, found: str) -> Problem:
    return Problem("link", code, message, "basis", expected, found)
