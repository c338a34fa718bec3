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
from goldroom.custody.lookups import the
from goldroom.custody.records import Marker, Person, Record
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

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
        """Refuse a clock that cannot be read and a person named twice."""
        if not DAY_START.fullmatch(self.production_day_start):
            raise BadField(
                f"production_day_start: found {self.production_day_start!r}, expected"
                " an hour and minute such as 06:00.",
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
                    f"persons[{n}].person: {row.person} is named twice.",
                    field=f"persons[{n}].person",
                )
            named.add(row.person)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the first persons and the site's facts."""
        for row in self.persons:
            yield _enrolled(row, keys=())
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
        """Refuse a key that names no id."""
        _key_id(self.key)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the person with the new roles and one more key."""
        known = state.get(Person, self.person)
        yield _enrolled(self, keys=() if known is None else known.keys)

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
        """Refuse an unknown person, and a key that is not this person's."""
        _check_own_key(state, self.person, self.key, "key")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the person without the key."""
        person = the(state, Person, self.person, "person")
        yield replace(person, keys=_without(person.keys, self.key))

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

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield where the policy in force stands."""
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


def _key_id(key: Any) -> str:
    """Return the id that a key object names; refuse an object without one."""
    found = key.get("id") if isinstance(key, dict) else None
    if not isinstance(found, str) or not found:
        raise BadField(
            "key: expected an object with alg, id, spki and proof, as the enrolment"
            " file has it.",
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
            f" {', '.join(person.keys) or 'none'}.",
            field=field,
        )
