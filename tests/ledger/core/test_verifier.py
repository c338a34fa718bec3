import copy
import random
from dataclasses import replace
from datetime import timedelta

import pytest

from ledger.core.base64text import to_base64
from ledger.core.canonical import decode, encode
from ledger.core.entry import Signed, assemble, parse_leaf, sign
from ledger.core.files import StoredAttachment
from ledger.core.merkle import leaf_hash
from ledger.core.note import VerifierKey
from ledger.core.outside import StoredHead
from ledger.core.report import FINDINGS_KEPT_MAX, Finding, Report
from ledger.core.trust import TrustPolicy, parse_anchor
from ledger.core.verifier import Verifier
from tests.ledger.core.builder import (
    CLASSES,
    LOG_KEY,
    MANAGER,
    NEWCOMER,
    OFFICER,
    ORIGIN,
    PEOPLE,
    POLICY,
    SCAN,
    SECOND_OFFICER,
    SECURITY,
    START,
    WITNESS,
    Book,
    attachment,
    enrolment,
    key_of,
    lapse,
    opened_book,
    rechained,
    resigned,
    twelve_entries,
)

BOOK = twelve_entries()
DIGEST = attachment(SCAN)["sha256"]
FILES = (StoredAttachment(DIGEST, len(SCAN), DIGEST),)
KEEPERS = ((SECURITY, "security"), (OFFICER, "officer"))


def verify(leaves, *, policy=None, anchors=(), files=FILES, **finish) -> Report:
    verifier = Verifier(policy, anchors)
    for leaf in leaves:
        verifier.feed(leaf)
    return verifier.finish(attachments=files, **finish)


def codes(report: Report) -> set[str]:
    return {finding.code for finding in report.findings}


def anchor_of(book: Book, size: int | None = None, key=LOG_KEY):
    return parse_anchor(book.note(size, key))


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


def snapshot(verifier: Verifier) -> Verifier:
    """Return a verifier that can be fed without touching the first."""
    other = copy.copy(verifier)
    other._frontier = verifier._frontier.copy()
    other._roots = bytearray(verifier._roots)
    for name in ("_leaf_hashes", "_nonces", "_notebook", "_files"):
        setattr(other, name, copy.deepcopy(getattr(verifier, name)))
    other._files._notebook = other._notebook
    return other


def is_noticed(verifier: Verifier) -> bool:
    report = verifier.finish(attachments=None)
    said = [text for text in report.could_not_check if "looked at" not in text]
    return bool(report.findings or said)


@pytest.mark.parametrize("seq", range(12))
def test_any_changed_byte_of_any_entry_is_noticed(seq):
    """The last entry's clock alone needs the anchor: nothing follows it yet.

    The opening is long and full of signatures: of its bytes every eleventh is judged
    whole, the others by the link alone.
    """
    verifier = Verifier()
    for leaf in BOOK.leaves[:seq]:
        verifier.feed(leaf)
    leaf = BOOK.leaves[seq]
    chance = random.Random(seq)
    for place in range(len(leaf)):
        other = chance.choice([byte for byte in range(256) if byte != leaf[place]])
        spoiled = leaf[:place] + bytes([other]) + leaf[place + 1 :]
        if seq == 0 and place % 11:
            assert leaf_hash(spoiled) != BOOK.entry(1).previous
            continue
        attempt = snapshot(verifier)
        attempt.feed(spoiled)
        if is_noticed(attempt):
            continue
        if seq < 11:
            attempt.feed(BOOK.leaves[seq + 1])
            assert is_noticed(attempt), f"byte {place} of entry {seq}"
        else:
            assert b'"at":"' in leaf[place - 35 : place + 1]
            report = verify([*BOOK.leaves[:-1], spoiled], anchors=[anchor_of(BOOK)])
            assert "root_differs" in codes(report)


@pytest.mark.parametrize("seq", range(12))
def test_a_cut_or_lengthened_leaf_is_noticed(seq):
    for spoil in (lambda x: x[:-1], lambda x: x + b" ", lambda x: b"", lambda x: x[1:]):
        leaves = list(BOOK.leaves)
        leaves[seq] = spoil(leaves[seq])
        assert verify(leaves).exit_code == 2


