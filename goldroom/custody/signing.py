"""Who could sign what decides who signs: kept, so that a lock-out is refused.

Enrolling persons, ending keys and setting the policy need signatures themselves. If
nobody could give them any more, the ledger could never be mended; so what would
leave it so is refused. Holders are kept by role, rules by kind: nothing is scanned.
"""

from dataclasses import dataclass

from goldroom.custody.record import Record

STANDING_KINDS = ("person.enrolled", "key.revoked", "key.rotated", "policy.set")
"""Kinds that decide who may sign; somebody must always be able to sign them."""


@dataclass(frozen=True, kw_only=True)
class Slot:
    """One signature that a rule asks for: the roles that may give it."""

    roles: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SigningRule(Record):
    """The rule in force for one of the kinds that decide who may sign."""

    table = "signing_rule"
    key_of = "{kind}"
    kind: str
    slots: tuple[Slot, ...]
    lines_differ: bool
    entry: str


@dataclass(frozen=True, kw_only=True)
class RoleHolders(Record):
    """The persons in a role who have a key to sign with."""

    table = "role_holders"
    key_of = "{role}"
    role: str
    persons: tuple[str, ...]
