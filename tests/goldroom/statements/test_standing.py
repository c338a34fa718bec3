"""Persons, keys and policy as the room's register has them."""

import copy

import pytest

from goldroom.custody.records import Marker, Person
from goldroom.custody.signing import STANDING_KINDS, SigningRule
from goldroom.custody.state import State
from goldroom.statements.fields import parse
from goldroom.statements.standing import (
    KeyRevoked,
    KeyRotated,
    LedgerOpened,
    PersonEnrolled,
    PolicySet,
)
from ledger.core import policy
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
    state = opened()
    said = say(state, PolicySet, RULES, entry="entry-9")
    assert state.get(Marker, "policy_entry").value == "entry-9"
    assert state.get(SigningRule, "policy.set").entry == "entry-9"
    assert "rules about who signs" in said.sentence()


# --- nobody may be locked out ----------------------------------------------


def rules(slots=(("security",), ("manager", "officer")), *, without="", lines=False):
    """Return the values of a policy.set with these slots for the standing kinds."""
    return {
        "policy": {
            "basis_lag_entries": 500,
            "groups": [
                {
                    "name": "standing",
                    "slots": [list(slot) for slot in slots],
                    "lines_differ": lines,
                }
            ],
            "kinds": [
                {"kind": kind, "group": "standing"}
                for kind in sorted(STANDING_KINDS)
                if kind != without
            ],
        },
        "classes": {},
    }


RULES = rules()


def opened():
    """Return a ledger's state with p-sefu (security) and p-brandt (manager)."""
    state = State()
    say(state, LedgerOpened, {**OPENING, "policy": RULES["policy"]}, entry="entry-0")
    return state


def test_kinds_that_decide_who_may_sign_are_the_records_own():
    assert set(STANDING_KINDS) == policy.STANDING_KINDS


@pytest.mark.parametrize("without", sorted(STANDING_KINDS))
def test_policy_without_a_rule_for_a_standing_kind_is_refused(without):
    values = rules(without=without)
    assert refused(opened(), PolicySet, values) == "nobody_could_sign"


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        ("as it was", RULES, None),
        ("the other way round", rules((("manager",), ("security",))), None),
        ("of different lines", rules(lines=True), None),
        (
            "a role nobody has",
            rules((("security",), ("officer",))),
            "nobody_could_sign",
        ),
        (
            "one person twice",
            rules((("security",), ("security",))),
            "nobody_could_sign",
        ),
        (
            "more than there are",
            rules((("security",), ("manager",), ("security", "manager"))),
            "nobody_could_sign",
        ),
        ("no policy at all", {"policy": "none", "classes": {}}, "nobody_could_sign"),
        ("lists of no objects", {"policy": {"kinds": [1], "groups": [[]]},
                                 "classes": {}}, "nobody_could_sign"),
    ],
)  # fmt: skip
def test_policy_that_nobody_enrolled_could_sign_is_refused(situation, values, code):
    assert refused(opened(), PolicySet, values) == code, situation


def test_policy_of_different_lines_needs_two_lines():
    state = opened()
    say(state, PersonEnrolled, {**ENROLMENT, "line": "security", "roles": ["manager"]})
    revoked = {"person": "p-brandt", "key": "key-two", "reason": "left the mine"}
    assert refused(state, KeyRevoked, revoked) is None
    assert refused(state, PolicySet, rules(lines=True)) == "nobody_could_sign"
    assert refused(state, PolicySet, RULES) is None


def test_last_key_that_could_sign_is_not_revoked():
    state = opened()
    revoked = {"person": "p-brandt", "key": "key-two", "reason": "left the mine"}
    assert refused(state, KeyRevoked, revoked) == "nobody_could_sign"
    say(state, PersonEnrolled, {**ENROLMENT, "roles": ["officer"]})
    assert refused(state, KeyRevoked, revoked) is None
    last = {"person": "p-new", "key": "_key-one", "reason": "left too"}
    assert refused(state, KeyRevoked, last) == "nobody_could_sign"


def test_one_of_two_keys_can_be_revoked_and_a_key_rotated():
    state = opened()
    again = {**ENROLMENT, "person": "p-brandt", "roles": ["manager"]}
    say(state, PersonEnrolled, {**again, "key": {**KEY, "id": "key-three"}})
    revoked = {"person": "p-brandt", "key": "key-two", "reason": "card lost"}
    assert refused(state, KeyRevoked, revoked) is None
    rotated = {"person": "p-brandt", "old_key": "key-three", "key": KEY}
    assert refused(state, KeyRotated, rotated) is None
    revoked = {"person": "p-brandt", "key": "_key-one", "reason": "card lost"}
    assert refused(state, KeyRevoked, revoked) == "nobody_could_sign"


def test_last_person_in_a_role_does_not_lose_it():
    state = opened()
    moved = {**ENROLMENT, "person": "p-sefu", "roles": ["witness"]}
    assert refused(state, PersonEnrolled, moved) == "nobody_could_sign"
    other = {**ENROLMENT, "roles": ["security"], "key": {**KEY, "id": "key-three"}}
    say(state, PersonEnrolled, other)
    assert refused(state, PersonEnrolled, moved) is None


def test_ledger_is_not_opened_by_people_who_could_never_enrol_others():
    values = copy.deepcopy({**OPENING, "policy": RULES["policy"]})
    values["persons"][1]["roles"] = ["witness"]
    assert refused(State(), LedgerOpened, values) == "nobody_could_sign"


def test_a_kinds_own_name_is_not_a_persons_name():
    said = parse(PersonEnrolled, ENROLMENT)
    assert said.name == "Nadia Coyle"
    assert said.kind_name == "person.enrolled"
