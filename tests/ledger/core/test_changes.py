from dataclasses import replace

import pytest

from ledger.core.base64text import to_base64
from ledger.core.entry import sign
from ledger.core.errors import KeyringRefusal, LedgerRefusal, UnknownFormat
from ledger.core.keyring import Keyring
from ledger.core.signing import (
    enrol_text,
    enrolled_key,
    is_key_proved,
    key_id,
    spki_of_raw,
)
from tests.ledger.core.builder import (
    CLASSES,
    MANAGER,
    NEWCOMER,
    OFFICER,
    ORIGIN,
    PEOPLE,
    POLICY,
    SECURITY,
    WITNESS,
    Book,
    Person,
    enrolment,
    key_of,
    lapse,
    opened_book,
    opening_data,
)

KEEPERS = ((SECURITY, "security"), (OFFICER, "officer"))


@pytest.fixture
def book() -> Book:
    return opened_book()


def code_of(book: Book, statement, **changes) -> str | None:
    """Return the code of the first problem with a statement signed by all."""
    signed = book.sign(statement, [*PEOPLE, NEWCOMER])
    signatures = changes.get("signatures", signed.signatures)
    problems = book.keyring.check_signers(statement, signatures, book.size)
    return problems[0].code if problems else None


def refusal_of(book: Book, *args, **kwargs) -> str:
    with pytest.raises(LedgerRefusal) as refused:
        book.say(*args, **kwargs)
    return refused.value.code


def test_a_revoked_key_signs_up_to_its_revocation_and_not_after(book):
    data = {
        "key": WITNESS.key.key_id,
        "person": WITNESS.person,
        "reason": "lost",
        "suspect_from_seq": 1,
    }
    book.say("key.revoked", data, signers=KEEPERS)
    key = WITNESS.key.key_id
    assert book.keyring.key(key, 1) is not None
    assert book.keyring.key(key, 2) is None
    assert book.keyring.keys[key].suspect_from_seq == 1
    assert code_of(book, book.statement()) == "key_not_valid"
    assert book.keyring.keys_of(WITNESS.person) == []
    assert refusal_of(book, "key.revoked", data, signers=KEEPERS) == "key_not_valid"


def rotation(person: Person, new_name: str) -> dict:
    key = enrolled_key(key_of(new_name), origin=ORIGIN, person=person.person)
    return {"key": key, "old_key": person.key.key_id, "person": person.person}


def test_a_rotation_is_signed_with_the_old_key_and_ends_it(book):
    signers = (*KEEPERS, (WITNESS, "witness"))
    data = rotation(WITNESS, "rotated")
    assert (
        refusal_of(book, "key.rotated", data, signers=KEEPERS)
        == "rotation_without_old_key"
    )
    book.say("key.rotated", data, signers=signers)
    new = replace(WITNESS, key_name="rotated")
    assert [key.key_id for key in book.keyring.keys_of(WITNESS.person)] == [
        new.key.key_id
    ]
    assert code_of(book, book.statement()) == "key_not_valid"
    said = book.statement(signers=[(OFFICER, "officer"), (new, "witness")])
    signed = book.sign(said, [OFFICER, new])
    assert book.keyring.check_signers(said, signed.signatures, book.size) == []


def test_enrolling_again_adds_a_key_and_replaces_the_roles(book):
    again = replace(WITNESS, roles=("manager",), key_name="second device")
    book.say("person.enrolled", enrolment(again), signers=KEEPERS)
    assert book.keyring.person(WITNESS.person).roles == ("manager",)
    assert book.keyring.person(WITNESS.person, 1).roles == ("witness",)
    assert len(book.keyring.keys_of(WITNESS.person)) == 2
    assert code_of(book, book.statement()) == "role_not_held"


NOT_ENROLLED = {
    "by the person concerned": (
        enrolment(replace(OFFICER, key_name="own new key")),
        "signs_own_enrolment",
    ),
    "with a key that is enrolled": (
        enrolment(replace(NEWCOMER, key_name=OFFICER.person)),
        "key_already_enrolled",
    ),
    "as a machine that was a person": (
        enrolment(
            replace(WITNESS, sort="gateway", roles=("gateway",), key_name="other")
        ),
        "sort_changed",
    ),
    "without an identity check": (NEWCOMER.to_json(), "keyring_refusal"),
    "without a role": (enrolment(replace(NEWCOMER, roles=())), "keyring_refusal"),
    "with a role twice": (
        enrolment(replace(NEWCOMER, roles=("witness", "witness"))),
        "keyring_refusal",
    ),
    "with the gateway's role": (
        enrolment(replace(NEWCOMER, roles=("gateway",))),
        "keyring_refusal",
    ),
    "as neither person nor gateway": (
        enrolment(replace(NEWCOMER, sort="robot")),
        "keyring_refusal",
    ),
    "for another ledger": (
        {**NEWCOMER.to_json(ORIGIN[:-1] + "0"), "identity_check": "x"},
        "key_proof_bad",
    ),
    "under another id": (
        {**enrolment(NEWCOMER), "person": "somebody-else"},
        "key_proof_bad",
    ),
}


