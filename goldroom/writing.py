"""Writing the one statement of a saying: kind, canonical values, basis, signers."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from goldroom import roles
from goldroom.errors import Refusal, UnknownEntry, UnknownPerson
from goldroom.keys import LOG_KEY, KeyNotHere, Keys
from goldroom.sayings import MEANINGS, Saying, new_entry_id
from goldroom.statements.fold import canonical_values, read_values
from goldroom.statements.registry import kind_named
from ledger import proposals, read
from ledger.admission import lapsed_entry_id
from ledger.core.base64text import to_base64
from ledger.core.entry import Entry, build_statement
from ledger.core.errors import KeyringRefusal
from ledger.core.keyring import Keyring
from ledger.core.merkle import EMPTY_ROOT
from ledger.core.policy import Slot
from ledger.core.signing import SigningKey, enrolled_key
from ledger.errors import EntryIdUsed, NoSuchEntry, NoSuchProposal
from ledger.proposal import Proposal
from ledger.sealed_keys import SUFFIX

OPENED = "ledger.opened"
YEARS = range(1900, 3000)  # any other year is a slip of the pen
ENROLLED = "person.enrolled"


class RoleMayNotSign(Refusal):
    """The roles named may not sign this kind of statement."""

    code = "role_may_not_sign"


class BadTime(Refusal):
    """A time is not RFC 3339 to the second with a numeric offset."""

    code = "bad_time"


class SimulatedClock(Refusal):
    """A clock was handed in, or a time of receipt, outside a demo ledger."""

    code = "simulated_clock"


class NotOpened(Refusal):
    """There is no ledger here yet."""

    code = "not_opened"


@dataclass(frozen=True)
class Standpoint:
    """Where a statement is written from: keyring, basis, and leaf hashes by entry id.

    `leaf_hash_of` returns None for an entry that is not in the ledger.
    """

    ring: Keyring
    basis: Mapping[str, Any]
    leaf_hash_of: Callable[[str], bytes | None]


def standpoint(ledger_id: int | None) -> Standpoint:
    """Return the standpoint of a ledger as it is now; of none, if there is none."""
    if ledger_id is None:
        empty = {"root": to_base64(EMPTY_ROOT), "size": 0}
        return Standpoint(Keyring.empty(), empty, lambda entry_id: None)
    return Standpoint(
        read.keyring(ledger_id),
        read.basis(ledger_id),
        partial(_leaf_hash_of, ledger_id),
    )


def statement_of(here: Standpoint, saying: Saying, keys: Keys) -> dict[str, Any]:
    """Return the one statement of a saying; refuse what cannot be signed so."""
    _check_time(saying.occurred_at)
    ring = here.ring
    if saying.kind == OPENED:
        return _opening(saying, keys)
    if ring.opening is None:
        raise NotOpened(
            "kind: no ledger is open here. The first statement must be ledger.opened.",
            field="kind",
        )
    data = _completed(saying, keys, ring.origin)
    said = read_values(saying.kind, data)
    check_hands(ring, saying)
    return build_statement(
        kind=saying.kind,
        v=said.v,
        data=canonical_values(said),
        entry_id=saying.entry_id or new_entry_id(),
        origin=ring.origin,
        occurred_at=saying.occurred_at,
        basis=dict(here.basis),
        signers=_signers(ring, saying),
        sign_class=said.klass,
        corrects=_corrects(here, saying),
        attachments=saying.attachments,
    )


def check_hands(ring: Keyring, saying: Saying) -> None:
    """Refuse unknown persons, roles not held, and signers the policy does not take."""
    for n, each in enumerate(saying.signers):
        held = ring.person(each.person)
        if held is None:
            raise UnknownPerson(
                f"signers[{n}]: nobody is enrolled as {each.person!r}. Check the id, or"
                " enrol the person first.",
                field=f"signers[{n}].person",
            )
        if each.role not in held.roles:
            raise RoleMayNotSign(
                f"signers[{n}]: {each.person} is not enrolled as {each.role}, but as"
                f" {', '.join(held.roles)}. Write a role held, or name another.",
                field=f"signers[{n}].role",
            )
    kind = kind_named(saying.kind)
    people = [each.person for each in saying.signers]
    if kind.klass != "two" or len(set(people)) != len(people):
        return  # the envelope's own rules speak
    if missing := _slots_open(ring, saying):
        wanted = "; and ".join(" or ".join(slot) for slot in missing)
        raise RoleMayNotSign(
            f"signers: {saying.kind} still needs a signature as {wanted}, of another"
            " reporting line where the policy says so. Name who will sign.",
            field="signers",
        )


def _slots_open(ring: Keyring, saying: Saying) -> tuple[Slot, ...]:
    """Return the slots still open; say how a newer kind gets its rule."""
    signers = [(each.person, each.role) for each in saying.signers]
    try:
        return ring.missing_for(saying.kind, signers)
    except KeyringRefusal as refusal:
        how = "The command policy_line prints the line that gives it one."
        raise KeyringRefusal(
            f"{refusal.message} {how}", code=refusal.code, field="kind"
        ) from refusal


def already_said(ledger_id: int, saying: Saying) -> Entry | None:
    """Return the entry that this saying already is; None if it is new.

    Raises EntryIdUsed when its id stands for something else.
    """
    if not saying.entry_id:
        return None
    entry_id = saying.entry_id
    try:
        if saying.withdrawn:
            lapsed = read.entry_by_id(ledger_id, lapsed_entry_id(entry_id))
            return _same_lapse(lapsed, saying)
        entry = read.entry_by_id(ledger_id, entry_id)
    except NoSuchEntry:
        return None
    if not _is_same(entry.statement, saying):
        raise EntryIdUsed(
            f"entry_id: {saying.entry_id} stands for another statement, entry"
            f" {entry.seq}. Give a new statement a new id.",
            field="entry_id",
        )
    return entry


def already_proposed(ledger_id: int, saying: Saying) -> Proposal | None:
    """Return the proposal that this saying already is, waiting or an entry by now.

    None if it is new. Raises EntryIdUsed when its id stands for something else, and
    ProposalLapsed when it was taken back or its time was over.
    """
    if not saying.entry_id:
        return None
    try:
        known = proposals.get(ledger_id, saying.entry_id)
    except NoSuchProposal:
        return None
    if not _is_same(known.statement, saying):
        raise EntryIdUsed(
            f"entry_id: {saying.entry_id} stands for another statement, proposed at"
            f" {known.created_at}. Give a new statement a new id.",
            field="entry_id",
        )
    return known


def _is_same(said: Mapping[str, Any], saying: Saying) -> bool:
    """Tell whether a statement says what the saying says, whatever its basis."""
    return bool(
        said["kind"] == saying.kind
        and said["occurred_at"] == saying.occurred_at
        and _same_data(said, saying)
        and _same_signers(said, saying)
        and (said["corrects"] or {}).get("entry", "") == saying.corrects
        and said["attachments"] == [dict(each) for each in saying.attachments]
    )


def _same_lapse(lapsed: Entry, saying: Saying) -> Entry:
    quoted = lapsed.data["statement"]
    if quoted["kind"] != saying.kind or lapsed.data["detail"] != saying.withdrawn:
        raise EntryIdUsed(
            f"entry_id: {saying.entry_id} was taken back as another statement, entry"
            f" {lapsed.seq}. Give a new statement a new id.",
            field="entry_id",
        )
    return lapsed


def unlocked(keys: Keys, person: str) -> SigningKey:
    """Return the person's unlocked key. Raises KeyNotHere."""
    key = keys.get(person)
    if key is None:
        raise KeyNotHere(
            f"signers: the key of {person} is not unlocked here. Put the sealed key"
            f" file, {person}{SUFFIX}, into the folder of keys.",
            field="signers",
        )
    return key


