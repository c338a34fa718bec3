"""The front door before a clumsy client: repeated, cut short, out of time."""

import threading
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from django.db import connection

from goldroom import commands
from goldroom.commands import FileRefused
from goldroom.errors import Refusal
from goldroom.sayings import BadLine, read_line
from goldroom.writing import BadTime, SimulatedClock
from ledger import proposals, read
from ledger.audit import audit
from ledger.core.errors import LedgerRefusal
from ledger.errors import EntryIdUsed, ProposalLapsed
from tests.front_door import KEYS, STANDING_THINGS, Room, opening

KIND, HANDS, DATA = STANDING_THINGS[0]
MORNING = "2026-03-02T08:00:00+02:00"
FIRST, SECOND = (KEYS[person] for person, _ in HANDS)


@pytest.fixture
def room(fresh_db) -> Room:
    """Open a ledger in which nothing stands yet but its people."""
    appended = commands.open_ledger(opening(), KEYS)
    return Room(
        commands.ledger_of(appended.entry), datetime.fromisoformat(MORNING), [opening()]
    )


def saying(room: Room, **more):
    """Return a saying that waits for its second signature."""
    given = room.saying(KIND, DATA, HANDS, received_at="", **more)
    return replace(given, entry_id="10000000-0000-4000-8000-000000000001")


def another_act(room: Room) -> None:
    """Let other people record something."""
    kind, hands, data = STANDING_THINGS[1]
    room.say(kind, data, hands)


def propose(room: Room, given):
    return commands.propose(room.ledger_id, given, FIRST, clock=lambda: room.now)


def countersign(room: Room, given):
    return commands.countersign(
        room.ledger_id, given.entry_id, SECOND, clock=lambda: room.now
    )


def test_proposing_again_after_other_acts_is_answered_with_what_waits(room):
    """Another basis would be another statement, but the people said it once."""
    given = saying(room)
    waiting = propose(room, given)
    another_act(room)
    assert propose(room, given) == waiting
    entry = countersign(room, given).appended
    assert propose(room, given).appended.entry == entry.entry


def test_another_body_under_the_id_of_what_waits_is_refused(room):
    given = saying(room)
    propose(room, given)
    other = replace(given, data={**given.data, "name": "another room"})
    with pytest.raises(EntryIdUsed, match="stands for another statement"):
        propose(room, other)
    assert len(proposals.waiting(room.ledger_id)) == 1


def test_what_nobody_signed_in_time_lapses_before_the_next_is_proposed(room):
    given = saying(room)
    propose(room, given)
    room.now += timedelta(hours=13)
    other = replace(saying(room), entry_id="10000000-0000-4000-8000-000000000002")
    propose(room, other)
    assert [each.entry_id for each in proposals.waiting(room.ledger_id)] == [
        other.entry_id
    ]
    lapsed = read.entry(room.ledger_id, read.head(room.ledger_id).size - 1)
    assert lapsed.data["reason"] == "expired"
    assert lapsed.data["statement"]["entry_id"] == given.entry_id
    with pytest.raises(ProposalLapsed):
        propose(room, given)
    assert audit().exit_code == 0


def test_withdrawn_line_cut_short_by_a_crash_is_finished_by_the_same_line(
    room, monkeypatch
):
    line = replace(
        saying(room), received_at=room.now.isoformat(), withdrawn="wrong room"
    )
    with monkeypatch.context() as crash:
        crash.setattr(commands, "withdraw", _power_cut)
        with pytest.raises(OSError, match="power"):
            commands.say(room.ledger_id, line, KEYS)
    another_act(room)
    done = commands.say(room.ledger_id, line, KEYS)
    assert done.entry.data["detail"] == "wrong room"
    assert commands.say(room.ledger_id, line, KEYS).replayed


def _power_cut(*arguments, **named):
    raise OSError("power cut")