@pytest.mark.parametrize("seq", range(12))
def test_a_deleted_entry_is_noticed(seq):
    leaves = [leaf for place, leaf in enumerate(BOOK.leaves) if place != seq]
    report = verify(leaves)
    if seq == 11:
        assert report.exit_code == 3
        assert report.tail == "tail not pinned"
        assert codes(verify(leaves, anchors=[anchor_of(BOOK)])) == {
            "shorter_than_anchor"
        }
    else:
        assert {"seq", "previous"} <= codes(report)


@pytest.mark.parametrize("seq", range(12))
def test_a_duplicated_entry_is_noticed(seq):
    leaves = [*BOOK.leaves[: seq + 1], BOOK.leaves[seq], *BOOK.leaves[seq + 1 :]]
    report = verify(leaves)
    assert {"seq", "previous", "entry_id_used"} <= codes(report)


@pytest.mark.parametrize("seq", range(11))
def test_two_swapped_neighbours_are_noticed(seq):
    leaves = list(BOOK.leaves)
    leaves[seq], leaves[seq + 1] = leaves[seq + 1], leaves[seq]
    assert {"seq", "previous"} <= codes(verify(leaves))


@pytest.mark.parametrize("size", range(12))
def test_a_ledger_cut_at_any_size_is_never_called_pinned(size):
    leaves = BOOK.leaves[:size]
    files = FILES if size > 2 else ()
    alone = verify(leaves, files=files)
    assert alone.exit_code == (3 if size else 1)
    pinned = verify(leaves, files=files, anchors=[anchor_of(BOOK)])
    assert pinned.exit_code == 2
    assert pinned.tail == "tail not pinned"


def test_findings_name_the_entry_and_the_later_ones_are_still_checked():
    leaves = list(BOOK.leaves)
    leaves[3] = leaves[3].replace(b'"flush":1409', b'"flush":1408')
    bad_role = leaves[9].replace(b'"net_g":"1042.5"', b'"net_g":"1042.6"')
    leaves[9] = bad_role
    found = {(finding.seq, finding.code) for finding in verify(leaves).findings}
    assert {(3, "signature_bad"), (4, "previous"), (4, "basis_root")} <= found
    assert {(9, "signature_bad"), (10, "previous")} <= found
    assert (6, "previous") not in found


# --- what each rule finds ------------------------------------------------------


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


def test_somebody_without_keys_cannot_rewrite_history():
    """Edit one figure and re-chain everything: signatures and bases disagree."""

    def edit(seq, entry):
        statement = copy.deepcopy(entry.statement)
        if seq == 1:
            statement["data"]["net_g"] = "12.34"
        return Signed(statement, entry.signatures)

    report = verify(rechained(BOOK, edit).leaves)
    found = {(finding.seq, finding.code) for finding in report.findings}
    assert (1, "signature_bad") in found
    assert (2, "basis_root") in found
    assert not {code for _, code in found} & {"previous", "seq"}


def test_a_retimed_entry_is_found_by_the_next_basis():
    other = Book(origin=ORIGIN)
    for seq in range(12):
        entry = BOOK.entry(seq)
        later = entry.at.replace(".25", ".26") if seq == 4 else entry.at
        other.put(entry.signed, at=later)
    report = verify(other.leaves)
    assert codes(report) == {"basis_root"}
    assert min(finding.seq for finding in report.findings) == 5


def test_a_ledger_begun_anew_is_found_by_a_pinned_first_entry():
    other = opened_book(site="Another mine (invented)")
    genuine = TrustPolicy(genesis_hashes=frozenset([leaf_hash(BOOK.leaves[0])]))
    report = verify(other.leaves, files=(), policy=genuine)
    assert codes(report) == {"genesis_differs"}
    honest = verify(BOOK.leaves, policy=genuine)
    assert honest.genesis_pinned
    assert honest.exit_code == 3


# --- formats of another program ---------------------------------------------------


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


# --- rows, head, files ------------------------------------------------------------


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


def test_a_head_that_differs_from_the_entries_is_found():
    last = BOOK.entry(11)
    head = StoredHead(12, BOOK.roots[12], BOOK.last_hash, last.at)
    assert verify(BOOK.leaves, head=head).findings == ()
    changes = {
        "head_size": replace(head, size=13),
        "head_root": replace(head, root=BOOK.roots[11]),
        "head_last_hash": replace(head, last_hash=bytes(32)),
        "head_at": replace(head, at="2026-03-02T04:00:00.000000Z"),
    }
    for code, spoiled in changes.items():
        assert codes(verify(BOOK.leaves, head=spoiled)) == {code}


