from dataclasses import replace

import pytest

from ledger.core.errors import KeyringRefusal, LedgerRefusal, UnknownFormat
from ledger.core.keyring import Keyring
from tests.ledger.core.builder import (
    CLASSES,
    LOG_KEY,
    MANAGER,
    NEWCOMER,
    OFFICER,
    ORIGIN,
    PEOPLE,
    POLICY,
    SECOND_OFFICER,
    SECURITY,
    WITNESS,
    Book,
    enrolment,
    opened_book,
    opening_data,
    twelve_entries,
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


def test_the_opening_enrols_its_persons_for_the_entry_itself_and_after(book):
    held = book.keyring.person(OFFICER.person)
    assert (held.name, held.line, held.roles) == (
        "Orla Varga",
        "metallurgy",
        ("officer",),
    )
    assert book.keyring.key(OFFICER.key.key_id, 0).person == OFFICER.person
    assert book.keyring.origin == ORIGIN
    assert book.keyring.log_key == LOG_KEY.spki
    assert Keyring.empty().origin == ""
    assert Keyring.empty().log_key is None


def test_the_fold_never_changes_an_earlier_keyring():
    book = opened_book()
    before = book.keyring
    book.say("person.enrolled", enrolment(NEWCOMER), signers=KEEPERS)
    assert before.person(NEWCOMER.person) is None
    assert book.keyring.person(NEWCOMER.person) is not None
    assert (before.size, book.keyring.size) == (1, 2)


def test_a_new_key_signs_after_its_enrolment_and_not_in_it(book):
    book.say("person.enrolled", enrolment(NEWCOMER), signers=KEEPERS)
    key = NEWCOMER.key.key_id
    assert [book.keyring.key(key, seq) is not None for seq in (0, 1, 2, 3)] == [
        False,
        False,
        True,
        True,
    ]
    said = book.statement(signers=[(OFFICER, "officer"), (NEWCOMER, "witness")])
    assert code_of(book, said) is None


def test_two_keys_of_one_person_never_count_as_two(book):
    again = replace(WITNESS, roles=("officer", "witness"), key_name="second device")
    book.say("person.enrolled", enrolment(again), signers=KEEPERS)
    said = book.statement(signers=[(again, "officer"), (SECURITY, "witness")])
    second = {**said["signers"][1], "key": WITNESS.key.key_id}
    said["signers"][1] = second
    signed = book.sign(said, [again, WITNESS])
    codes = {
        problem.code
        for problem in book.keyring.check_signers(said, signed.signatures, book.size)
    }
    assert "key_of_other_person" in codes


def test_an_unknown_version_of_any_other_kind_is_not_our_business(book):
    book.say(v=17)


TWO = ((OFFICER, "officer"), (WITNESS, "witness"))
PROBLEMS = {
    "in order": ({}, None),
    "the other slot's role": (
        {"signers": [(OFFICER, "officer"), (SECURITY, "security")]},
        None,
    ),
    "a third joins": ({"signers": [*TWO, (MANAGER, "manager")]}, None),
    "a role not held": (
        {"signers": [(OFFICER, "officer"), (WITNESS, "security")]},
        "role_not_held",
    ),
    "roles swapped": (
        {"signers": [(OFFICER, "witness"), (WITNESS, "officer")]},
        "role_not_held",
    ),
    "one line": (
        {"signers": [(OFFICER, "officer"), (SECOND_OFFICER, "witness")]},
        "same_line",
    ),
    "slot open": (
        {"signers": [(OFFICER, "officer"), (MANAGER, "manager")]},
        "slots_not_filled",
    ),
    "no rule": ({"kind": "nobody.said"}, "kind_without_rule"),
    "class not allowed": (
        {"signers": [(OFFICER, "officer")], "sign_class": "single"},
        "class_not_allowed",
    ),
    "machine class for a person": (
        {
            "kind": "cycles.recorded",
            "signers": [(OFFICER, "officer")],
            "sign_class": "machine",
        },
        "wrong_sort",
    ),
    "emergency by a machine": (
        {
            "kind": "record.emergency",
            "signers": [(PEOPLE[-1], "gateway")],
            "sign_class": "single",
        },
        "wrong_sort",
    ),
    "machine as one of two": (
        {"signers": [*TWO, (PEOPLE[-1], "gateway")]},
        "wrong_sort",
    ),
    "a stranger": (
        {"signers": [(OFFICER, "officer"), (NEWCOMER, "witness")]},
        "key_unknown",
    ),
    "genesis again": (
        {
            "kind": "ledger.opened",
            "data": opening_data(),
            "sign_class": "genesis",
        },
        "genesis_place",
    ),
    "opened under two": ({"kind": "ledger.opened"}, "kind_without_rule"),
    "emergency in class two": (
        {"kind": "record.emergency", "signers": KEEPERS},
        None,
    ),
}


@pytest.mark.parametrize(("said", "code"), PROBLEMS.values(), ids=PROBLEMS.keys())
def test_signers_are_judged_by_the_rules_in_force(book, said, code):
    assert code_of(book, book.statement(**said)) == code


def test_signatures_are_matched_to_signers_one_by_one(book):
    said = book.statement()
    first, second = book.sign(said).signatures
    spoiled = replace(first, signature=bytes(64))
    cases = {
        "signature_count": (first,),
        "signature_order": (second, first),
        "signature_bad": (spoiled, second),
        "algorithm_differs": (replace(first, alg="webauthn-es256"), second),
    }
    for code, signatures in cases.items():
        assert code_of(book, said, signatures=signatures) == code
    assert code_of(book, said, signatures=()) == "signature_count"
    assert code_of(book, said, signatures=(first, second, second)) == "signature_count"
    third = replace(first, key=SECURITY.key.key_id)
    (problem,) = book.keyring.check_signature(said, third, book.size)
    assert problem.code == "key_not_named"


def test_a_signature_of_one_role_or_nonce_fits_no_other(book):
    said = book.statement()
    first, second = book.sign(said).signatures
    other = book.statement(data={"hopper": "H2"})
    assert code_of(book, other, signatures=(first, second)) == "signature_bad"
    swapped = (replace(first, nonce=second.nonce), second)
    assert code_of(book, said, signatures=swapped) == "signature_bad"


def test_what_is_missing_is_said_in_roles(book):
    ring = book.keyring
    kind = "hopper.weighed"
    assert ring.missing_for(kind, []) == (("officer",), ("witness", "security"))
    assert ring.missing_for(kind, [(OFFICER.person, "officer")]) == (
        ("witness", "security"),
    )
    both = [(OFFICER.person, "officer"), (WITNESS.person, "witness")]
    assert ring.missing_for(kind, both) == ()
    stranger = [(OFFICER.person, "officer"), ("nobody", "witness")]
    assert len(ring.missing_for(kind, stranger)) == 1
    with pytest.raises(KeyringRefusal) as refused:
        ring.missing_for("nobody.said", [])
    assert refused.value.code == "kind_without_rule"


def test_a_policy_judges_only_what_comes_after_it(book):
    group = {"lines_differ": False, "name": "room", "slots": [["officer"], ["manager"]]}
    policy = {**POLICY, "groups": [group, POLICY["groups"][1]]}
    pair = [(OFFICER, "officer"), (MANAGER, "manager")]
    assert code_of(book, book.statement(signers=pair)) == "slots_not_filled"
    book.say("policy.set", {"classes": CLASSES, "policy": policy}, signers=KEEPERS)
    assert code_of(book, book.statement(signers=pair)) is None
    assert code_of(book, book.statement()) == "slots_not_filled"


def test_every_first_key_signs_the_opening():
    book = Book()
    signers = [(person, person.roles[0]) for person in PEOPLE[:-1]]
    said = book.statement(
        "ledger.opened", opening_data(), signers=signers, sign_class="genesis"
    )
    assert code_of(book, said) == "genesis_signers"


def test_nothing_is_said_in_a_ledger_that_is_not_open():
    book = Book()
    said = book.statement()
    codes = {
        problem.code
        for problem in book.keyring.check_signers(said, book.sign(said).signatures, 0)
    }
    assert "not_opened" in codes


def problems_of_basis(book: Book, basis: dict) -> list[str]:
    said = book.statement(basis=basis)
    return [
        problem.code
        for problem in book.keyring.check_basis(said, book.size, book.roots.__getitem__)
    ]


def test_the_basis_is_a_recent_state_of_this_ledger():
    book = opened_book()
    for _ in range(11):
        book.say()
    assert problems_of_basis(book, book.basis()) == []
    assert problems_of_basis(book, book.basis(4)) == []
    assert problems_of_basis(book, book.basis(3)) == ["basis_lag"]
    assert problems_of_basis(book, book.basis(0)) == ["basis_size"]
    assert problems_of_basis(book, {**book.basis(), "size": 13}) == ["basis_size"]
    assert problems_of_basis(book, {**book.basis(), "size": 11}) == ["basis_root"]


def test_the_same_entries_always_give_the_same_keyring():
    one, other = Keyring.empty(), Keyring.empty()
    book = twelve_entries()
    for seq in range(book.size):
        one, other = one.apply(book.entry(seq)), other.apply(book.entry(seq))
    assert one == other == book.keyring


def test_an_algorithm_that_only_newer_programs_know_could_not_be_checked(book):
    key = replace(book.keyring.keys[OFFICER.key.key_id], algorithm="ml-dsa-44")
    ring = replace(book.keyring, keys={**book.keyring.keys, key.key_id: key})
    said = book.statement()
    first, second = book.sign(said).signatures
    with pytest.raises(UnknownFormat):
        ring.check_signers(said, (replace(first, alg="ml-dsa-44"), second), 1)


def test_the_entries_a_key_may_sign_are_said_in_words(book):
    assert book.keyring.keys[OFFICER.key.key_id].span == "from 0"
    ended = replace(book.keyring.keys[OFFICER.key.key_id], until_seq=4)
    assert ended.span == "0 to 4"
