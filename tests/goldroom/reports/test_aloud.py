"""Texts of the record read aloud: names for ids, entry numbers, the site's clock."""

import pytest

from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.journal import journal

FIRST = "1b165344-c9ea-5026-8599-639e32c70f52"
SECOND = "d6047b47-488c-51fb-82c2-2f0177acd67c"
UNKNOWN = "00000000-0000-4000-8000-000000000000"
READ = Aloud(
    clock=SiteClock("Africa/Lusaka", "06:00"),
    numbers={FIRST: 662, SECOND: 676},
    names={"p-one": "A. Person", "gold_room": "Gold room", "p": "P. Short"},
)


@pytest.mark.parametrize(
    ("kept", "read"),
    [
        ("p-one went into gold_room.", "A. Person went into Gold room."),
        ("signed by A. Person (p-one)", "signed by A. Person (p-one)"),
        ("sealed by p-one, as p-one-2", "sealed by A. Person, as p-one-2"),
        ("the gold_rooms", "the gold_rooms"),
        (
            "Gold room was registered as place gold_room (room).",
            "Gold room was registered as place gold_room (room).",
        ),
        ("handed 2026-10-30T22:40:00Z, not in", "handed 2026-10-31 00:40, not in"),
        (f"used by entry {FIRST}, for good", "used by entry 662, for good"),
        (f"Entry {FIRST} (Table run)", "Entry 662 (Table run)"),
        (f"over CON-1 ({FIRST})", "over CON-1 (entry 662)"),
        (f"as entries {FIRST} and {SECOND}.", "as entries 662 and 676."),
        (f"{FIRST}, {SECOND}", "entries 662, 676"),
        (f"entry {UNKNOWN}", f"entry {UNKNOWN}"),
    ],
)  # fmt: skip
def test_ids_and_times_are_read_as_people_say_them(kept, read):
    assert READ.words(kept) == read


def test_sentence_begins_with_a_capital():
    assert READ.sentence("laboratory reported") == "Laboratory reported"
    assert READ.sentence("") == ""


def test_words_that_ended_with_a_full_stop_do_not_end_twice():
    assert READ.sentence("Taken back: slip of the pen..") == (
        "Taken back: slip of the pen."
    )
    for kept in ("Seen by all... in time.", "Closed 2026-11-01..2026-11-06."):
        assert READ.sentence(kept) == kept


def test_message_for_whoever_writes_a_line_keeps_the_ids_that_lines_hold():
    message = f"p-one signed entry {FIRST} at 2026-10-30T08:40:00Z"
    assert READ.message(message) == "p-one signed entry 662 at 2026-10-30 10:40"


def test_ledger_gives_its_own_names_clock_and_numbers(told):
    line = journal(told, most=1).lines[0]
    read = aloud(told, [f"by entry {line.entry_id}"])
    assert read.words(f"by entry {line.entry_id}") == f"by entry {line.seq}"
    assert read.clock.zone == "Africa/Johannesburg"
    assert read.names["g-plant"] == "Plant gateway"
