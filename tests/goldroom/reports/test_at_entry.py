"""What was held as of an entry: the same as was told when it was the last one."""

import pytest

from goldroom.reports import at_entry
from goldroom.reports.at_entry import holdings_at
from goldroom.reports.holdings import holdings
from ledger import read
from ledger.core.base64text import to_base64
from ledger.errors import NoSuchEntry
from tests.front_door import STORY, Room

TAKEN_BACK = 3
"""How many entries of the story stand when the last of them is taken back."""


def tell_with_a_correction(room: Room) -> list[object]:
    """Tell the story, take an entry back on the way; what was held after each."""
    held = [holdings(room.ledger_id)]
    for n, (kind, hands, data, at) in enumerate(STORY):
        said = room.say(kind, data, hands, at=at)
        held.append(holdings(room.ledger_id))
        if kind == "cleanup.recorded" and n > TAKEN_BACK:
            entry = said.entry
            room.say(
                "record.corrected",
                {
                    "entry": entry.entry_id,
                    "mode": "void",
                    "kind": kind,
                    "reason": "the flushes were those of another hopper",
                },
                (("p-amara", "officer"), ("p-soto", "security")),
                corrects=entry.entry_id,
            )
            held.append(holdings(room.ledger_id))
            room.say(kind, data, hands)
            held.append(holdings(room.ledger_id))
    return held


@pytest.mark.parametrize("most_kept", [2, 16])
def test_holdings_at_every_entry_are_those_told_then(fresh_db, monkeypatch, most_kept):
    monkeypatch.setattr(at_entry, "KEPT_AT_MOST", most_kept)
    room = Room.opened()
    first = read.head(room.ledger_id).size - 1
    held = tell_with_a_correction(room)
    for _ in range(2):
        for n, expected in enumerate(held):
            assert holdings_at(room.ledger_id, first + n) == expected


def test_an_entry_that_is_not_there_is_refused(told_once):
    with pytest.raises(NoSuchEntry):
        holdings_at(told_once.ledger_id, 10_000)


def test_what_was_folded_of_another_ledger_is_not_used(fresh_db):
    room = Room.opened()
    size = read.head(room.ledger_id).size
    key = at_entry._key(room.ledger_id)
    folds = at_entry._FOLDS.setdefault(key, at_entry._Folds())
    folds.kept = [at_entry._Kept(0, bytes(32), "", {})]
    found = holdings_at(room.ledger_id, size - 1)
    assert found == holdings(room.ledger_id)
    assert to_base64(folds.kept[0].leaf_hash) != to_base64(bytes(32))