@pytest.mark.parametrize(
    ("data", "code"), NOT_ENROLLED.values(), ids=NOT_ENROLLED.keys()
)
def test_a_person_is_not_enrolled(book, data, code):
    assert refusal_of(book, "person.enrolled", data, signers=KEEPERS) == code


def spoiled_key(**changes) -> dict:
    data = enrolment(NEWCOMER)
    return {**data, "key": {**data["key"], **changes}}


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(spoiled_key(id=OFFICER.key.key_id), id="another key's id"),
        pytest.param(spoiled_key(id="short"), id="short id"),
        pytest.param(spoiled_key(spki="AAAA"), id="no key"),
        pytest.param(spoiled_key(spki=None), id="null key"),
        pytest.param(spoiled_key(proof=None), id="null proof"),
        pytest.param(
            spoiled_key(proof={"nonce": "x", "signature": "x"}), id="empty proof"
        ),
        pytest.param(
            spoiled_key(
                proof={"nonce": "AAAAAAAAAAAAAAAAAAAAAA", "signature": "A" * 86 + "=="}
            ),
            id="proof of nothing",
        ),
    ],
)
def test_a_spoiled_key_is_not_enrolled(book, data):
    refusal_of(book, "person.enrolled", data, signers=KEEPERS)


def test_a_key_of_small_order_is_not_enrolled(book):
    spki = spki_of_raw(bytes([1]) + bytes(31))
    data = spoiled_key(spki=to_base64(spki), id=key_id(spki))
    assert refusal_of(book, "person.enrolled", data, signers=KEEPERS) == "unsafe_key"


def test_an_unknown_algorithm_could_not_be_checked(book):
    data = spoiled_key(alg="ml-dsa-44")
    with pytest.raises(UnknownFormat):
        book.say("person.enrolled", data, signers=KEEPERS)


def test_an_unknown_version_of_a_standing_kind_could_not_be_checked(book):
    with pytest.raises(UnknownFormat):
        book.say("person.enrolled", enrolment(NEWCOMER), signers=KEEPERS, v=2)


def test_classes_become_narrower_and_never_wider_than_at_the_opening(book):
    narrow = {**CLASSES, "single": []}
    book.say("policy.set", {"classes": narrow, "policy": POLICY}, signers=KEEPERS)
    alone = {"signers": [(OFFICER, "officer")], "sign_class": "single"}
    said = book.statement("record.emergency", **alone)
    assert code_of(book, said) == "class_not_allowed"
    wide = {**CLASSES, "single": ["record.emergency", "hopper.weighed"]}
    data = {"classes": wide, "policy": POLICY}
    assert refusal_of(book, "policy.set", data, signers=KEEPERS) == "classes_widened"
    book.say("policy.set", {"classes": CLASSES, "policy": POLICY}, signers=KEEPERS)
    assert code_of(book, book.statement("record.emergency", **alone)) is None


BAD_OPENINGS = {
    "one person": opening_data([OFFICER]),
    "one person and a gateway": opening_data([OFFICER, PEOPLE[-1]]),
    "a person twice": opening_data([OFFICER, replace(OFFICER, key_name="x"), WITNESS]),
    "no log key": opening_data(log_key="AAAA"),
    "demo is text": opening_data(demo="yes"),
    "day begins at no hour": opening_data(production_day_start="25:00"),
    "zone no name": opening_data(time_zone="Africa Windhoek"),
    "persons no list": opening_data(persons=7),
    "person null": opening_data(persons=[None, None]),
    "policy null": opening_data(policy=None),
    "classes null": opening_data(classes=None),
    "spare field": opening_data(comment="x"),
}


@pytest.mark.parametrize("data", BAD_OPENINGS.values(), ids=BAD_OPENINGS.keys())
def test_a_ledger_is_not_opened_by_a_broken_opening(data):
    book = Book()
    signers = [(person, person.roles[0]) for person in PEOPLE]
    said = book.statement("ledger.opened", data, signers=signers, sign_class="genesis")
    signed = book.sign(said)
    assert book.keyring.check_signers(said, signed.signatures, 0)
    with pytest.raises(LedgerRefusal):
        book.keyring.check_change(said, 0)


