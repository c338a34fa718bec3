"""Who may sign, and by which rules: opening the ledger, persons, keys, policy.

The rules of keys and signatures live in the record's own core; these kinds keep
the register of persons that pages and other statements look things up in, and the
few facts about the site (its clock and production day) that the fold's readers need.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from goldroom.custody.act import Act
from goldroom.custody.lockout import check_signable, roles_held
from goldroom.custody.lookups import the
from goldroom.custody.records import Marker, Person, Record
from goldroom.custody.signing import STANDING_KINDS, SigningRule, Slot
from goldroom.custody.state import State
from goldroom.errors import NobodyCouldSign, NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

SORTS = ("person", "gateway")
SITE_FACTS = ("site", "time_zone", "production_day_start")
DAY_START = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


@dataclass(frozen=True, kw_only=True)
class EnrolledRow:
    """A person as the ledger opens: name, reporting line, roles and first key."""

    person: str = fields.code("Person", help="A new id, never used for anybody else")
    name: str = fields.text("Name")
    line: str = fields.text("Reporting line", help="To whom this person answers")
    roles: tuple[str, ...] = fields.codes("Roles")
    sort: str = fields.choice("Sort", SORTS, help="A person, or the plant's gateway")
    key: Any = fields.opaque("Key", help="Public key with the proof of holding it")


@kind("ledger.opened", group="standing", klass="genesis", title="Ledger opened")
@dataclass(frozen=True, kw_only=True)
class LedgerOpened(Statement):
    """The first entry: the site, the first persons, and the rules."""

    site: str = fields.text("Site")
    demo: bool = fields.flag("Demonstration", help="Invented metal, simulated clock")
    production_day_start: str = fields.text(
        "Production day starts", help="Hour and minute at the site, such as 06:00"
    )
    time_zone: str = fields.text("Time zone", help="IANA name, such as Africa/Accra")
    log_key: str = fields.text("Key of the chain marks")
    persons: tuple[EnrolledRow, ...] = fields.rows("First persons", EnrolledRow)
    policy: Any = fields.opaque("Signing policy")
    classes: Any = fields.opaque("Signing classes")

    def check(self, act: Act, state: State) -> None:
        """Refuse an unreadable clock, a person twice, and too few to sign later."""
        if not DAY_START.fullmatch(self.production_day_start):
            raise BadField(
                f"production_day_start: found {self.production_day_start!r}, expected"
                " an hour and minute such as 06:00. Write it so.",
                field="production_day_start",
            )
        try:
            ZoneInfo(self.time_zone)
        except (KeyError, ValueError, OSError):
            raise BadField(
                f"time_zone: {self.time_zone!r} is not a time zone known here. Write"
                " its IANA name, such as Africa/Accra.",
                field="time_zone",
            ) from None
        named: set[str] = set()
        for n, row in enumerate(self.persons):
            if row.person in named:
                raise BadField(
                    f"persons[{n}].person: {row.person} is named twice. Write each"
                    " person once.",
                    field=f"persons[{n}].person",
                )
            named.add(row.person)
        opened = State()
        for record in self.apply(act, opened):
            opened.put(record)
        check_signable(opened, "persons")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the first persons, the rules for standing, and the site's facts."""
        for row in self.persons:
            person = _enrolled(row, keys=())
            yield person
            yield from roles_held(state, None, person)
        yield from standing_rules(self.policy, act.entry)
        for fact in SITE_FACTS:
            yield Marker(name=fact, value=getattr(self, fact), entry=act.entry)
        yield Marker(name="demo", value="yes" if self.demo else "no", entry=act.entry)
        yield Marker(name="policy_entry", value=act.entry, entry=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        names = ", ".join(row.name for row in self.persons)
        kept = " for a demonstration with invented metal" if self.demo else ""
        return (
            f"The ledger of {self.site} was opened{kept}; its production day starts at"
            f" {self.production_day_start} ({self.time_zone}). First persons: {names}."
        )


@kind("person.enrolled", group="standing", title="Person enrolled")
@dataclass(frozen=True, kw_only=True)
class PersonEnrolled(Statement):
    """A person with a key, or new roles and one more key for a person known."""

    person: str = fields.code("Person", help="A new id, or the id of a known person")
    name: str = fields.text("Name")
    line: str = fields.text("Reporting line", help="To whom this person answers")
    roles: tuple[str, ...] = fields.codes("Roles")
    sort: str = fields.choice("Sort", SORTS, help="A person, or the plant's gateway")
    key: Any = fields.opaque("Key", help="Public key with the proof of holding it")
    identity_check: str = fields.text(
        "Identity check", help="How it was made sure who this is"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a key that names no id, and a change that locks everybody out."""
        person = self._as_enrolled(state)
        if state.get(Person, self.person) is not None:
            check_signable(state, "roles", instead=person)

    def _as_enrolled(self, state: State) -> Person:
        known = state.get(Person, self.person)
        return _enrolled(self, keys=() if known is None else known.keys)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the person with the new roles and one more key."""
        known = state.get(Person, self.person)
        person = self._as_enrolled(state)
        yield person
        yield from roles_held(state, known, person)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"{self.name} ({self.person}, {self.line}) was enrolled as"
            f" {' and '.join(self.roles)}; identity: {self.identity_check}."
        )


@kind("key.rotated", group="standing", title="Key rotated")
@dataclass(frozen=True, kw_only=True)
class KeyRotated(Statement):
    """A person's new key takes the place of an old one."""

    person: str = fields.code("Person", table="person")
    old_key: str = fields.text("Old key", help="The id of the key that ends")
    key: Any = fields.opaque("New key", help="Public key with the proof of holding it")

    def check(self, act: Act, state: State) -> None:
        """Refuse an unknown person, and a key that is not this person's."""
        _check_own_key(state, self.person, self.old_key, "old_key")
        _key_id(self.key)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the person with the new key in place of the old."""
        person = the(state, Person, self.person, "person")
        yield replace(
            person,
            keys=(*_without(person.keys, self.old_key), _key_id(self.key)),
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"{self.person} signs with key {_key_id(self.key)} from now on; key"
            f" {self.old_key} ended."
        )


@kind("key.revoked", group="standing", title="Key revoked")
@dataclass(frozen=True, kw_only=True)
class KeyRevoked(Statement):
    """A key that nobody may sign with any more, and since when it is in doubt."""

    person: str = fields.code("Person", table="person")
    key: str = fields.text("Key", help="The id of the key that ends")
    reason: str = fields.text("Reason")
    suspect_from_seq: int | None = fields.whole(
        "In doubt from entry number", optional=True
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a key that is not this person's, or without which nobody can sign."""
        _check_own_key(state, self.person, self.key, "key")
        check_signable(state, "key", instead=self._without_key(state))

    def _without_key(self, state: State) -> Person:
        person = the(state, Person, self.person, "person")
        return replace(person, keys=_without(person.keys, self.key))

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the person without the key."""
        person = the(state, Person, self.person, "person")
        after = self._without_key(state)
        yield after
        yield from roles_held(state, person, after)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        doubt = ""
        if self.suspect_from_seq is not None:
            doubt = f"; what it signed from entry {self.suspect_from_seq} is in doubt"
        return f"Key {self.key} of {self.person} was revoked: {self.reason}{doubt}."


@kind("policy.set", group="standing", title="Signing policy set")
@dataclass(frozen=True, kw_only=True)
class PolicySet(Statement):
    """Other rules about who signs what, from the next entry on."""

    policy: Any = fields.opaque("Signing policy")
    classes: Any = fields.opaque("Signing classes")

    def check(self, act: Act, state: State) -> None:
        """Refuse rules under which nobody could enrol, end keys or set rules again."""
        rules = standing_rules(self.policy, act.entry)
        without = sorted(set(STANDING_KINDS) - {rule.kind for rule in rules})
        if without:
            raise NobodyCouldSign(
                f"policy: it has no rule for {listed(without)}, so nobody could sign"
                " that any more. Give each a group in its kinds.",
                field="policy",
            )
        check_signable(state, "policy", rules=rules)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield where the policy in force stands, and its rules for standing."""
        yield from standing_rules(self.policy, act.entry)
        yield Marker(name="policy_entry", value=act.entry, entry=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return "New rules about who signs what are in force from the next entry on."


def _enrolled(said: EnrolledRow | PersonEnrolled, keys: tuple[str, ...]) -> Person:
    return Person(
        person=said.person,
        name=said.name,
        line=said.line,
        roles=said.roles,
        keys=(*keys, _key_id(said.key)),
        sort=said.sort,
    )


def standing_rules(policy: Any, entry: str) -> list[SigningRule]:
    """Return a recorded policy's rules for the kinds that decide who may sign.

    What is not shaped as a policy is left out; the record's own core refuses it.
    """
    groups = {str(each.get("name")): each for each in _objects(policy, "groups")}
    found = []
    for each in _objects(policy, "kinds"):
        group = groups.get(str(each.get("group")))
        if each.get("kind") in STANDING_KINDS and group is not None:
            slots = group.get("slots")
            found.append(
                SigningRule(
                    kind=str(each["kind"]),
                    slots=tuple(
                        Slot(roles=tuple(map(str, slot)))
                        for slot in (slots if isinstance(slots, list) else [])
                        if isinstance(slot, list)
                    ),
                    lines_differ=group.get("lines_differ") is True,
                    entry=entry,
                )
            )
    return found


def _objects(policy: Any, name: str) -> list[dict[str, Any]]:
    """Return the objects listed under a name of a policy, whatever else is there."""
    listed_there = policy.get(name) if isinstance(policy, dict) else None
    rows = listed_there if isinstance(listed_there, list) else []
    return [each for each in rows if isinstance(each, dict)]


def _key_id(key: Any) -> str:
    """Return the id that a key object names; refuse an object without one."""
    found = key.get("id") if isinstance(key, dict) else None
    if not isinstance(found, str) or not found:
        raise BadField(
            "key: expected an object with alg, id, spki and proof, as the enrolment"
            " file has it. Take it from there.",
            field="key",
        )
    return found


def _without(keys: tuple[str, ...], ended: str) -> tuple[str, ...]:
    return tuple(each for each in keys if each != ended)


def _check_own_key(state: State, person_id: str, key: str, field: str) -> None:
    person = the(state, Person, person_id, "person")
    if key not in person.keys:
        raise NotInThisState(
            f"{field}: {key} is not a key that {person_id} signs with. Theirs:"
            f" {', '.join(person.keys) or 'none'}."
            " Name the key as the register has it.",
            field=field,
        )
