"""An entry told whole: against the record itself."""

import hashlib

from goldroom.reports.entry import entries_told, entry_told, mark
from goldroom.reports.told import told_rows
from ledger import read
from tests import front_door


def test_an_entry_is_told_with_its_bytes_hashes_and_signers(told_once):
    ledger_id = told_once.ledger_id
    size = read.head(ledger_id).size
    for seq, told in entries_told(ledger_id, range(size)).items():
        entry = read.entry(ledger_id, seq)
        # RFC 6962, section 2.1: a leaf's hash is SHA-256 over 0x00 and its bytes.
        assert told.leaf_hash == hashlib.sha256(b"\0" + told.leaf).hexdigest()
        assert told.leaf == entry.leaf
        assert len(told.signers) == len(entry.signatures)
        assert told.sentence
        assert told == entry_told(ledger_id, seq)


def test_every_value_said_is_among_the_rows(told_once):
    ledger_id = told_once.ledger_id
    for entry in read.entries(ledger_id, 1):
        rows = told_rows(entry.kind, entry.statement["v"], entry.data)
        shown = " ".join(row.value for row in rows)
        for text in figures_in(entry.data):
            assert text in shown, (entry.kind, text)


def figures_in(value):
    """Yield every text of digits within a statement's values."""
    if isinstance(value, dict):
        for each in value.values():
            yield from figures_in(each)
    elif isinstance(value, list):
        for each in value:
            yield from figures_in(each)
    elif isinstance(value, str) and value.replace(".", "", 1).isdigit():
        yield value


def test_a_correction_and_what_it_corrects_name_each_other(fresh_db):
    room = front_door.told()
    numbered = next(each for each in room.said if each.kind == "bar.numbered")
    mended = {**numbered.data, "first": front_door.g("167.9", "BU1")}
    room.say(
        "record.corrected",
        {"entry": numbered.entry_id, "mode": "figures", "kind": numbered.kind,
         "values": mended, "reason": "the display was misread"},
        (("p-lima", "laboratory"), ("p-okoro", "manager")),
        corrects=numbered.entry_id,
    )  # fmt: skip
    last = read.head(room.ledger_id).size - 1
    correction = entry_told(room.ledger_id, last)
    assert correction.corrects is not None
    wrong = entry_told(room.ledger_id, correction.corrects)
    assert wrong.entry_id == numbered.entry_id
    assert wrong.corrected_by == (last,)


def test_values_of_an_unknown_kind_are_shown_as_they_stand():
    rows = told_rows("later.made", 3, {"a": "1", "b": [{"c": True}], "d": {"e": "x"}})
    assert [(row.label, row.value, row.depth) for row in rows] == [
        ("a", "1", 0),
        ("b 1", "", 0),
        ("c", "yes", 1),
        ("d", "", 0),
        ("e", "x", 1),
    ]


def test_the_mark_is_the_ledgers_size_and_root(told_once):
    found = mark(told_once.ledger_id)
    head = read.head(told_once.ledger_id)
    assert (found.size, found.root_hex) == (head.size, head.root.hex())
