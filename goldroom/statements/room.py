"""Who goes in and out of a room, and the metal detector at its door.

Two persons enrolled here are in a room together, or nobody is: one alone is a
finding, and so is a visitor without the escort who was named. Whom nobody escorts is
not let in. People seen leaving who were never signed in are written down as seen.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.names import plain_name
from goldroom.custody.notices import notice
from goldroom.custody.presence import is_same, now_inside, occupancy_of
from goldroom.custody.records import Noticed, Person, Place, Record
from goldroom.custody.room import DetectorAlarm, Inside
from goldroom.custody.state import State
from goldroom.errors import EscortMissing, WrongSort
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

ON_LEAVING = ("clear", "alarm", "not_screened")
CLEARED = ("hand_search", "walked_again", "something_found")
SCREENED_WORDS = {
    "clear": "clear",
    "alarm": "the detector sounded",
    "not_screened": "not screened",
}
CLEARED_WORDS = {
    "hand_search": "cleared it by a hand search",
    "walked_again": "saw it stay silent on walking through again",
    "something_found": "found",
}


@dataclass(frozen=True, kw_only=True)
class VisitorRow:
    """A visitor at the door, and who stays beside them."""

    name: str = fields.text("Name", help="As on the identity card shown")
    organisation: str = fields.text("Organisation")
    escort: str = fields.code(
        "Escort", table="person", help="Who stays beside the visitor all the time"
    )


@dataclass(frozen=True, kw_only=True)
class KeyHeldRow:
    """A key or lock, and who holds it."""

    key: str = fields.code("Key or lock", help="Its number")
    person: str = fields.code("Held by", table="person")


@kind("room.entered", group="room", title="Room entered", can_void=True)
@dataclass(frozen=True, kw_only=True)
class RoomEntered(Statement):
    """Who went into a room, with which visitors, keys and tools."""

    place: str = fields.code("Room", table="place")
    persons: tuple[str, ...] = fields.codes(
        "Persons", table="person", optional=True, help="All who went in together"
    )
    visitors: tuple[VisitorRow, ...] = fields.rows(
        "Visitors", VisitorRow, optional=True, most=40
    )
    keys: tuple[KeyHeldRow, ...] = fields.rows(
        "Keys held", KeyHeldRow, optional=True, most=20
    )
    tools: str | None = fields.text("Tools and bags brought", optional=True)
    camera: str | None = fields.text("Camera channel", optional=True)
    purpose: str | None = fields.text("Purpose", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse who is not enrolled, and visitors without an escort in the room."""
        the(state, Place, self.place, "place")
        if not self.persons and not self.visitors:
            raise BadField(
                "persons: nobody is named. Write who went in.", field="persons"
            )
        for n, each in enumerate(self.persons):
            check_a_person(state, each, f"persons[{n}]")
        for n, row in enumerate(self.keys):
            check_a_person(state, row.person, f"keys[{n}].person")
        check_each_once(self.visitors)
        there = {*self.persons, *occupancy_of(state, self.place).persons}
        for n, visitor in enumerate(self.visitors):
            field = f"visitors[{n}].escort"
            check_a_person(state, visitor.escort, field)
            if visitor.escort not in there:
                raise EscortMissing(
                    f"{field}: {visitor.escort} is not in {self.place}. A visitor goes"
                    " in together with the escort: name one who goes in too.",
                    field=field,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield who is in the room now, and what should be noticed about it."""
        there = occupancy_of(state, self.place).inside
        came = self._came(act)
        for one in came:
            before = next((each for each in there if is_same(each, one)), None)
            if before is not None:
                yield notice(
                    state,
                    act,
                    "entered_twice",
                    item=self.place,
                    found=f"{one.who}, in since {before.since}",
                    expected="signed out before going in again",
                    message=f"{one.who} went into {self.place} and was never"
                    " signed out",
                )
        stayed = [each for each in there if not any(is_same(each, one) for one in came)]
        yield from now_inside(state, act, self.place, (*stayed, *came))

    def _came(self, act: Act) -> list[Inside]:
        return [
            *(_inside(act, each) for each in self.persons),
            *(
                _inside(act, row.name, row.organisation, row.escort)
                for row in self.visitors
            ),
        ]

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        visitors = [
            f"{row.name} of {row.organisation} escorted by {row.escort}"
            for row in self.visitors
        ]
        keys = [f"{row.key} held by {row.person}" for row in self.keys]
        return (
            f"{listed([*self.persons, *visitors])} went into {self.place}"
            + (f": {self.purpose}." if self.purpose else ".")
            + (f" Keys: {', '.join(keys)}." if keys else "")
            + (f" Tools and bags: {self.tools}." if self.tools else "")
            + (f" Camera: {self.camera}." if self.camera else "")
        )


@dataclass(frozen=True, kw_only=True)
class PersonLeftRow:
    """A person at the door on the way out, and what the detector said."""

    person: str = fields.code("Person", table="person")
    detector: str | None = fields.choice(
        "Metal detector", ON_LEAVING, optional=True, help="Left out where there is none"
    )


@dataclass(frozen=True, kw_only=True)
class VisitorLeftRow:
    """A visitor at the door on the way out, and what the detector said."""

    name: str = fields.text("Name", help="As written when the visitor went in")
    detector: str | None = fields.choice(
        "Metal detector", ON_LEAVING, optional=True, help="Left out where there is none"
    )


@kind("room.left", group="room", title="Room left", can_void=True)
@dataclass(frozen=True, kw_only=True)
class RoomLeft(Statement):
    """Who left a room, and what the metal detector said of each."""

    place: str = fields.code("Room", table="place")
    persons: tuple[PersonLeftRow, ...] = fields.rows(
        "Persons", PersonLeftRow, optional=True, most=40
    )
    visitors: tuple[VisitorLeftRow, ...] = fields.rows(
        "Visitors", VisitorLeftRow, optional=True, most=40
    )
    tools: str | None = fields.text("Tools and bags taken out", optional=True)
    camera: str | None = fields.text("Camera channel", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse who is not enrolled here, and the same person twice."""
        the(state, Place, self.place, "place")
        if not self.persons and not self.visitors:
            raise BadField("persons: nobody is named. Write who left.", field="persons")
        named: set[str] = set()
        for n, row in enumerate(self.persons):
            field = f"persons[{n}].person"
            check_a_person(state, row.person, field)
            if row.person in named:
                raise BadField(
                    f"{field}: {row.person} is named twice. Write each person once.",
                    field=field,
                )
            named.add(row.person)
        check_each_once(self.visitors)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield who is still in the room, and what was seen at the door."""
        there = occupancy_of(state, self.place).inside
        gone: list[Inside] = []
        for who, is_visitor, detector in self._at_the_door():
            inside = _leaving(there, who, is_visitor)
            if inside is None:
                yield self._never_entered(act, state, who)
            else:
                gone.append(inside)
            if detector == "alarm":
                yield self._on_alarm(act, state, who)
        stayed = tuple(each for each in there if each not in gone)
        yield from now_inside(state, act, self.place, stayed)

    def _at_the_door(self) -> list[tuple[str, bool, str | None]]:
        return [
            *((row.person, False, row.detector) for row in self.persons),
            *((row.name, True, row.detector) for row in self.visitors),
        ]

    def _never_entered(self, act: Act, state: State, who: str) -> Noticed:
        return notice(
            state,
            act,
            "left_without_entering",
            item=self.place,
            found=f"{who} leaving",
            expected="somebody signed in before",
            message=f"{who} was seen leaving {self.place} and was never signed in",
        )

    def _on_alarm(self, act: Act, state: State, who: str) -> Noticed:
        return notice(
            state,
            act,
            "left_on_alarm",
            item=self.place,
            found=f"the detector sounded for {who}",
            expected="clear, or a detector.alarmed that says how it was cleared",
            message=f"the metal detector sounded as {who} left {self.place}",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        named = [
            who + (f" ({SCREENED_WORDS[detector]})" if detector else "")
            for who, _, detector in self._at_the_door()
        ]
        return (
            f"{listed(named)} left {self.place}."
            + (f" Tools and bags taken out: {self.tools}." if self.tools else "")
            + (f" Camera: {self.camera}." if self.camera else "")
        )


@kind("detector.alarmed", group="guard", title="Detector alarm")
@dataclass(frozen=True, kw_only=True)
class DetectorAlarmed(Statement):
    """A metal detector sounded: for whom, and how that was cleared."""

    place: str = fields.code("Place", table="place")
    detector: str = fields.code("Detector", help="Its number, or the gate's")
    person: str | None = fields.code(
        "Person", table="person", optional=True, help="If enrolled here"
    )
    visitor: str | None = fields.text("Visitor", optional=True, help="If not enrolled")
    cleared: str = fields.choice("How it was cleared", CLEARED)
    cleared_by: str = fields.code(
        "Cleared by", table="person", help="Another person than the one searched"
    )
    found: str | None = fields.text(
        "What was found", optional=True, help="Needed if something was found"
    )
    camera: str | None = fields.text("Camera channel", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse two persons at once, none, and whoever clears themselves."""
        the(state, Place, self.place, "place")
        if (self.person is None) == (self.visitor is None):
            raise BadField(
                "person: write for whom it sounded, as a person enrolled here or as a"
                " visitor, not both.",
                field="person",
            )
        if self.person is not None:
            check_a_person(state, self.person, "person")
        check_a_person(state, self.cleared_by, "cleared_by")
        if self.cleared_by == self.person:
            raise BadField(
                f"cleared_by: {self.person} cannot clear their own alarm. Name who"
                " searched, or watched them walk through again.",
                field="cleared_by",
            )
        if (self.cleared == "something_found") != (self.found is not None):
            raise BadField(
                "found: write what was found if, and only if, something was.",
                field="found",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the alarm, and a finding if something was found."""
        yield DetectorAlarm(
            entry=act.entry,
            who=self._who(),
            is_visitor=self.person is None,
            place=self.place,
            detector=self.detector,
            cleared=self.cleared,
            cleared_by=self.cleared_by,
            at=act.at,
            known_at=act.known_at,
        )
        if self.found is not None:
            yield notice(
                state,
                act,
                "found_by_detector",
                item=self._who(),
                found=self.found,
                expected="nothing",
                message=f"something was found on {self._who()} when the detector"
                f" at {self.detector} sounded",
            )

    def _who(self) -> str:
        who = self.person or self.visitor
        assert who is not None
        return who

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        found = f" {self.found}" if self.found else ""
        return (
            f"The metal detector {self.detector} at {self.place} sounded for"
            f" {self._who()}; {self.cleared_by} {CLEARED_WORDS[self.cleared]}{found}."
            + (f" Camera: {self.camera}." if self.camera else "")
        )


def check_a_person(state: State, person_id: str, field: str) -> None:
    """Refuse an id that is nobody's, or the plant's gateway.

    Raises UnknownPerson and WrongSort.
    """
    if the(state, Person, person_id, field).sort != "person":
        raise WrongSort(
            f"{field}: {person_id} is a machine; expected a person. Name somebody"
            " enrolled here.",
            field=field,
        )


def check_each_once(rows: Sequence[VisitorRow | VisitorLeftRow]) -> None:
    """Refuse a visitor named twice. Raises BadField."""
    named: set[str] = set()
    for n, row in enumerate(rows):
        name = plain_name(row.name)
        if name in named:
            raise BadField(
                f"visitors[{n}].name: {row.name} is named twice. Write each visitor"
                " once; tell two of one name apart by their full names.",
                field=f"visitors[{n}].name",
            )
        named.add(name)


def _inside(act: Act, who: str, organisation: str = "", escort: str = "") -> Inside:
    return Inside(
        who=who,
        organisation=organisation,
        escort=escort,
        since=act.at,
        entry=act.entry,
    )


def _leaving(there: Sequence[Inside], who: str, is_visitor: bool) -> Inside | None:
    """Return who of those in the room is the one at the door."""
    wanted = Inside(
        who=who, organisation="", escort="-" if is_visitor else "", since="", entry=""
    )
    return next((each for each in there if is_same(each, wanted)), None)
