"""Who may sign: persons, keys, policy and classes, folded from the entries.

The fold knows these kinds; everything else passes through it untouched:

    ledger.opened    seq 0: the first persons, the policy, the classes, the log key
    person.enrolled  a person with a new key; again for a person already known,
                     it adds the key and replaces name, line and roles
    key.rotated      a new key in place of an old one; signed with the old one too
    key.revoked      a key that is no longer valid
    policy.set       other rules; classes may only become narrower
    record.lapsed    a statement that never got its signatures, quoted whole

A key may sign entry n only if it was enrolled before n and neither revoked nor
rotated away before n: order in the chain decides, not a clock. The first keys
are valid at 0 by their own listing. Persons, not keys, count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from ledger.core import standing
from ledger.core.base64text import from_base64
from ledger.core.entry import (
    LAPSED_KIND,
    Entry,
    Signature,
    check_form,
    statement_digest,
)
from ledger.core.errors import (
    KeyringRefusal,
    LedgerRefusal,
    Problem,
    UnknownFormat,
)
from ledger.core.policy import OPENED_KIND, Classes, Holder, Policy, Slot
from ledger.core.signing import ALGORITHM, is_signed_by, signing_text
from ledger.core.standing import EnrolledKey, Standing


@dataclass(frozen=True)
class Keyring:
    """The state of the fold after `size` entries. `apply` returns the next one."""

    size: int = 0
    opening: standing.Opening | None = None
    persons: Mapping[str, tuple[Standing, ...]] = field(default_factory=dict)
    keys: Mapping[str, EnrolledKey] = field(default_factory=dict)
    policy: Policy | None = None
    classes: Classes | None = None

    @classmethod
    def empty(cls) -> Keyring:
        """Return the keyring of a ledger without entries."""
        return cls()

    @property
    def origin(self) -> str:
        """The ledger's name, empty before the first entry."""
        return self.opening.origin if self.opening else ""

    @property
    def log_key(self) -> bytes | None:
        """The SPKI of the key that signs checkpoints."""
        return self.opening.log_key if self.opening else None

    def person(self, person: str, seq: int | None = None) -> Standing | None:
        """Return name, line, roles and sort of a person as they hold at `seq`.

        Without `seq`: as they hold for the next entry.
        """
        place = self.size if seq is None else seq
        standings = [
            item for item in self.persons.get(person, ()) if item.from_seq <= place
        ]
        return standings[-1] if standings else None

    def key(self, key: str, seq: int | None = None) -> EnrolledKey | None:
        """Return the key of this id if it may sign entry `seq` (the next one)."""
        place = self.size if seq is None else seq
        found = self.keys.get(key)
        return found if found is not None and found.is_valid_at(place) else None

    def keys_of(self, person: str, seq: int | None = None) -> list[EnrolledKey]:
        """Return the person's keys that may sign entry `seq` (the next one)."""
        place = self.size if seq is None else seq
        return [
            key
            for key in self.keys.values()
            if key.person == person and key.is_valid_at(place)
        ]

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

    def apply(self, entry: Entry) -> Keyring:
        """Return the keyring after `entry`; refuse a change that breaks a rule."""
        step = _STEPS.get(entry.kind)
        if step is None:
            return replace(self, size=entry.seq + 1)
        return replace(step(self, entry.statement, entry.seq), size=entry.seq + 1)

    def check_change(self, statement: dict[str, Any], seq: int) -> None:
        """Raise what `apply` would raise for this statement at `seq`."""
        step = _STEPS.get(statement["kind"])
        if step is not None:
            step(self, statement, seq)

    def check_signers(
        self, statement: dict[str, Any], signatures: Sequence[Signature], seq: int
    ) -> list[Problem]:
        """Return every problem with the signers and signatures at this place.

        The statement's form must have been checked. An empty list means: the
        right persons signed this statement with keys valid at `seq`.
        """
        ring = self
        if seq == 0 and self.opening is None and statement["kind"] == OPENED_KIND:
            try:
                ring = _opened(self, statement, seq)
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
                problems += ring.check_signature(statement, signature, seq)
        return problems + ring._check_policy(statement, seq)

    def check_signature(
        self, statement: dict[str, Any], signature: Signature, seq: int
    ) -> list[Problem]:
        """Return the problems with one signature: key, owner, role, mathematics."""
        where = f"signature of {signature.key[:12]}"
        signer = next(
            (item for item in statement["signers"] if item["key"] == signature.key),
            None,
        )
        if signer is None:
            return [_signature_problem("key_not_named", f"{where}: no such signer.")]
        key = self.keys.get(signature.key)
        if key is None:
            return [_signature_problem("key_unknown", f"{where}: never enrolled.")]
        problems = []
        if not key.is_valid_at(seq):
            problems.append(
                _signature_problem(
                    "key_not_valid",
                    f"{where}: enrolled for entries {key.span}, not for {seq}.",
                )
            )
        if key.person != signer["person"]:
            problems.append(
                _signature_problem(
                    "key_of_other_person",
                    f"{where}: the key is {key.person}'s, not {signer['person']}'s.",
                )
            )
        return (
            problems
            + self._check_role(signer, seq)
            + _check_mathematics(statement, signer["role"], signature, key)
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


def _check_mathematics(
    statement: dict[str, Any], role: str, signature: Signature, key: EnrolledKey
) -> list[Problem]:
    if signature.alg != key.algorithm:
        return [
            _signature_problem(
                "algorithm_differs",
                f"signature of {key.key_id[:12]}: {signature.alg}, but the key is for "
                f"{key.algorithm}.",
            )
        ]
    if key.algorithm != ALGORITHM:
        raise UnknownFormat(f"This program cannot check {key.algorithm} signatures.")
    text = signing_text(
        origin=statement["origin"],
        role=role,
        digest=statement_digest(statement),
        nonce=signature.nonce,
    )
    if is_signed_by(key.spki, signature.signature, text):
        return []
    return [
        _signature_problem(
            "signature_bad",
            f"signature of {key.person}: it is not a signature of this statement in "
            f"the role {role}.",
        )
    ]


def _opened(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    if seq != 0 or ring.opening is not None:
        raise KeyringRefusal(
            "The ledger is open already; only entry 0 opens it.", code="genesis_place"
        )
    opening = standing.parse_opening(statement)
    return Keyring(
        opening=opening,
        persons={person: (held,) for person, held, _ in opening.persons},
        keys={key.key_id: key for _, _, key in opening.persons},
        policy=opening.policy,
        classes=opening.classes,
    )


def _enrolled(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    person, held, key = standing.parse_enrolment(statement, from_seq=seq + 1)
    _refuse_known_key(ring, key)
    if any(signer["person"] == person for signer in statement["signers"]):
        raise KeyringRefusal(
            f"{person} cannot sign an enrolment of {person}; others must.",
            code="signs_own_enrolment",
        )
    before = ring.persons.get(person, ())
    if before and before[-1].sort != held.sort:
        raise KeyringRefusal(
            f"{person} is enrolled as a {before[-1].sort}; that cannot change.",
            code="sort_changed",
        )
    return replace(
        ring,
        persons={**ring.persons, person: (*before, held)},
        keys={**ring.keys, key.key_id: key},
    )


def _rotated(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    person, old_id, key = standing.parse_rotation(statement, from_seq=seq + 1)
    _refuse_known_key(ring, key)
    old = _valid_key_of(ring, person, old_id, seq)
    if all(signer["key"] != old_id for signer in statement["signers"]):
        raise KeyringRefusal(
            "A rotation is signed with the old key too. If it is lost, revoke it and "
            "enrol the person again.",
            code="rotation_without_old_key",
        )
    ended = replace(old, until_seq=seq)
    return replace(ring, keys={**ring.keys, old_id: ended, key.key_id: key})


def _revoked(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    said = standing.parse_revocation(statement)
    key = _valid_key_of(ring, said.person, said.key, seq)
    ended = replace(key, until_seq=seq, suspect_from_seq=said.suspect_from_seq)
    return replace(ring, keys={**ring.keys, said.key: ended})


def _policy_set(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    policy, classes = standing.parse_policy_change(statement)
    if ring.opening is not None:
        wider = classes.wider_than(ring.opening.classes)
        if wider:
            raise KeyringRefusal(
                f"Classes may only become narrower; this adds {', '.join(wider)}.",
                code="classes_widened",
            )
    return replace(ring, policy=policy, classes=classes)


def _lapsed(ring: Keyring, statement: dict[str, Any], seq: int) -> Keyring:
    """Check the signatures that a lapsed statement had been given.

    Its keys must have been valid when it was written (at its basis) or be so now:
    a revocation may be the very reason why it lapsed.
    """
    quoted, signatures = standing.parse_lapsed(statement)
    check_form(quoted)
    if quoted["origin"] != statement["origin"]:
        raise KeyringRefusal(
            "The lapsed statement belongs to another ledger.", code="origin_differs"
        )
    for item in signatures:
        key = ring.keys.get(item.key)
        signer = next((s for s in quoted["signers"] if s["key"] == item.key), None)
        if key is None or signer is None or key.person != signer["person"]:
            raise KeyringRefusal(
                "A lapsed statement is signed by a key that is not its signer's.",
                code="lapsed_key_unknown",
            )
        places = (quoted["basis"]["size"], seq)
        if not any(key.is_valid_at(place) for place in places):
            raise KeyringRefusal(
                "A lapsed statement is signed by a key that was not valid.",
                code="lapsed_key_not_valid",
            )
        if _check_mathematics(quoted, signer["role"], item, key):
            raise KeyringRefusal(
                "A signature of a lapsed statement does not verify.",
                code="lapsed_signature_bad",
            )
    return ring


def _refuse_known_key(ring: Keyring, key: EnrolledKey) -> None:
    if key.key_id in ring.keys:
        raise KeyringRefusal(
            f"The key {key.key_id} is or was enrolled; make a new key.",
            code="key_already_enrolled",
        )


def _valid_key_of(ring: Keyring, person: str, key_id: str, seq: int) -> EnrolledKey:
    key = ring.keys.get(key_id)
    if key is None or key.person != person:
        raise KeyringRefusal(
            f"{person} has no key {key_id}.", code="key_of_other_person"
        )
    if not key.is_valid_at(seq):
        raise KeyringRefusal(
            f"The key {key_id} is no longer valid.", code="key_not_valid"
        )
    return key


def _signature_problem(code: str, message: str) -> Problem:
    return Problem("signature", code, message, "signatures")


def _policy_problem(code: str, message: str) -> Problem:
    return Problem("policy", code, message, "signers")


def _basis_problem(code: str, message: str, expected: str, found: str) -> Problem:
    return Problem("link", code, message, "basis", expected, found)


_STEPS: dict[str, Callable[[Keyring, dict[str, Any], int], Keyring]] = {
    OPENED_KIND: _opened,
    "person.enrolled": _enrolled,
    "key.rotated": _rotated,
    "key.revoked": _revoked,
    "policy.set": _policy_set,
    LAPSED_KIND: _lapsed,
}
