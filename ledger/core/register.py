"""The register of persons, keys and rules at one place in the chain.

A key may sign entry n only if it was enrolled before n and neither revoked nor
rotated away before n: order in the chain decides, not a clock. The first keys
are valid at 0 by their own listing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ledger.core.entry import Signature, statement_digest
from ledger.core.errors import Problem, UnknownFormat
from ledger.core.policy import Classes, Policy
from ledger.core.signing import ALGORITHM, is_signed_by, signing_text
from ledger.core.standing import EnrolledKey, Opening, Standing


@dataclass(frozen=True)
class Register:
    """Persons, keys and rules as they stand after `size` entries."""

    size: int = 0
    opening: Opening | None = None
    persons: Mapping[str, tuple[Standing, ...]] = field(default_factory=dict)
    keys: Mapping[str, EnrolledKey] = field(default_factory=dict)
    policy: Policy | None = None
    classes: Classes | None = None

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


def check_mathematics(
    statement: dict[str, Any],
    role: str,
    signature: Signature,
    key: EnrolledKey,
    *,
    digest: bytes | None = None,
) -> list[Problem]:
    """Return the problem with a signature's bytes, if any.

    `digest` is the statement's, where it is known already.
    Raises UnknownFormat for an algorithm that this program cannot check.
    """
    if signature.alg != key.algorithm:
        return [
            signature_problem(
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
        digest=digest or statement_digest(statement),
        nonce=signature.nonce,
    )
    if is_signed_by(key.spki, signature.signature, text):
        return []
    return [
        signature_problem(
            "signature_bad",
            f"signature of {key.person}: it is not a signature of this statement in "
            f"the role {role}.",
        )
    ]


def signature_problem(code: str, message: str) -> Problem:
    """Return a problem of class signature."""
    return Problem("signature", code, message, "signatures")
