from dataclasses import replace
from datetime import timedelta

import pytest

from ledger.core.base64text import to_base64
from ledger.core.canonical import decode, encode
from ledger.core.entry import Signed, assemble, parse_leaf, sign
from ledger.core.merkle import leaf_hash
from ledger.core.verifier import Verifier
from tests.ledger.core.builder import (
    CLASSES,
    MANAGER,
    NEWCOMER,
    OFFICER,
    ORIGIN,
    PEOPLE,
    POLICY,
    SECOND_OFFICER,
    SECURITY,
    START,
    WITNESS,
    Book,
    enrolment,
    lapse,
    opened_book,
    resigned,
)
from tests.ledger.core.verdicts import BOOK, FILES, anchor_of, codes, verify

KEEPERS = ((SECURITY, "security"), (OFFICER, "officer"))


def test_an_honest_ledger_is_verified_and_pinned_by_a_checkpoint_kept_elsewhere():
    report = verify(BOOK.leaves, anchors=[anchor_of(BOOK)])
    assert (report.findings, report.could_not_check) == ((), ())
    assert (report.size, report.root) == (12, BOOK.roots[12])
    assert report.last_hash == BOOK.last_hash
    assert report.exit_code == 0
    assert report.tail == "tail pinned: size 12"


def test_an_honest_ledger_without_an_anchor_is_not_pinned():
    report = verify(BOOK.leaves)
    assert report.exit_code == 3
    assert report.tail == "tail not pinned"
    assert report.verdict == "verified, but not pinned"


def test_findings_name_the_entry_and_the_later_ones_are_still_checked():
    leaves = list(BOOK.leaves)
    leaves[3] = leaves[3].replace(b'"flush":1409', b'"flush":1408')
    bad_role = leaves[9].replace(b'"net_g":"1042.5"', b'"net_g":"1042.6"')
    leaves[9] = bad_role
    found = {(finding.seq, finding.code) for finding in verify(leaves).findings}
    assert {(3, "signature_bad"), (4, "previous"), (4, "basis_root")} <= found
    assert {(9, "signature_bad"), (10, "previous")} <= found
    assert (6, "previous") not in found


def put(book: Book, *, people=PEOPLE, server=None, **said) -> None:
    """Append a signed statement without asking whether it may be."""
    statement = book.statement(**said)
    book.put(book.sign(statement, people), **(server or {}))


def cite_wrongly(book: Book, **change) -> None:
    cited = book.entry(2)
    put(
        book,
        corrects={
            "entry": cited.entry_id,
            "leaf": to_base64(cited.leaf_hash),
            **change,
        },
    )


def replay_nonce(book: Book) -> None:
    statement = book.statement()
    old = book.entry(1).signatures[0].nonce
    signed = book.sign(statement)
    book.put(resigned(signed, 0, sign(statement, OFFICER.key, nonce=old)))


def replay_nonce_within_the_entry(book: Book) -> None:
    statement = book.statement()
    nonce = book.nonce()
    book.put(
        Signed(
            statement,
            tuple(sign(statement, who.key, nonce=nonce) for who in (OFFICER, WITNESS)),
        )
    )


def sign_twice_with_a_lapsed_nonce(book: Book) -> None:
    data = lapse(book)
    book.say("record.lapsed", data, signers=(), sign_class="server")
    statement = book.statement()
    nonce = data["signatures"][0]["nonce"]
    signed = book.sign(statement)
    book.put(resigned(signed, 0, sign(statement, OFFICER.key, nonce=nonce)))


def sign_with_a_revoked_key(book: Book) -> None:
    data = {
        "key": WITNESS.key.key_id,
        "person": WITNESS.person,
        "reason": "lost",
        "suspect_from_seq": None,
    }
    book.say("key.revoked", data, signers=KEEPERS)
    put(book)


def sign_before_enrolment(book: Book) -> None:
    put(
        book,
        people=[*PEOPLE, NEWCOMER],
        signers=[(OFFICER, "officer"), (NEWCOMER, "witness")],
    )
    book.say("person.enrolled", enrolment(NEWCOMER), signers=KEEPERS)


def let_the_basis_grow_old(book: Book) -> None:
    for _ in range(8):
        book.say()
    put(book, basis=book.basis(2))


def keep_a_clock_that_was_not_held(book: Book) -> None:
    put(book, server={"clock_held": True})