def _same_signers(said: Mapping[str, Any], saying: Saying) -> bool:
    """Tell whether the signers are those named; an opening may leave them out."""
    if saying.kind == OPENED and not saying.signers:
        return True
    signers = [(each["person"], each["role"]) for each in said["signers"]]
    return signers == [(each.person, each.role) for each in saying.signers]


def _same_opening(said: Mapping[str, Any], saying: Saying) -> bool:
    """Tell whether an opening says the same; keys and rules may be left out."""
    given = dict(saying.data)
    name = given.pop("origin_name", "")
    opened = dict(said["data"])
    persons = given.pop("persons", [])
    return (
        said["origin"].rpartition("/")[0] == name
        and len(persons) == len(opened["persons"])
        and all(
            {field: there.get(field) for field in row} == dict(row)
            for row, there in zip(persons, opened["persons"], strict=True)
        )
        and {field: opened.get(field) for field in given} == given
    )


def _same_data(said: Mapping[str, Any], saying: Saying) -> bool:
    if saying.kind == OPENED:
        return _same_opening(said, saying)
    data = dict(said["data"])
    if saying.kind == ENROLLED and "key" not in saying.data:
        data.pop("key")
        return data == dict(saying.data)
    return data == canonical_values(read_values(saying.kind, saying.data))


