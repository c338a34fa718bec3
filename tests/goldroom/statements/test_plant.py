"""What the plant counts: cycles and metered streams, signed by its gateway."""

from decimal import Decimal

import pytest

from goldroom.custody.records import Concentrator, Flush, Item, StreamMeter
from goldroom.statements.cleanup import CleanupRecorded
from goldroom.statements.plant import CyclesRecorded, StreamMetered
from tests.goldroom.room import codes, noticed, refused, room, say

GATEWAY = (("g-plant", "gateway"),)


def cycle(number: int, *, unit: str = "U1", epoch: int = 1, **more):
    hour, minute = divmod(number * 40, 60)
    start = f"2026-10-04T{hour:02d}:{minute:02d}:00+02:00"
    end = f"2026-10-04T{hour:02d}:{minute + 19:02d}:00+02:00"
    row = {
        "unit": unit,
        "counter_epoch": epoch,
        "flush": number,
        "started_at": start,
        "ended_at": end,
        "feed_t": "27.4",
        "status": "complete",
    }
    return {**row, **more}


def count(state, *rows):
    return say(state, CyclesRecorded, {"cycles": list(rows)}, people=GATEWAY)


STRETCH = {
    "unit": "U3",
    "from_at": "2026-10-04T06:00:00+02:00",
    "to_at": "2026-10-04T18:00:00+02:00",
    "dry_t": "14.20",
    "gold_gpt": "31.5",
    "silver_gpt": "8.0",
}


def test_a_counted_cycle_makes_a_flush_and_no_item():
    state = room()
    said = count(state, cycle(1), cycle(2, status="short", reason="low water"))
    flush = state.get(Flush, "U1-1-2")
    assert flush.started_at == "2026-10-03T23:20:00Z"
    assert flush.at == "2026-10-03T23:39:00Z"
    assert (flush.cycle_status, flush.reason, flush.hopper, flush.sheet) == (
        "short",
        "low water",
        "H1",
        "",
    )
    assert flush.feed_t == Decimal("27.4")
    assert state.get(Item, "U1-1-2") is None
    assert state.get(Concentrator, "U1").last_cycle == 2
    assert codes(state) == []
    assert said.sentence() == "The plant counted: U1 flushes 1 to 2 (2; 2 short)."
    assert said.klass == "machine"


@pytest.mark.parametrize(
    ("situation", "rows", "code"),
    [
        ("the next flush", [cycle(2)], None),
        ("the same number after the counter started again", [cycle(1, epoch=2)], None),
        ("another unit's first flush", [cycle(1, unit="U2")], None),
        ("a flush counted before", [cycle(1)], "flush_already_counted"),
        ("a flush twice at once", [cycle(2), cycle(2)], "flush_already_counted"),
        ("a continuous unit", [cycle(2, unit="U3")], "wrong_sort"),
        ("a unit nobody registered", [cycle(2, unit="U9")], "unknown_concentrator"),
        (
            "an end before the start",
            [cycle(2, ended_at="2026-10-03T00:00:00+02:00")],
            "bad_field",
        ),
        (
            "a time without its offset",
            [cycle(2, ended_at="2026-10-04T02:00:00")],
            "bad_field",
        ),
        ("a status of its own", [cycle(2, status="fine")], "bad_field"),
        ("301 cycles", [cycle(1)] * 301, "bad_field"),
    ],
)
def test_cycles_are_counted_or_refused(situation, rows, code):
    state = room()
    count(state, cycle(1))
    found = refused(state, CyclesRecorded, {"cycles": rows}, people=GATEWAY)
    assert found == code, situation


def test_a_complete_cycle_shorter_than_usual_is_noticed():
    state = room()
    count(state, cycle(3, ended_at="2026-10-04T02:08:00+02:00"))
    finding = noticed(state)[0]
    assert finding.code == "flush_unit_outside_usual"
    assert (finding.found, finding.expected) == ("8 min", "at least 15 min")


def test_cycles_may_arrive_after_the_sheet_and_keep_its_answer():
    state = room()
    sheet = {
        "hopper": "H1",
        "flushes": [{"unit": "U1", "counter_epoch": 1, "first": 1, "last": 3}],
        "exceptions": [
            {"unit": "U1", "flush": 2, "what": "short", "answer": "low water"}
        ],
    }
    say(state, CleanupRecorded, sheet, entry="entry-7")
    count(state, cycle(1), cycle(2, status="short"), cycle(3))
    flush = state.get(Flush, "U1-1-2")
    assert (flush.sheet, flush.answer, flush.cycle_status) == (
        "entry-7",
        "short: low water",
        "short",
    )
    assert codes(state) == ["flush_short"]
    assert state.get(Concentrator, "U1").last_flush == 3


def test_a_short_cycle_counted_after_a_silent_sheet_is_noticed():
    state = room()
    sheet = {
        "hopper": "H1",
        "flushes": [{"unit": "U1", "counter_epoch": 1, "first": 1, "last": 3}],
    }
    say(state, CleanupRecorded, sheet)
    assert codes(state) == []
    count(state, cycle(2, status="aborted"))
    finding = noticed(state)[0]
    assert (finding.code, finding.item) == ("flush_short", "U1-1-2")
    assert finding.found == "counted aborted after the sheet was signed"


def test_a_new_epoch_takes_over_only_when_the_old_one_is_on_sheets():
    state = room()
    count(state, cycle(1), cycle(2))
    count(state, cycle(1, epoch=2))
    unit = state.get(Concentrator, "U1")
    assert (unit.counter_epoch, unit.last_cycle) == (1, 2)
    clean = room()
    count(clean, cycle(1, epoch=2))
    unit = clean.get(Concentrator, "U1")
    assert (unit.counter_epoch, unit.last_flush, unit.last_cycle) == (2, 0, 1)


def test_a_stream_is_metered_beside_all_custody():
    state = room()
    said = say(state, StreamMetered, STRETCH, people=GATEWAY)
    metered = state.get(StreamMeter, "U3/2026-10-04T16:00:00Z")
    assert (metered.stage, metered.goes_to) == ("rougher", "U4")
    assert metered.known_at == "2026-10-05T04:20:00Z"
    assert metered.dry_t == Decimal("14.20")
    assert not [each for each in state.changed() if each[0] in ("item", "crossing")]
    assert said.sentence() == (
        "From 2026-10-04 06:00 to 2026-10-04 18:00 U3 passed 14.20 t of dry solids at"
        " 31.5 g/t gold and 8.0 g/t silver (metered)."
    )


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("the next stretch", {"to_at": "2026-10-04T19:00:00+02:00"}, None),
        ("the same stretch again", {}, "already_registered"),
        ("a unit that flushes", {"unit": "U1"}, "wrong_sort"),
        ("a unit nobody registered", {"unit": "U9"}, "unknown_concentrator"),
        ("upside down", {"to_at": "2026-10-04T05:00:00+02:00"}, "bad_field"),
    ],
)
def test_stream_is_metered_or_refused(situation, change, code):
    state = room()
    say(state, StreamMetered, STRETCH, people=GATEWAY)
    found = refused(state, StreamMetered, {**STRETCH, **change}, people=GATEWAY)
    assert found == code, situation
