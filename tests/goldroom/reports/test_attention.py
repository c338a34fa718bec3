"""What wants attention: one list, the newest first, from entries and from rules."""

from datetime import UTC, datetime

import pytest
from django.db import connection

from goldroom import commands
from goldroom.errors import TableDamaged
from goldroom.reports.attention import attention
from goldroom.reports.limits import thresholds
from goldroom.statements.limits import LIMITS
from tests.goldroom import small_mine

SOON = datetime(2026, 10, 6, 15, tzinfo=UTC)
LATER = datetime(2026, 10, 20, tzinfo=UTC)
MUCH_LATER = datetime(2027, 2, 1, tzinfo=UTC)


def codes(ledger_id, now, **more):
    return [each.code for each in attention(ledger_id, now=now, **more)]


def test_time_passing_raises_what_was_quiet_before(told):
    assert "emergency_unratified" not in codes(told, SOON)
    assert "emergency_unratified" in codes(told, LATER)
    assert "seal_unused_long" not in codes(told, LATER)
    assert "seal_unused_long" in codes(told, MUCH_LATER)


def test_list_is_newest_first(told):
    times = [each.at for each in attention(told, now=MUCH_LATER)]
    assert times == sorted(times, reverse=True)
    assert len(times) > 1


def test_level_and_since_narrow_the_list(told):
    every = attention(told, now=MUCH_LATER)
    exceptions = attention(told, now=MUCH_LATER, level="exception")
    assert exceptions == tuple(each for each in every if each.level == "exception")
    recent = attention(told, now=MUCH_LATER, since="2026-12-01T00:00:00Z")
    assert {each.code for each in recent} == {"seal_unused_long"}


def test_unused_seals_say_how_many_are_left(told):
    found = {each.code: each for each in attention(told, now=MUCH_LATER)}
    assert "S-0010 to 0040 (31 seals)" in found["seal_unused_long"].found


@pytest.mark.parametrize(
    ("upto", "code"),
    [
        ("cycles/1", "flush_on_no_sheet"),
        ("handed over", "shipment_open_long"),
        ("placed", "bar_kept_long"),
        ("placed", "final_assay_missing"),
    ],
)
def test_rule_sees_what_the_story_left_open(fresh_db, upto, code):
    ledger_id = small_mine.tell(upto=upto)
    assert code in codes(ledger_id, MUCH_LATER)


@pytest.mark.parametrize(
    "code", ["flush_on_no_sheet", "shipment_open_long", "bar_kept_long"]
)
def test_rule_is_quiet_once_the_story_is_whole(told, code):
    assert code not in codes(told, MUCH_LATER)


def test_limit_set_by_an_entry_is_the_one_held_against(told):
    day_before = datetime(2026, 10, 13, 12, tzinfo=UTC)
    assert "emergency_unratified" in codes(told, day_before)
    saying = small_mine.saying(
        "limit", "10-12 12:00", "limit.set", small_mine.GUARDS,
        limit="emergency_ratified_h", value="720", unit="h", reason="holidays",
    )  # fmt: skip
    commands.say(told, saying, small_mine.KEYS)
    assert "emergency_unratified" not in codes(told, day_before)


def test_every_limit_has_a_value_in_force(told):
    assert set(thresholds(told)) == set(LIMITS)


def test_journal_that_lost_a_line_is_refused_with_advice(told):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM goldroom_journal WHERE kind = 'seals.issued'")
    with pytest.raises(TableDamaged, match="rebuild_tables"):
        attention(told, now=LATER)