def _completed(saying: Saying, keys: Keys, origin: str) -> Mapping[str, Any]:
    if saying.kind != ENROLLED or "key" in saying.data:
        return saying.data
    person = str(saying.data.get("person", ""))
    key = enrolled_key(unlocked(keys, person), origin=origin, person=person)
    return {**saying.data, "key": key}


def _signers(ring: Keyring, saying: Saying) -> list[dict[str, str]]:
    found = []
    for n, each in enumerate(saying.signers):
        held = ring.keys_of(each.person)
        if not held:
            raise KeyNotHere(
                f"signers[{n}]: {each.person} has no valid key. Enrol or rotate one.",
                field=f"signers[{n}].person",
            )
        found.append(
            {
                "key": held[-1].key_id,
                "meaning": MEANINGS[min(n, len(MEANINGS) - 1)],
                "person": each.person,
                "role": each.role,
            }
        )
    return found


def _corrects(here: Standpoint, saying: Saying) -> dict[str, str] | None:
    if not saying.corrects:
        return None
    leaf_hash = here.leaf_hash_of(saying.corrects)
    if leaf_hash is None:
        raise UnknownEntry(
            f"corrects: no entry {saying.corrects!r} is in this ledger. The journal"
            " tells each entry's id: take it from there.",
            field="corrects",
        )
    return {"entry": saying.corrects, "leaf": to_base64(leaf_hash)}


def _leaf_hash_of(ledger_id: int, entry_id: str) -> bytes | None:
    try:
        return read.entry_by_id(ledger_id, entry_id).leaf_hash
    except NoSuchEntry:
        return None


def _opening(saying: Saying, keys: Keys) -> dict[str, Any]:
    data = dict(saying.data)
    origin_name = data.pop("origin_name", "")
    if not isinstance(origin_name, str) or not origin_name:
        raise NotOpened(
            "data.origin_name: name the ledger, such as mine.example/goldroom.",
            field="data.origin_name",
        )
    origin = f"{origin_name}/{secrets.token_hex(16)}"
    persons = []
    for each in data.get("persons", []):
        person = str(each["person"])
        key = enrolled_key(unlocked(keys, person), origin=origin, person=person)
        persons.append({"key": key, **each})
    data["persons"] = persons
    data["log_key"] = to_base64(unlocked(keys, LOG_KEY).spki)
    data.setdefault("policy", roles.default_policy())
    data.setdefault("classes", roles.default_classes())
    said = read_values(OPENED, data)
    return build_statement(
        kind=OPENED,
        v=said.v,
        data=canonical_values(said),
        entry_id=saying.entry_id or new_entry_id(),
        origin=origin,
        occurred_at=saying.occurred_at,
        basis={"root": to_base64(EMPTY_ROOT), "size": 0},
        signers=_first_signers(saying, persons),
        sign_class="genesis",
    )


def _first_signers(
    saying: Saying, persons: list[dict[str, Any]]
) -> list[dict[str, str]]:
    role_of = {each.person: each.role for each in saying.signers}
    return [
        {
            "key": each["key"]["id"],
            "meaning": "opened",
            "person": each["person"],
            "role": role_of.get(each["person"], each["roles"][0]),
        }
        for each in persons
    ]


def moment_of(text: str, field: str) -> datetime:
    """Return the moment of an RFC 3339 text with its offset. Raises BadTime."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.utcoffset() is None:
        raise BadTime(
            f"{field}: found {text!r}, expected a time with its offset, such as"
            " 2026-01-31T06:00:00+02:00. Write it so.",
            field=field,
        )
    if found.year not in YEARS:
        raise BadTime(
            f"{field}: found the year {found.year}, expected {YEARS.start} to"
            f" {YEARS.stop - 1}. Check the date.",
            field=field,
        )
    return found


def check_simulated(is_demo: bool) -> None:
    """Raise SimulatedClock outside a demo ledger."""
    if not is_demo:
        raise SimulatedClock(
            "received_at: only a demo ledger takes a time of receipt from outside."
            " Leave it out.",
            field="received_at",
        )


def _check_time(text: str) -> None:
    found = moment_of(text, "occurred_at")
    if found.isoformat() != text or found.microsecond:
        raise BadTime(
            f"occurred_at: found {text!r}, expected a time to the second with its"
            " offset, such as 2026-01-31T06:00:00+02:00. Write it so.",
            field="occurred_at",
        )
