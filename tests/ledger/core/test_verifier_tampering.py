import copy
import random

import pytest

from ledger.core.canonical import decode, encode
from ledger.core.entry import Signed
from ledger.core.files import CitedFiles
from ledger.core.merkle import leaf_hash
from ledger.core.report import Notebook
from ledger.core.verifier import Verifier
from tests.ledger.core.builder import (
    OFFICER,
    ORIGIN,
    SECURITY,
    Book,
    rechained,
)
from tests.ledger.core.verdicts import BOOK, FILES, anchor_of, codes, verify

KEEPERS = ((SECURITY, "security"), (OFFICER, "officer"))


def snapshot(verifier: Verifier) -> Verifier:
    """Return a verifier without findings that can be fed apart from the first."""
    other = copy.copy(verifier)
    other._frontier = verifier._frontier.copy()
    other._roots = bytearray(verifier._roots)
    other._leaf_hashes = dict(verifier._leaf_hashes)
    other._nonces = set(verifier._nonces)
    other._notebook = Notebook()
    other._files = CitedFiles(other._notebook)
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
