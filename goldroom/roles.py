"""Who signs what, and which kinds may be said by fewer than two people.

The policy itself is an entry; this is the one that a new ledger opens with. It is
made from the kinds themselves (each names its group), so a new kind is covered as
soon as it exists. A site replaces it with a `policy.set` entry of its own.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

from goldroom.statements.registry import kinds

ROLES = {
    "officer": "gold room officer: does the work at the bench",
    "witness": "second person in the room, of another reporting line",
    "security": "security manager and their people",
    "metallurgist": "plant metallurgist",
    "accountant": "metal accountant",
    "laboratory": "assay laboratory",
    "manager": "plant or site manager",
    "gateway": "the plant's control system, signing as a machine",
}
"""Roles that persons are enrolled in, with what each stands for."""

BASIS_LAG_ENTRIES = 500


@dataclass(frozen=True)
class Group:
    """A policy group: slots of roles, and whether reporting lines must differ."""

    slots: tuple[tuple[str, ...], ...]
    lines_differ: bool
    meaning: str


GROUPS = {
    "room": Group(
        (("officer",), ("witness", "security", "metallurgist")),
        True,
        "acts at the bench: the officer and a witness of another reporting line",
    ),
    "standing": Group(
        (("security",), ("manager", "metallurgist", "officer", "accountant")),
        False,
        "persons, keys, instruments, vessels, limits: security and another",
    ),
    "opening": Group(
        (("security",), ("accountant",), ("metallurgist", "officer")),
        False,
        "opening stock: security, accountant and metallurgist or officer",
    ),
    "assay": Group(
        (("laboratory",), ("officer", "metallurgist", "witness")),
        False,
        "assays and mill figures: the laboratory and somebody of the plant",
    ),
    "shipping": Group(
        (("officer", "security"), ("witness", "security", "accountant")),
        True,
        "vault and dispatch: officer or security, and another reporting line",
    ),
    "month": Group(
        (("accountant",), ("metallurgist",)),
        False,
        "month end and settlement: accountant and metallurgist",
    ),
    "count": Group(
        (
            ("accountant", "security", "metallurgist"),
            ("witness", "security", "manager", "metallurgist"),
        ),
        True,
        "stock counts: somebody who does not operate, and another line",
    ),
    "guard": Group(
        (
            ("security",),
            ("officer", "witness", "metallurgist", "manager", "accountant"),
        ),
        False,
        "incidents, alarms and findings: security and another",
    ),
    "record": Group(
        (
            ("officer", "laboratory", "accountant", "metallurgist", "security"),
            ("witness", "security", "metallurgist", "manager"),
        ),
        True,
        "corrections and ratifications: somebody of the work, and another line",
    ),
}
"""Policy groups for kinds under two signatures, by name."""


def default_policy() -> dict[str, Any]:
    """Return the signing policy that a new ledger opens with."""
    return {
        "basis_lag_entries": BASIS_LAG_ENTRIES,
        "groups": [
            {
                "name": name,
                "slots": [list(slot) for slot in group.slots],
                "lines_differ": group.lines_differ,
            }
            for name, group in sorted(GROUPS.items())
        ],
        "kinds": [
            {"kind": name, "group": each.group}
            for name, each in sorted(kinds().items())
            if each.klass == "two"
        ],
    }


def completed_policy(policy: Mapping[str, Any]) -> dict[str, Any]:
    """Return a policy with a rule for every kind known here, its own rules untouched.

    A ledger opened by an earlier version has none for kinds that came later; these get
    the group that a new ledger would give them. A group that the site has by that name
    keeps the site's slots.
    """
    default = default_policy()
    has_rule = {each["kind"] for each in policy["kinds"]}
    has_group = {each["name"] for each in policy["groups"]}
    new_kinds = [each for each in default["kinds"] if each["kind"] not in has_rule]
    wanted = {each["group"] for each in new_kinds} - has_group
    new_groups = [each for each in default["groups"] if each["name"] in wanted]
    return {
        **policy,
        "groups": sorted([*policy["groups"], *new_groups], key=itemgetter("name")),
        "kinds": sorted([*policy["kinds"], *new_kinds], key=itemgetter("kind")),
    }


def default_classes() -> dict[str, list[str]]:
    """Return which kinds may use a weaker signing class, fixed at the opening."""
    return {
        klass: sorted(name for name, each in kinds().items() if each.klass == klass)
        for klass in ("machine", "single", "server", "genesis")
    }


# ------------------------------------------------------------- what may be read

WATCHING = ("security", "accountant", "manager")
BOOKS = (*WATCHING, "metallurgist")
READING = {
    "findings": (WATCHING, "what was noticed, incidents and reviews"),
    "limits": (WATCHING, "limits, thresholds and error budgets"),
    "vault": (WATCHING, "what a vault holds together, and counts of it"),
    "shipments": (WATCHING, "shipments that have not left yet"),
    "exports": (WATCHING, "whole copies of the record"),
    "month": (BOOKS, "balances, reconciliation, settlement and closed periods"),
}
"""Subjects that only some roles may read, with those roles and what they are.

A screen is also a thief's manual: whoever does not need a subject to act on it does
not see it, on pages, in the API, on papers and in search alike. What somebody signed
they may always read. Everything else is read by everybody enrolled.
"""
READING_OF_KINDS = {
    "detector.alarmed": "findings",
    "dispatch.advised": "shipments",
    "error_budget.set": "limits",
    "export.made": "exports",
    "finding.reviewed": "findings",
    "incident.closed": "findings",
    "incident.reported": "findings",
    "limit.set": "limits",
    "melt.settled": "month",
    "period.closed": "month",
    "period.restated": "month",
    "period.trued_up": "month",
    "stock.counted": "vault",
    "vault.counted": "vault",
}
"""Kinds of entries that fall under a subject; one of `shipments` until it has left."""


def may_read(roles: Collection[str], subject: str) -> bool:
    """Tell whether somebody who holds these roles may read the subject."""
    allowed, _ = READING[subject]
    return any(role in allowed for role in roles)


def hidden_kinds(roles: Collection[str]) -> frozenset[str]:
    """Return the kinds whose entries these roles see only if they signed them."""
    return frozenset(
        kind
        for kind, subject in READING_OF_KINDS.items()
        if not may_read(roles, subject)
    )
