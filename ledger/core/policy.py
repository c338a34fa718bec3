"""Who must sign what: the signing policy, itself part of the record.

A policy names groups of kinds. Each group has *slots*; a slot lists the roles
that may fill it. A statement signed by two or more persons is in order when
every slot of its kind's group is filled by another person in one of the slot's
roles, and, where the group says so, those persons are of different reporting
lines. Further signers (four in all) may join in any role they hold. A kind
without a group has no rule and cannot be recorded under two signatures.

The class list says which kinds may be recorded with less than two persons'
signatures: by a machine, by a single person, by the server, or at the opening.
What is fixed at the opening may later become narrower, never wider.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ledger.core import form
from ledger.core.errors import LedgerRefusal, MalformedPolicy

OPENED_KIND = "ledger.opened"
WEAKER_CLASSES = ("machine", "single", "server", "genesis")
# What decides who may sign can never be said by fewer than two persons.
STANDING_KINDS = frozenset(
    {"person.enrolled", "key.revoked", "key.rotated", "policy.set"}
)
SLOTS_MAX = 4

Slot = tuple[str, ...]


@dataclass(frozen=True)
class Holder:
    """A signer as a policy sees him: person, role signed in, reporting line."""

    person: str
    role: str
    line: str


@dataclass(frozen=True)
class Group:
    """The slots that must be filled for every kind of the group."""

    name: str
    slots: tuple[Slot, ...]
    lines_differ: bool

    def unfilled(
        self, holders: Sequence[Holder], *, mind_lines: bool = True
    ) -> tuple[Slot, ...]:
        """Return the slots left open by the best placing of the holders."""
        filled = _best_filling(
            self.slots, tuple(holders), self.lines_differ and mind_lines
        )
        return tuple(
            slot for slot, is_filled in zip(self.slots, filled, strict=True)
            if not is_filled
        )  # fmt: skip


@dataclass(frozen=True)
class Policy:
    """The rules in force: groups by name, the group of each kind, the basis lag.

    `basis_lag_entries` is how many entries a statement's basis may lie behind.
    """

    groups: Mapping[str, Group]
    kinds: Mapping[str, str]
    basis_lag_entries: int

    def group_of(self, kind: str) -> Group | None:
        """Return the group whose slots a statement of `kind` must fill."""
        name = self.kinds.get(kind)
        return None if name is None else self.groups[name]


@dataclass(frozen=True)
class Classes:
    """Which kinds may be recorded under a class other than `two`."""

    kinds: Mapping[str, frozenset[str]]

    def allow(self, sign_class: str, kind: str) -> bool:
        """Tell whether a statement of `kind` may be of this class."""
        return sign_class == "two" or kind in self.kinds[sign_class]

    def wider_than(self, other: Classes) -> list[str]:
        """Return the kinds that are allowed here and not in `other`."""
        return sorted(
            f"{kind} as {name}"
            for name in WEAKER_CLASSES
            for kind in self.kinds[name] - other.kinds[name]
        )


def parse_policy(value: object) -> Policy:
    """Return the policy of a recorded `policy` object; refuse a broken one."""
    try:
        said = form.fields(
            value, {"groups", "kinds", "basis_lag_entries"}, "policy", MalformedPolicy
        )
        groups = [_group(item) for item in _list(said["groups"], "policy.groups")]
        kinds = [_kind_rule(item) for item in _list(said["kinds"], "policy.kinds")]
        lag = form.integer(
            said["basis_lag_entries"], "policy.basis_lag_entries", least=1
        )
    except LedgerRefusal as error:
        raise MalformedPolicy(error.message, field=error.field) from error
    by_name = {group.name: group for group in groups}
    by_kind = dict(kinds)
    if len(by_name) != len(groups) or len(by_kind) != len(kinds):
        raise MalformedPolicy("policy: a group or kind is listed twice.")
    for kind, name in kinds:
        if name not in by_name:
            raise MalformedPolicy(f"policy.kinds: {kind} is in no known group: {name}.")
    return Policy(by_name, by_kind, lag)


def parse_classes(value: object) -> Classes:
    """Return the class list of a recorded `classes` object."""
    said = form.fields(value, set(WEAKER_CLASSES), "classes", MalformedPolicy)
    kinds: dict[str, frozenset[str]] = {}
    for name in WEAKER_CLASSES:
        where = f"classes.{name}"
        listed = _names(said[name], where, form.kind)
        kinds[name] = frozenset(listed)
        weak = sorted(STANDING_KINDS & kinds[name])
        if weak:
            raise MalformedPolicy(
                f"{where}: {', '.join(weak)} always needs two persons.", field=where
            )
    if kinds["genesis"] != {OPENED_KIND}:
        raise MalformedPolicy(
            f"classes.genesis: expected {OPENED_KIND} alone.", field="classes.genesis"
        )
    if any(OPENED_KIND in kinds[name] for name in ("machine", "single", "server")):
        raise MalformedPolicy(f"classes: {OPENED_KIND} can only be of class genesis.")
    return Classes(kinds)


def _group(value: object) -> Group:
    said = form.fields(value, {"name", "slots", "lines_differ"}, "policy.groups")
    name = form.role(said["name"], "policy.groups.name")
    where = f"policy.groups.{name}"
    slots = _list(said["slots"], f"{where}.slots")
    if not 2 <= len(slots) <= SLOTS_MAX:
        raise MalformedPolicy(
            f"{where}.slots: expected 2 to {SLOTS_MAX} slots, found {len(slots)}.",
            field=f"{where}.slots",
        )
    if type(said["lines_differ"]) is not bool:
        raise MalformedPolicy(f"{where}.lines_differ: expected true or false.")
    filled = tuple(tuple(_names(slot, f"{where}.slots", form.role)) for slot in slots)
    if not all(filled):
        raise MalformedPolicy(f"{where}.slots: a slot that no role may fill.")
    return Group(name, filled, said["lines_differ"])


def _kind_rule(value: object) -> tuple[str, str]:
    said = form.fields(value, {"kind", "group"}, "policy.kinds")
    return (
        form.kind(said["kind"], "policy.kinds.kind"),
        form.role(said["group"], "policy.kinds.group"),
    )


def _names(value: object, where: str, check: Any) -> list[str]:
    """Return a list of different names, each checked."""
    try:
        names = [check(item, where) for item in _list(value, where)]
    except LedgerRefusal as error:
        raise MalformedPolicy(error.message, field=where) from error
    if len(set(names)) != len(names):
        raise MalformedPolicy(f"{where}: a name is listed twice.", field=where)
    return names


def _list(value: object, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise MalformedPolicy(f"{where}: expected a list.", field=where)
    return value


def _best_filling(
    slots: Sequence[Slot], holders: tuple[Holder, ...], lines_differ: bool
) -> tuple[bool, ...]:
    """Return which slots are filled when as many as possible are.

    Tries every placing; with at most four slots and four holders there are few.
    """
    if not slots:
        return ()
    best = (False, *_best_filling(slots[1:], holders, lines_differ))
    for holder in holders:
        if holder.role not in slots[0]:
            continue
        others = tuple(
            other
            for other in holders
            if other.person != holder.person
            and not (lines_differ and other.line == holder.line)
        )
        candidate = (True, *_best_filling(slots[1:], others, lines_differ))
        if sum(candidate) > sum(best):
            best = candidate
    return best
