"""Reading the data of the kinds that decide who may sign.

Each `parse_...` takes a statement whose envelope has been checked and returns
plain frozen values, or refuses with the field and what was expected. What the
values mean for one another is for `keyring`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from ledger.core import form
from ledger.core.base64text import from_base64
from ledger.core.entry import LAPSED_KIND, Signature
from ledger.core.errors import KeyringRefusal, UnknownFormat
from ledger.core.policy import Classes, Policy, parse_classes, parse_policy
from ledger.core.signing import (
    ALGORITHM,
    check_nonce,
    is_key_proved,
    key_id,
    public_key,
)

GATEWAY_ROLE = "gateway"
SORTS = ("person", "gateway")
LAPSE_REASONS = ("refused", "expired", "withdrawn")
_PERSON_FIELDS = frozenset({"person", "name", "line", "roles", "sort", "key"})
_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)
_ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+/-]{0,63}")


@dataclass(frozen=True)
class Standing:
    """What a person is in this ledger, from entry `from_seq` on."""

    from_seq: int
    name: str
    line: str
    roles: tuple[str, ...]
    sort: str


@dataclass(frozen=True)
class EnrolledKey:
    """A key with the entries it may sign: `from_seq` to `until_seq`, both included.

    `until_seq` is None while the key is valid. `suspect_from_seq` puts earlier
    entries on a list to be looked at; it does not undo them.
    """

    key_id: str
    person: str
    algorithm: str
    spki: bytes
    from_seq: int
    until_seq: int | None = None
    suspect_from_seq: int | None = None

    def is_valid_at(self, seq: int) -> bool:
        """Tell whether the key may sign entry `seq`."""
        return self.from_seq <= seq and (
            self.until_seq is None or seq <= self.until_seq
        )

    @property
    def span(self) -> str:
        """The entries it may sign, in words."""
        if self.until_seq is None:
            return f"from {self.from_seq}"
        return f"{self.from_seq} to {self.until_seq}"


@dataclass(frozen=True)
class Opening:
    """What entry 0 fixes for good."""

    origin: str
    site: str
    demo: bool
    production_day_start: str
    time_zone: str
    log_key: bytes
    persons: tuple[tuple[str, Standing, EnrolledKey], ...]
    policy: Policy
    classes: Classes


@dataclass(frozen=True)
class Revocation:
    """A key that ends, why, and from where on its entries are to be reviewed."""

    person: str
    key: str
    reason: str
    suspect_from_seq: int | None


def parse_opening(statement: dict[str, Any]) -> Opening:
    """Return what `ledger.opened` fixes."""
    said = _data(
        statement,
        {
            "site",
            "demo",
            "production_day_start",
            "time_zone",
            "log_key",
            "persons",
            "policy",
            "classes",
        },
    )
    if type(said["demo"]) is not bool:
        raise KeyringRefusal("data.demo: expected true or false.", field="data.demo")
    if not isinstance(said["persons"], list):
        raise KeyringRefusal("data.persons: expected a list.", field="data.persons")
    origin = statement["origin"]
    persons = tuple(
        _person(item, f"data.persons.{index}", origin=origin, from_seq=0)
        for index, item in enumerate(said["persons"])
    )
    _check_first_persons(persons)
    return Opening(
        origin=origin,
        site=form.text(said["site"], "data.site", KeyringRefusal),
        demo=said["demo"],
        production_day_start=form.text(
            said["production_day_start"],
            "data.production_day_start",
            KeyringRefusal,
            pattern=_CLOCK,
        ),
        time_zone=form.text(
            said["time_zone"], "data.time_zone", KeyringRefusal, pattern=_ZONE
        ),
        log_key=_spki(said["log_key"], "data.log_key"),
        persons=persons,
        policy=parse_policy(said["policy"]),
        classes=parse_classes(said["classes"]),
    )


def parse_enrolment(
    statement: dict[str, Any], *, from_seq: int
) -> tuple[str, Standing, EnrolledKey]:
    """Return person id, standing and key of `person.enrolled`."""
    said = _data(statement, _PERSON_FIELDS | {"identity_check"})
    form.text(said["identity_check"], "data.identity_check", KeyringRefusal)
    person = {name: said[name] for name in _PERSON_FIELDS}
    return _person(person, "data", origin=statement["origin"], from_seq=from_seq)


def parse_rotation(
    statement: dict[str, Any], *, from_seq: int
) -> tuple[str, str, EnrolledKey]:
    """Return person id, old key id and new key of `key.rotated`."""
    said = _data(statement, {"person", "old_key", "key"})
    person = form.person_id(said["person"], "data.person")
    old = form.key_name(said["old_key"], "data.old_key")
    key = _key(
        said["key"],
        "data.key",
        origin=statement["origin"],
        person=person,
        from_seq=from_seq,
    )
    return person, old, key


def parse_revocation(statement: dict[str, Any]) -> Revocation:
    """Return what `key.revoked` says; a key not in doubt may leave that field out."""
    wanted = {"person", "key", "reason"}
    if "suspect_from_seq" in statement["data"]:
        wanted |= {"suspect_from_seq"}
    said = _data(statement, wanted)
    suspect = said.get("suspect_from_seq")
    return Revocation(
        person=form.person_id(said["person"], "data.person"),
        key=form.key_name(said["key"], "data.key"),
        reason=form.text(said["reason"], "data.reason", KeyringRefusal),
        suspect_from_seq=None
        if suspect is None
        else form.integer(suspect, "data.suspect_from_seq"),
    )


def parse_policy_change(statement: dict[str, Any]) -> tuple[Policy, Classes]:
    """Return the policy and classes of `policy.set`."""
    said = _data(statement, {"policy", "classes"})
    return parse_policy(said["policy"]), parse_classes(said["classes"])


def parse_lapsed(
    statement: dict[str, Any],
) -> tuple[dict[str, Any], tuple[Signature, ...]]:
    """Return the quoted statement and the signatures it had been given."""
    said = _data(statement, {"reason", "detail", "statement", "signatures"})
    if said["reason"] not in LAPSE_REASONS:
        raise KeyringRefusal(
            f"data.reason: expected one of {', '.join(LAPSE_REASONS)}.",
            field="data.reason",
        )
    if not isinstance(said["detail"], str):
        raise KeyringRefusal("data.detail: expected text.", field="data.detail")
    quoted, signatures = said["statement"], said["signatures"]
    if not isinstance(quoted, dict) or quoted.get("kind") == LAPSED_KIND:
        raise KeyringRefusal(
            "data.statement: expected the statement that lapsed.",
            field="data.statement",
        )
    if not isinstance(signatures, list) or not signatures:
        raise KeyringRefusal(
            "data.signatures: expected the signatures given so far, at least one.",
            field="data.signatures",
        )
    return quoted, tuple(
        Signature.from_json(item, field=f"data.signatures.{index}")
        for index, item in enumerate(signatures)
    )


def _data(
    statement: dict[str, Any], wanted: set[str] | frozenset[str]
) -> dict[str, Any]:
    if statement["v"] != 1:
        raise UnknownFormat(
            f"{statement['kind']} is of version {statement['v']}; this program knows 1."
        )
    return form.fields(statement["data"], wanted, "data", KeyringRefusal)


def _person(
    value: object, where: str, *, origin: str, from_seq: int
) -> tuple[str, Standing, EnrolledKey]:
    said = form.fields(value, _PERSON_FIELDS, where, KeyringRefusal)
    person = form.person_id(said["person"], f"{where}.person")
    key = _key(
        said["key"], f"{where}.key", origin=origin, person=person, from_seq=from_seq
    )
    standing = Standing(
        from_seq=from_seq,
        name=form.text(said["name"], f"{where}.name", KeyringRefusal),
        line=form.text(said["line"], f"{where}.line", KeyringRefusal),
        roles=_roles(said["roles"], said["sort"], where),
        sort=said["sort"],
    )
    return person, standing, key


def _roles(value: object, sort: object, where: str) -> tuple[str, ...]:
    if sort not in SORTS:
        raise KeyringRefusal(
            f"{where}.sort: expected one of {', '.join(SORTS)}.", field=f"{where}.sort"
        )
    if not isinstance(value, list) or not value:
        raise KeyringRefusal(
            f"{where}.roles: expected at least one role.", field=f"{where}.roles"
        )
    roles = tuple(form.role(item, f"{where}.roles") for item in value)
    if len(set(roles)) != len(roles):
        raise KeyringRefusal(f"{where}.roles: listed twice.", field=f"{where}.roles")
    if (GATEWAY_ROLE in roles) != (sort == "gateway") or (
        sort == "gateway" and len(roles) > 1
    ):
        raise KeyringRefusal(
            f"{where}.roles: a gateway has the role {GATEWAY_ROLE} alone, and a person "
            "never has it.",
            field=f"{where}.roles",
        )
    return roles


def _key(
    value: object, where: str, *, origin: str, person: str, from_seq: int
) -> EnrolledKey:
    said = form.fields(value, {"alg", "id", "spki", "proof"}, where, KeyringRefusal)
    algorithm = form.text(said["alg"], f"{where}.alg", KeyringRefusal)
    if algorithm != ALGORITHM:
        raise UnknownFormat(f"{where}.alg: this program does not know {algorithm}.")
    proof = form.fields(
        said["proof"], {"nonce", "signature"}, f"{where}.proof", KeyringRefusal
    )
    check_nonce(proof["nonce"], field=f"{where}.proof.nonce")
    spki = _spki(said["spki"], f"{where}.spki")
    if form.key_name(said["id"], f"{where}.id") != key_id(spki, algorithm):
        raise KeyringRefusal(
            f"{where}.id: it is not the id of this public key.", field=f"{where}.id"
        )
    if not is_key_proved(said, origin=origin, person=person):
        raise KeyringRefusal(
            f"{where}.proof: the new key did not sign for {person} in this ledger.",
            field=f"{where}.proof",
            code="key_proof_bad",
        )
    return EnrolledKey(said["id"], person, algorithm, spki, from_seq)


def _spki(value: object, where: str) -> bytes:
    spki = from_base64(form.text(value, where, KeyringRefusal), field=where)
    public_key(spki)  # refuses keys that must not be enrolled
    return spki


def _check_first_persons(
    persons: tuple[tuple[str, Standing, EnrolledKey], ...],
) -> None:
    if sum(1 for _, held, _ in persons if held.sort == "person") < 2:
        raise KeyringRefusal(
            "data.persons: a ledger is opened by at least two persons.",
            field="data.persons",
        )
    names = [person for person, _, _ in persons]
    keys = [key.key_id for _, _, key in persons]
    if len(set(names)) != len(names) or len(set(keys)) != len(keys):
        raise KeyringRefusal(
            "data.persons: a person or key is listed twice.", field="data.persons"
        )