def test_every_cited_file_is_there_and_no_other():
    good = FILES[0]
    other = StoredAttachment("ab" * 32, 3, "ab" * 32)
    cases = [
        ((good,), set()),
        ((), {"attachment_missing"}),
        ((good, other), {"attachment_unsigned"}),
        ((replace(good, actual_sha256="cd" * 32),), {"attachment_digest"}),
        ((replace(good, size=7),), {"attachment_size"}),
    ]
    for files, expected in cases:
        assert codes(verify(BOOK.leaves, files=files)) == expected


def test_files_that_nobody_looked_at_could_not_be_checked():
    assert verify(BOOK.leaves, files=None).exit_code == 1
    assert verify(BOOK.leaves[:2], files=None).exit_code == 3


def test_one_file_cited_with_two_sizes_is_found():
    book = opened_book()
    for size in (3, 4):
        put(book, attachments=[{**attachment(SCAN), "size": size}])
    assert "attachment_size" in codes(verify(book.leaves, files=FILES))


def test_a_file_of_a_lapsed_statement_may_be_there():
    book = opened_book()
    quoted = book.statement(attachments=[attachment(SCAN)], entry_id=book.entry_id(77))
    first = sign(quoted, OFFICER.key, nonce=book.nonce())
    data = {**lapse(book), "statement": quoted, "signatures": [first.to_json()]}
    book.say("record.lapsed", data, signers=(), sign_class="server")
    assert verify(book.leaves, files=FILES).findings == ()
    assert verify(book.leaves, files=()).findings == ()


# --- checkpoints and anchors ------------------------------------------------------


def test_checkpoints_that_came_along_are_checked_but_pin_nothing():
    good = [(5, BOOK.note(5)), (12, BOOK.note())]
    report = verify(BOOK.leaves, checkpoints=good)
    assert (report.findings, report.exit_code) == ((), 3)
    cases = {
        "checkpoint_size": [(6, BOOK.note(5))],
        "shorter_than_checkpoint": [(12, BOOK.note())],
        "not_signed": [(5, BOOK.note(5, key_of("another log")))],
        "malformed_note": [(5, b"rubbish")],
        "bad_note_signature": [(5, BOOK.note(5).replace(b"\n5\n", b"\n4\n"))],
    }
    for code, notes in cases.items():
        leaves = BOOK.leaves[:11] if code.startswith("shorter") else BOOK.leaves
        assert code in codes(verify(leaves, checkpoints=notes))


def test_an_anchor_of_another_history_is_found():
    other = twelve_entries()
    other.roots[7] = bytes(32)
    assert codes(verify(BOOK.leaves, anchors=[anchor_of(other, 7)])) == {"root_differs"}
    other.origin = ORIGIN[:-1] + "0"
    found = codes(verify(BOOK.leaves, anchors=[anchor_of(other)]))
    assert found == {"other_ledger"}


def test_the_newest_fitting_anchor_counts_and_an_older_one_says_so():
    anchors = [anchor_of(BOOK, 5), anchor_of(BOOK, 9), anchor_of(BOOK, 2)]
    report = verify(BOOK.leaves, anchors=anchors)
    assert (report.exit_code, report.pinned_size) == (0, 9)
    assert "after the first 9" in report.unproved()[0]


def test_an_anchor_of_nothing_pins_nothing():
    report = verify(BOOK.leaves, anchors=[anchor_of(BOOK, 0)])
    assert report.exit_code == 3


def test_three_lines_from_paper_are_an_anchor():
    text = "\n".join(BOOK.note().decode().split("\n")[:3]) + "\n"
    anchor = parse_anchor(text.encode())
    assert verify(BOOK.leaves, anchors=[anchor]).exit_code == 0
    trusted = TrustPolicy((VerifierKey(ORIGIN, LOG_KEY.spki),))
    report = verify(BOOK.leaves, anchors=[anchor], policy=trusted)
    assert codes(report) == {"not_signed"}
    assert report.pinned_size is None