def use_a_signature_of_another_statement(book: Book) -> None:
    signatures = book.sign(book.statement(data={"hopper": "H9"})).signatures
    book.put(Signed(book.statement(), signatures))


def swap_signatures(book: Book) -> None:
    signed = book.sign(book.statement())
    book.put(replace(signed, signatures=signed.signatures[::-1]))


def strip_a_signature(book: Book) -> None:
    signed = book.sign(book.statement())
    book.put(replace(signed, signatures=signed.signatures[:1]))


def name_another_algorithm(book: Book) -> None:
    signed = book.sign(book.statement())
    spoiled = replace(signed.signatures[0], alg="webauthn-es256")
    book.put(resigned(signed, 0, spoiled))


def sign_with_somebody_elses_key(book: Book) -> None:
    statement = book.statement()
    statement["signers"][1]["key"] = SECURITY.key.key_id
    book.put(book.sign(statement))


def sign_in_another_ledger(book: Book) -> None:
    other = Book(origin=ORIGIN[:-1] + "0")
    statement = other.statement(basis=book.basis())
    book.put(other.sign(statement))


VIOLATIONS = {
    "seq": lambda book: put(book, server={"seq": 7}),
    "previous": lambda book: put(book, server={"previous": bytes(32)}),
    "at_falls": lambda book: put(book, server={"at": START}),
    "clock_held": keep_a_clock_that_was_not_held,
    "basis_root": lambda book: put(book, basis={**book.basis(), "size": 2}),
    "basis_size": lambda book: put(book, basis={**book.basis(), "size": 9}),
    "basis_lag": let_the_basis_grow_old,
    "entry_id_used": lambda book: put(book, entry_id=book.entry_id(1)),
    "origin_differs": sign_in_another_ledger,
    "corrects_unknown": lambda book: cite_wrongly(book, leaf=to_base64(bytes(32))),
    "corrects_unknown (never written)": lambda book: cite_wrongly(
        book, entry=book.entry_id(99)
    ),
    "corrects_unknown (itself)": lambda book: cite_wrongly(book, entry=book.entry_id()),
    "nonce_used": replay_nonce,
    "nonce_used (in the entry)": replay_nonce_within_the_entry,
    "nonce_used (in a lapse)": sign_twice_with_a_lapsed_nonce,
    "signature_bad": use_a_signature_of_another_statement,
    "signature_order": swap_signatures,
    "signature_count": strip_a_signature,
    "algorithm_differs": name_another_algorithm,
    "key_of_other_person": sign_with_somebody_elses_key,
    "key_unknown": sign_before_enrolment,
    "key_not_valid": sign_with_a_revoked_key,
    "role_not_held": lambda book: put(
        book, signers=[(OFFICER, "officer"), (WITNESS, "security")]
    ),
    "same_line": lambda book: put(
        book, signers=[(OFFICER, "officer"), (SECOND_OFFICER, "witness")]
    ),
    "slots_not_filled": lambda book: put(
        book, signers=[(OFFICER, "officer"), (MANAGER, "manager")]
    ),
    "kind_without_rule": lambda book: put(book, kind="nobody.said"),
    "class_not_allowed": lambda book: put(
        book, signers=[(OFFICER, "officer")], sign_class="single"
    ),
    "wrong_sort": lambda book: put(
        book,
        kind="cycles.recorded",
        signers=[(OFFICER, "officer")],
        sign_class="machine",
    ),
    "genesis_place": lambda book: put(
        book,
        kind="ledger.opened",
        data=book.entry(0).data,
        signers=[(person, person.roles[0]) for person in PEOPLE],
        sign_class="genesis",
    ),
    "signs_own_enrolment": lambda book: put(
        book,
        kind="person.enrolled",
        data=enrolment(replace(OFFICER, key_name="new")),
        signers=KEEPERS,
    ),
    "key_already_enrolled": lambda book: put(
        book, kind="person.enrolled", data=enrolment(OFFICER), signers=KEEPERS
    ),
    "classes_widened": lambda book: put(
        book,
        kind="policy.set",
        data={"classes": {**CLASSES, "server": ["a.b"]}, "policy": POLICY},
        signers=KEEPERS,
    ),
    "lapsed_signature_bad": lambda book: put(
        book,
        kind="record.lapsed",
        data={**lapse(book), "statement": book.statement(data={"hopper": "H9"})},
        signers=(),
        sign_class="server",
    ),
}


