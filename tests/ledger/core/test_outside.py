from dataclasses import replace

from ledger.core.base64text import to_base64
from ledger.core.merkle import leaf_hash
from ledger.core.note import VerifierKey
from ledger.core.outside import StoredHead
from ledger.core.trust import TrustPolicy, parse_anchor
from tests.ledger.core.builder import (
    LOG_KEY,
    ORIGIN,
    key_of,
    opened_book,
    twelve_entries,
)
from tests.ledger.core.verdicts import BOOK, anchor_of, codes, verify


def test_a_head_that_differs_from_the_entries_is_found():
    last = BOOK.entry(11)
    head = StoredHead(12, BOOK.roots[12], BOOK.last_hash, last.at)
    assert verify(BOOK.leaves, head=head).findings == ()
    assert verify(BOOK.leaves, head=replace(head, at=None)).findings == ()
    changes = {
        "head_size": replace(head, size=13),
        "head_root": replace(head, root=BOOK.roots[11]),
        "head_last_hash": replace(head, last_hash=bytes(32)),
        "head_at": replace(head, at="2026-03-02T04:00:00.000000Z"),
    }
    for code, spoiled in changes.items():
        assert codes(verify(BOOK.leaves, head=spoiled)) == {code}


def test_a_ledger_begun_anew_is_found_by_a_pinned_first_entry():
    other = opened_book(site="Another mine (invented)")
    genuine = TrustPolicy(genesis_hashes=frozenset([leaf_hash(BOOK.leaves[0])]))
    report = verify(other.leaves, files=(), policy=genuine)
    assert codes(report) == {"genesis_differs"}
    honest = verify(BOOK.leaves, policy=genuine)
    assert honest.genesis_pinned
    assert honest.exit_code == 3


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


def test_a_checkpoint_is_not_blamed_when_the_log_key_is_unknown():
    """A broken first entry names no log key; only the root can be compared."""
    spoiled = [BOOK.leaves[0].replace(b"Larkfield", b"Larkfie1d"), *BOOK.leaves[1:]]
    spoiled[0] = spoiled[0][:-1]
    report = verify(spoiled, checkpoints=[(12, BOOK.note())])
    found = {item.code for item in report.findings if item.cls == "checkpoint"}
    assert found == {"root_differs"}