def test_a_policy_demands_its_own_log_key():
    """A bundle signed again with keys of its own fails every pinned policy."""
    trusted = TrustPolicy((VerifierKey(ORIGIN, LOG_KEY.spki),))
    honest = verify(BOOK.leaves, policy=trusted, anchors=[anchor_of(BOOK)])
    assert honest.exit_code == 0
    own = key_of("somebody's own log")
    forged = opened_book(log_key=to_base64(own.spki))
    anchor = parse_anchor(forged.note(key=own))
    assert verify(forged.leaves, files=(), anchors=[anchor]).exit_code == 0
    report = verify(forged.leaves, files=(), policy=trusted, anchors=[anchor])
    assert codes(report) == {"log_key_differs", "not_signed"}
    stranger = TrustPolicy((VerifierKey("other.example/x", LOG_KEY.spki),))
    report = verify(BOOK.leaves, policy=stranger)
    assert codes(report) == {"ledger_not_in_policy"}


def test_a_policy_alone_pins_the_first_entry_but_not_the_tail():
    """An older genuine state would satisfy it just as well."""
    policy = TrustPolicy(
        (VerifierKey(ORIGIN, LOG_KEY.spki),),
        frozenset([leaf_hash(BOOK.leaves[0])]),
    )
    assert verify(BOOK.leaves, policy=policy).exit_code == 3


# --- the report --------------------------------------------------------------------


def test_every_report_says_what_it_cannot_prove():
    for report in (
        verify(BOOK.leaves),
        verify(BOOK.leaves, anchors=[anchor_of(BOOK)]),
        verify([b"rubbish"]),
    ):
        text = report.text()
        for line in report.unproved():
            assert line in text
        assert report.tail in text
        assert "never entered" in text
        assert report.to_json()["exit_code"] == report.exit_code


def test_the_list_of_findings_is_capped_and_the_rest_counted():
    count = FINDINGS_KEPT_MAX + 10
    report = verify([b"{}"] * count, files=())
    assert len(report.findings) == FINDINGS_KEPT_MAX
    assert report.findings_left_off == 10
    assert "and 10 more findings" in report.text()


def test_findings_of_others_join_the_report():
    verifier = Verifier()
    for leaf in BOOK.leaves:
        verifier.feed(leaf)
    verifier.add(Finding("schema", "trigger_missing", "A trigger is gone."))
    verifier.could_not_check("The mirror was not there.")
    report = verifier.finish(attachments=FILES)
    assert report.exit_code == 2
    assert "[schema/trigger_missing]" in report.text()
    assert "The mirror" in report.text()


def test_rubbish_is_judged_and_never_raises():
    chance = random.Random(28)
    for _ in range(300):
        leaves = [chance.choice(BOOK.leaves) for _ in range(3)]
        spoiled = []
        for leaf in leaves:
            octets = bytearray(leaf)
            for _ in range(chance.randrange(1, 6)):
                octets[chance.randrange(len(octets))] = chance.randrange(256)
            start = chance.randrange(len(octets))
            spoiled.append(bytes(octets[start:] if chance.random() < 0.1 else octets))
        assert verify(spoiled, files=()).exit_code in (1, 2)


def spoil_value(value, chance: random.Random):
    """Return the JSON value with one part replaced by something unexpected."""
    rubbish = [None, True, 0, -1, 7, "", "x", [], {}, [None], {"a": None}, "A" * 44]
    if isinstance(value, dict) and value and chance.random() < 0.85:
        name = chance.choice(sorted(value))
        return {**value, name: spoil_value(value[name], chance)}
    if isinstance(value, list) and value and chance.random() < 0.85:
        place = chance.randrange(len(value))
        changed = list(value)
        changed[place] = spoil_value(value[place], chance)
        return changed
    return chance.choice(rubbish)


def test_canonical_rubbish_is_judged_and_never_raises():
    """Wrong types at every place, in bytes that are canonical all the same."""
    chance = random.Random(1404)
    opened = Verifier()
    opened.feed(BOOK.leaves[0])
    for _ in range(1_000):
        seq = chance.choice([0, *range(1, 12), *range(1, 12), *range(1, 12)])
        leaf = encode(spoil_value(decode(BOOK.leaves[seq]), chance))
        if leaf == BOOK.leaves[seq]:
            continue
        verifier = snapshot(opened) if seq else Verifier()
        verifier.feed(leaf)
        assert verifier.finish(attachments=()).exit_code in (1, 2)


def test_a_clock_that_was_held_is_accepted_as_such():
    book = opened_book()
    at = book.entry(0).at
    put(book, server={"at": at, "clock_held": True})
    put(book, server={"at": START + timedelta(days=1)})
    assert verify(book.leaves, files=()).findings == ()