@pytest.mark.parametrize(("name", "violate"), VIOLATIONS.items(), ids=VIOLATIONS.keys())
def test_each_broken_rule_is_found_at_its_entry(name, violate):
    book = opened_book()
    book.say()
    book.say("seal.fitted", {"seal": "S-0412"})
    assert verify(book.leaves, files=()).findings == ()
    violate(book)
    report = verify(book.leaves, files=())
    found = {finding.code: finding.seq for finding in report.findings}
    code = name.split(" (")[0]
    assert code in found
    assert found[code] >= 3
    assert report.exit_code == 2


def test_a_first_entry_that_is_no_opening_is_found():
    book = Book()
    put(book)
    assert "not_opened" in codes(verify(book.leaves, files=()))


def future(leaf: bytes) -> bytes:
    value = decode(leaf)
    value["statement"]["format"] = 2
    return encode(value)


def test_an_unknown_format_could_not_be_checked_and_is_no_tampering():
    book = opened_book()
    leaf = future(assemble(
        book.sign(book.statement()), seq=1, previous=book.last_hash, at=START
    ))  # fmt: skip
    report = verify([*book.leaves, leaf], files=())
    assert report.exit_code == 1
    assert "format 2" in report.could_not_check[0]


def test_what_follows_an_unknown_format_is_still_checked_as_far_as_possible():
    """It may have enrolled the signer of the next entry, but its hash counts."""
    book = opened_book()
    leaf = future(assemble(
        book.sign(book.statement()), seq=1, previous=book.last_hash, at=START
    ))  # fmt: skip
    book.leaves.append(leaf)
    book.frontier.append(leaf_hash(leaf))
    book.roots.append(book.frontier.root())
    statement = book.statement(signers=[(OFFICER, "officer"), (NEWCOMER, "witness")])
    signed = book.sign(statement, [*PEOPLE, NEWCOMER])
    good = assemble(signed, seq=2, previous=leaf_hash(leaf), at=START)
    report = verify([*book.leaves, good], files=())
    assert report.exit_code == 1
    assert any("never enrolled" in text for text in report.could_not_check)
    bad = assemble(signed, seq=2, previous=bytes(32), at=START)
    assert verify([*book.leaves, bad], files=()).exit_code == 2


def test_an_unassigned_character_could_not_be_checked():
    leaf = BOOK.leaves[0].replace(b"Larkfield", "Lark\u0378field".encode())
    report = verify([leaf], files=())
    assert report.exit_code == 1


def test_a_row_that_differs_from_its_leaf_is_found():
    def fed(**change):
        verifier = Verifier()
        for seq, leaf in enumerate(BOOK.leaves):
            entry = parse_leaf(leaf)
            row = {"seq": seq, "entry_id": entry.entry_id, "hash": entry.leaf_hash}
            row |= change if seq == 4 else {}
            verifier.feed(leaf, (row["seq"], row["entry_id"], row["hash"]))
        return codes(verifier.finish(attachments=FILES))

    assert fed() == set()
    assert fed(seq=5) == {"row_seq"}
    assert fed(hash=bytes(32)) == {"row_hash"}
    assert fed(entry_id=BOOK.entry_id(3)) == {"row_entry_id"}


def test_a_clock_that_was_held_is_accepted_as_such():
    book = opened_book()
    at = book.entry(0).at
    put(book, server={"at": at, "clock_held": True})
    put(book, server={"at": START + timedelta(days=1)})
    assert verify(book.leaves, files=()).findings == ()


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("policy.set", {"classes": CLASSES, "policy": POLICY}),
        ("person.enrolled", enrolment(NEWCOMER)),
        ("record.lapsed", lapse(opened_book())),
        ("key.revoked", {}),
        ("key.rotated", {}),
    ],
)
def test_a_standing_kind_before_the_opening_is_found_and_never_raises(kind, data):
    book = Book()
    put(book, kind=kind, data=data)
    report = verify([*book.leaves, BOOK.leaves[0]], files=())
    assert {"not_opened", "genesis_place"} <= codes(report)


def test_a_finding_names_its_entry_by_place_and_id():
    book = opened_book()
    book.say()
    entry_id = book.entry_id()
    replay_nonce(book)
    (finding,) = verify(book.leaves, files=()).findings
    assert (finding.cls, finding.code) == ("signature", "nonce_used")
    assert (finding.seq, finding.entry_id) == (2, entry_id)
    assert "entry 2" in finding.sentence()
