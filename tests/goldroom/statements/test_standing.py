"""Persons, keys and policy as the room's register has them."""

import copy

import pytest

from goldroom.custody.records import Marker, Person
from goldroom.custody.state import State
from goldroom.statements.fields import parse
from goldroom.statements.standing import (
    KeyRevoked,
    KeyRotated,
    LedgerOpened,
    PersonEnrolled,
    PolicySet,
)
from tests.goldroom.room import refused, room, say

KEY = {"alg": "ed25519-file", "id": "_key-one", "spki": "AAAA", "proof": {}}
OPENING = {
    "site": "Kestrel Ridge (invented)",
    "demo": True,
    "production_day_start": "06:00",
    "time_zone": "Africa/Johannesburg",
    "log_key": "AAAA",
    "persons": [
        {
            "person": "p-sefu",
            "name": "Sefu Marlow",
            "line": "security",
            "roles": ["security"],
            "sort": "person",
            "key": KEY,
        },
        {
            "person": "p-brandt",
            "name": "Brandt Osei",
            "line": "management",
            "roles": ["manager"],
            "sort": "person",
            "key": {**KEY, "id": "key-two"},
        },
    ],
    "policy": {"groups": []},
    "classes": {"machine": []},
}
ENROLMENT = {
    "person": "p-new",
    "name": "Nadia Coyle",
    "line": "plant",
    "roles": ["witness", "metallurgist"],
    "sort": "person",
    "key": KEY,
    "identity_check": "passport seen",
}


def test_opening_enrols_the_first_persons_and_remembers_the_site():
    state = State()
    said = say(state, LedgerOpened, OPENING, entry="entry-0")
    brandt = state.get(Person, "p-brandt")
    assert brandt is not None
    assert brandt.roles == ("manager",)
    assert brandt.keys == ("key-two",)
    facts = ["site", "time_zone", "production_day_start", "demo", "policy_entry"]
    assert [state.get(Marker, fact).value for fact in facts] == [
        "Kestrel Ridge (invented)",
        "Africa/Johannesburg",
        "06:00",
        "yes",
        "entry-0",
    ]
    assert said.sentence() == (
        "The ledger of Kestrel Ridge (invented) was opened for a demonstration with"
        " invented metal; its production day starts at 06:00 (Africa/Johannesburg)."
        " First persons: Sefu Marlow, Brandt Osei."
    )


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("as it should be", {}, None),
        ("no such hour", {"production_day_start": "24:00"}, "bad_field"),
        ("hour without minutes", {"production_day_start": "6"}, "bad_field"),
        ("no such time zone", {"time_zone": "Africa/Nowhere"}, "bad_field"),
        ("a time zone that climbs out", {"time_zone": "../etc"}, "bad_field"),
        ("a person twice", {"persons": [OPENING["persons"][0]] * 2}, "bad_field"),
        ("nobody", {"persons": []}, "bad_field"),
    ],
)
def test_opening_is_refused_unless_its_clock_and_persons_hold(situation, change, code):
    assert refused(State(), LedgerOpened, {**OPENING, **change}) == code, situation


def test_enrolment_adds_a_person():
    state = room()
    said = say(state, PersonEnrolled, ENROLMENT)
    person = state.get(Person, "p-new")
    assert person is not None
    assert (person.line, person.roles, person.keys) == (
        "plant",
        ("witness", "metallurgist"),
        ("_key-one",),
    )
    assert said.sentence() == (
        "Nadia Coyle (p-new, plant) was enrolled as witness and metallurgist;"
        " identity: passport seen."
    )


def test_enrolling_a_known_person_replaces_roles_and_adds_the_key():
    state = room()
    say(state, PersonEnrolled, {**ENROLMENT, "person": "p-leith"})
    person = state.get(Person, "p-leith")
    assert person.roles == ("witness", "metallurgist")
    assert person.keys == ("key-p-leith", "_key-one")


def test_a_key_without_an_id_is_refused():
    values = copy.deepcopy(ENROLMENT)
    del values["key"]["id"]
    assert refused(room(), PersonEnrolled, values) == "bad_field"
    assert refused(room(), PersonEnrolled, {**ENROLMENT, "key": "text"}) == "bad_field"


def test_rotation_puts_the_new_key_in_place_of_the_old():
    state = room()
    said = say(
        state, KeyRotated, {"person": "p-leith", "old_key": "key-p-leith", "key": KEY}
    )
    assert state.get(Person, "p-leith").keys == ("_key-one",)
    assert said.sentence() == (
        "p-leith signs with key _key-one from now on; key key-p-leith ended."
    )


def test_revocation_takes_the_key_and_names_what_is_in_doubt():
    state = room()
    values = {
        "person": "p-leith",
        "key": "key-p-leith",
        "reason": "card lost",
        "suspect_from_seq": 40,
    }
    said = say(state, KeyRevoked, values)
    assert state.get(Person, "p-leith").keys == ()
    assert said.sentence() == (
        "Key key-p-leith of p-leith was revoked: card lost; what it signed from entry"
        " 40 is in doubt."
    )


@pytest.mark.parametrize(
    ("situation", "person", "key", "code"),
    [
        ("their own key", "p-leith", "key-p-leith", None),
        ("somebody else's key", "p-leith", "key-p-amara", "not_in_this_state"),
        ("a person nobody enrolled", "p-nobody", "key-p-leith", "unknown_person"),
    ],
)
def test_only_a_persons_own_key_can_end(situation, person, key, code):
    revoked = {"person": person, "key": key, "reason": "lost"}
    rotated = {"person": person, "old_key": key, "key": KEY}
    assert refused(room(), KeyRevoked, revoked) == code, situation
    assert refused(room(), KeyRotated, rotated) == code, situation


def test_policy_remembers_the_entry_that_set_it():
    state = room()
    said = say(state, PolicySet, {"policy": {}, "classes": {}}, entry="entry-9")
    assert state.get(Marker, "policy_entry").value == "entry-9"
    assert "rules about who signs" in said.sentence()


def test_a_kinds_own_name_is_not_a_persons_name():
    said = parse(PersonEnrolled, ENROLMENT)
    assert said.name == "Nadia Coyle"
    assert said.kind_name == "person.enrolled"
