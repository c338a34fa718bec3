"""Who is in a room now, by the entries of its door."""

from goldroom.commands import say
from goldroom.custody.room import Inside, Occupancy
from goldroom.models import Row
from goldroom.reports.occupancy import occupancy
from goldroom.statements.fold import text_of
from tests.goldroom import small_mine

OUTGOING = (("p-amara", "officer"), ("p-leith", "witness"))


def test_who_is_in_a_room_is_told_with_names_and_since_when(told):
    assert occupancy(told) == ()
    went_in = small_mine.saying(
        "went in", "10-13 07:00", "room.entered", OUTGOING,
        place="gold_room", persons=["p-amara", "p-leith"],
    )  # fmt: skip
    say(told, went_in, small_mine.KEYS)
    (room,) = occupancy(told)
    assert room.place == "gold_room"
    assert room.name != room.place
    assert [each.person for each in room.present] == ["p-amara", "p-leith"]
    assert all(each.name != each.person for each in room.present)
    assert not room.is_one_alone
    assert occupancy(told, place="vault") == ()


def test_visitor_is_told_by_the_name_at_the_door_and_does_not_make_two(told):
    visitor = Inside(
        who="Ode Marr", organisation="an insurer (invented)", escort="p-amara",
        since="2026-10-13T05:30:00Z", entry="e-2",
    )  # fmt: skip
    officer = Inside(
        who="p-amara", organisation="", escort="", since="2026-10-13T05:00:00Z",
        entry="e-1",
    )  # fmt: skip
    there = Occupancy(
        place="gold_room", inside=(visitor, officer), at=visitor.since, known_at=""
    )
    Row.objects.create(
        ledger_id=told, record=there.table, key=there.key, status="", place="gold_room",
        at=there.at, seq=0, value=text_of(there),
    )  # fmt: skip
    (room,) = occupancy(told)
    first, second = room.present
    assert (first.person, first.is_visitor) == ("p-amara", False)
    assert (second.person, second.name, second.escort) == ("", "Ode Marr", "p-amara")
    assert second.is_visitor
    assert room.is_one_alone
    assert room.last_change_at == "2026-10-13T05:30:00Z"