def test_a_lapsed_statement_is_quoted_with_its_true_signatures(book):
    data = lapse(book)
    server = {"signers": (), "sign_class": "server"}
    book.say("record.lapsed", data, **server)
    signature = data["signatures"][0]
    spoiled = {
        "lapsed_signature_bad": {
            "statement": {**data["statement"], "data": {"hopper": "H9"}}
        },
        "lapsed_key_unknown": {
            "signatures": [{**signature, "key": SECURITY.key.key_id}]
        },
        "origin_differs": {
            "statement": {**data["statement"], "origin": ORIGIN[:-1] + "0"}
        },
        "keyring_refusal": {"signatures": []},
        "malformed_statement": {"statement": {**data["statement"], "kind": "x"}},
    }
    for code, change in spoiled.items():
        assert refusal_of(book, "record.lapsed", {**data, **change}, **server) == code
    for change in ({"reason": "bored"}, {"detail": 1}, {"statement": None}):
        refusal_of(book, "record.lapsed", {**data, **change}, **server)
    nested = {**data["statement"], "kind": "record.lapsed"}
    refusal_of(book, "record.lapsed", {**data, "statement": nested}, **server)


def test_a_lapse_may_be_due_to_the_revocation_of_its_signer(book):
    data = lapse(book)
    revoked = {
        "key": OFFICER.key.key_id,
        "person": OFFICER.person,
        "reason": "lost",
        "suspect_from_seq": None,
    }
    keepers = ((SECURITY, "security"), (MANAGER, "manager"))
    book.say("key.revoked", revoked, signers=keepers)
    book.say("record.lapsed", data, signers=(), sign_class="server")
    late = lapse(book)
    assert (
        refusal_of(book, "record.lapsed", late, signers=(), sign_class="server")
        == "lapsed_key_not_valid"
    )


def test_a_ledger_is_opened_once(book):
    opening = book.entry(0).statement
    for ring, seq in ((book.keyring, 0), (book.keyring, 1), (Keyring.empty(), 1)):
        with pytest.raises(KeyringRefusal) as refused:
            ring.check_change(opening, seq)
        assert refused.value.code == "genesis_place"


@pytest.mark.parametrize("kind", ["key.revoked", "key.rotated"])
@pytest.mark.parametrize(
    ("person", "key"),
    [
        pytest.param(WITNESS.person, key_of("never enrolled").key_id, id="no such key"),
        pytest.param(OFFICER.person, WITNESS.key.key_id, id="somebody else's key"),
        pytest.param("nobody", WITNESS.key.key_id, id="no such person"),
    ],
)
def test_a_key_ends_only_under_its_owners_name(book, kind, person, key):
    new = enrolled_key(key_of("new"), origin=ORIGIN, person=person)
    data = {
        "key.revoked": {
            "key": key,
            "person": person,
            "reason": "lost",
            "suspect_from_seq": None,
        },
        "key.rotated": {"key": new, "old_key": key, "person": person},
    }[kind]
    assert refusal_of(book, kind, data, signers=KEEPERS) == "key_of_other_person"


def test_a_revoked_key_that_is_not_in_doubt_needs_no_word_about_it(book):
    key = WITNESS.key.key_id
    data = {"key": key, "person": WITNESS.person, "reason": "left"}
    book.say("key.revoked", data, signers=KEEPERS)
    assert book.keyring.key(key) is None
    assert book.keyring.keys[key].suspect_from_seq is None


def test_a_key_is_not_enrolled_under_the_id_of_another(book):
    """Even where the new key itself has signed for that id."""
    data = enrolment(NEWCOMER)
    nonce = book.nonce()
    other = key_of("other").key_id
    text = enrol_text(origin=ORIGIN, person=NEWCOMER.person, key=other, nonce=nonce)
    proof = {"nonce": nonce, "signature": to_base64(NEWCOMER.key.sign(text))}
    data["key"] |= {"id": other, "proof": proof}
    assert is_key_proved(data["key"], origin=ORIGIN, person=NEWCOMER.person)
    assert refusal_of(book, "person.enrolled", data, signers=KEEPERS) == (
        "keyring_refusal"
    )


def test_a_lapse_does_not_quote_a_lapse(book):
    quoted = book.statement("record.lapsed", lapse(book), entry_id=book.entry_id(55))
    first = sign(quoted, OFFICER.key, nonce=book.nonce())
    data = {**lapse(book), "statement": quoted, "signatures": [first.to_json()]}
    with pytest.raises(KeyringRefusal, match=r"data\.statement"):
        book.say("record.lapsed", data, signers=(), sign_class="server")
