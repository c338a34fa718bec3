"""What each kind of standing statement changes in the register.

    ledger.opened    seq 0: the first persons, the policy, the classes, the log key
    person.enrolled  a person with a new key; again for a person already known,
                     it adds the key and replaces name, line and roles
    key.rotated      a new key in place of an old one; signed with the old one too
    key.revoked      a key that is no longer valid
    policy.set       other rules; classes may only become narrower
    record.lapsed    a statement that never got its signatures, quoted whole

`step` takes the register before an entry and returns the one after it, or
refuses. Every other kind leaves the register as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from ledger.core import standing
from ledger.core.entry import LAPSED_KIND, check_form
from ledger.core.errors import KeyringRefusal
from ledger.core.policy import OPENED_KIND
from ledger.core.register import Register, check_mathematics
from ledger.core.standing import EnrolledKey

AnyRegister = TypeVar("AnyRegister", bound=Register)
Changes = dict[str, Any]  # field of the register: its new value


def step(register: AnyRegister, statement: dict[str, Any], seq: int) -> AnyRegister:
    """Return the register after a statement at `seq`; refuse a broken rule."""
    change = _CHANGES.get(statement["kind"])
    changes = {} if change is None else change(register, statement, seq)
    return replace(register, **changes, size=seq + 1)


def _opened(register: Register, statement: dict[str, Any], seq: int) -> Changes:
    if seq != 0 or register.opening is not None:
        raise KeyringRefusal(
            "The ledger is open already; only entry 0 opens it.", code="genesis_place"
        )
    opening = standing.parse_opening(statement)
    return {
        "opening": opening,
        "persons": {person: (held,) for person, held, _ in opening.persons},
        "keys": {key.key_id: key for _, _, key in opening.persons},
        "policy": opening.policy,
        "classes": opening.classes,
    }


def _enrolled(register: Register, statement: dict[str, Any], seq: int) -> Changes:
    person, held, key = standing.parse_enrolment(statement, from_seq=seq + 1)
    _refuse_known_key(register, key)
    if any(signer["person"] == person for signer in statement["signers"]):
        raise KeyringRefusal(
            f"{person} cannot sign an enrolment of {person}; others must.",
            code="signs_own_enrolment",
        )
    before = register.persons.get(person, ())
    if before and before[-1].sort != held.sort:
        raise KeyringRefusal(
            f"{person} is enrolled as a {before[-1].sort}; that cannot change.",
            code="sort_changed",
        )
    return {
        "persons": {**register.persons, person: (*before, held)},
        "keys": {**register.keys, key.key_id: key},
    }


def _rotated(register: Register, statement: dict[str, Any], seq: int) -> Changes:
    person, old_id, key = standing.parse_rotation(statement, from_seq=seq + 1)
    _refuse_known_key(register, key)
    old = _valid_key_of(register, person, old_id, seq)
    if all(signer["key"] != old_id for signer in statement["signers"]):
        raise KeyringRefusal(
            "A rotation is signed with the old key too. If it is lost, revoke it and "
            "enrol the person again.",
            code="rotation_without_old_key",
        )
    ended = replace(old, until_seq=seq)
    return {"keys": {**register.keys, old_id: ended, key.key_id: key}}


def _revoked(register: Register, statement: dict[str, Any], seq: int) -> Changes:
    said = standing.parse_revocation(statement)
    key = _valid_key_of(register, said.person, said.key, seq)
    ended = replace(key, until_seq=seq, suspect_from_seq=said.suspect_from_seq)
    return {"keys": {**register.keys, said.key: ended}}


def _policy_set(register: Register, statement: dict[str, Any], seq: int) -> Changes:
    policy, classes = standing.parse_policy_change(statement)
    if register.opening is not None:
        wider = classes.wider_than(register.opening.classes)
        if wider:
            raise KeyringRefusal(
                f"Classes may only become narrower; this adds {', '.join(wider)}.",
                code="classes_widened",
            )
    return {"policy": policy, "classes": classes}


def _lapsed(register: Register, statement: dict[str, Any], seq: int) -> Changes:
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
        key = register.keys.get(item.key)
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
        if check_mathematics(quoted, signer["role"], item, key):
            raise KeyringRefusal(
                "A signature of a lapsed statement does not verify.",
                code="lapsed_signature_bad",
            )
    return {}


def _refuse_known_key(register: Register, key: EnrolledKey) -> None:
    if key.key_id in register.keys:
        raise KeyringRefusal(
            f"The key {key.key_id} is or was enrolled; make a new key.",
            code="key_already_enrolled",
        )


def _valid_key_of(
    register: Register, person: str, key_id: str, seq: int
) -> EnrolledKey:
    key = register.keys.get(key_id)
    if key is None or key.person != person:
        raise KeyringRefusal(
            f"{person} has no key {key_id}.", code="key_of_other_person"
        )
    if not key.is_valid_at(seq):
        raise KeyringRefusal(
            f"The key {key_id} is no longer valid.", code="key_not_valid"
        )
    return key


_CHANGES: dict[str, Callable[[Register, dict[str, Any], int], Changes]] = {
    OPENED_KIND: _opened,
    "person.enrolled": _enrolled,
    "key.rotated": _rotated,
    "key.revoked": _revoked,
    "policy.set": _policy_set,
    LAPSED_KIND: _lapsed,
}