def test_repeated_saying_gives_the_root_up_to_its_entry(room):
    """A signing slip printed again must show what the first one showed."""
    first = replace(saying(room), received_at=room.now.isoformat())
    done = commands.say(room.ledger_id, first, KEYS)
    another_act(room)
    again = commands.say(room.ledger_id, first, KEYS)
    assert (again.replayed, again.root) == (True, done.root)


@pytest.mark.parametrize("n", [0, 2])
def test_time_of_receipt_in_a_sites_file_stops_the_file_whole(fresh_db, n):
    first = replace(opening(), received_at="")
    first = replace(first, data={**first.data, "demo": False})
    sayings = [first]
    for number, (kind, hands, data) in enumerate(STANDING_THINGS[:3], start=1):
        line = Room(0, datetime.fromisoformat(MORNING)).saying(
            kind,
            data,
            hands,
            entry_id=f"00000000-0000-4000-8000-{number:012d}",
            received_at="",
        )
        sayings.append(line)
    sayings[n] = replace(sayings[n], received_at="2026-03-01T05:00:00+02:00")
    with pytest.raises(FileRefused) as caught:
        commands.say_many(None, sayings, KEYS)
    assert [(each.n, each.code) for each in caught.value.refused][:1] == [
        (n, SimulatedClock.code)
    ]
    assert read.ledgers() == []


@pytest.mark.parametrize(
    "moment",
    [
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-12:00",
        "9999-12-31T23:59:59+00:00",
    ],
)
@pytest.mark.parametrize("field", ["occurred_at", "received_at"])
def test_moment_at_the_end_of_the_calendar_is_refused_at_its_field(room, field, moment):
    """Such a moment cannot be turned into UTC, or not be waited for."""
    line = replace(saying(room), **{field: moment})
    with pytest.raises(BadTime, match=f"{field}: found the year") as caught:
        commands.say(room.ledger_id, line, KEYS)
    assert caught.value.field == field
    with pytest.raises(FileRefused):
        commands.rehearse(room.ledger_id, [line], KEYS)


@pytest.mark.parametrize("name", ["x", "\ud800", "a\0b", "{" + "0" * 32 + "}", 'a"b'])
def test_id_that_is_no_uuid_is_refused_wherever_it_is_given(room, name):
    """SQLite chokes on half a surrogate pair, PostgreSQL on a zero character."""
    line = replace(saying(room), received_at=room.now.isoformat())
    given = {
        "entry_id": replace(line, entry_id=name),
        "corrects": replace(line, corrects=name),
        "withdrawn": replace(line, entry_id=name, withdrawn="a slip"),
    }
    for each in given.values():
        with pytest.raises((LedgerRefusal, Refusal), match=r"entry_id|corrects"):
            commands.say(room.ledger_id, each, KEYS)
        with pytest.raises((LedgerRefusal, Refusal), match=r"entry_id|corrects"):
            propose(room, each)
    with pytest.raises(LedgerRefusal, match="entry_id"):
        commands.countersign(room.ledger_id, name, SECOND)
    with pytest.raises(LedgerRefusal, match="entry_id"):
        commands.withdraw(room.ledger_id, name, detail="a slip")


@pytest.mark.parametrize(
    "line",
    ["[" * 100_000, '{"data":' * 3_000, '{"kind":' + "1" * 5_000 + "}"],
    ids=["lists in lists", "objects in objects", "an endless number"],
)
def test_line_beyond_measure_is_a_bad_line(line):
    with pytest.raises(BadLine):
        read_line(line)


def test_two_countersigners_at_once_make_one_entry(room):
    given = saying(room)
    propose(room, given)
    results, errors = [], []
    ready = threading.Barrier(6)

    def run():
        try:
            ready.wait()
            results.append(countersign(room, given).appended)
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert sorted(item.replayed for item in results) == [False] + [True] * 5
    assert len({item.entry.leaf for item in results}) == 1
    assert audit().exit_code == 0
