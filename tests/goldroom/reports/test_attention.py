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


# --- reviews ---------------------------------------------------------------

REVIEWERS = (("p-sefu", "security"), ("p-brandt", "manager"))


def review(ledger_id, name, at, /, **values):
    """Say that a finding was reviewed."""
    plain = {"outcome": "explained", "words": "looked into"}
    said = small_mine.saying(
        f"review/{name}", at, "finding.reviewed", REVIEWERS, **{**plain, **values}
    )
    return commands.say(ledger_id, said, small_mine.KEYS)


def an_odd_seal(ledger_id):
    """Let two people read another seal than the one fitted; return the concern."""
    seen = [{"point": "lid", "seal": "S-9999", "tamper_signs": "none"}]
    said = small_mine.saying(
        "odd seal", "10-13 07:00", "seal.inspected", small_mine.MENDERS,
        vessel="H1", seals_seen=seen,
    )  # fmt: skip
    commands.say(ledger_id, said, small_mine.KEYS)
    return concern(ledger_id, "seal_unknown")


def concern(ledger_id, code, now=LATER, **more):
    """Return the one concern of a code, or None."""
    found = [
        each for each in attention(ledger_id, now=now, **more) if each.code == code
    ]
    assert len(found) < 2
    return found[0] if found else None


@pytest.mark.parametrize(
    ("outcome", "is_hidden"),
    [("explained", True), ("action_taken", True), ("still_open", False)],
)
def test_finding_of_an_entry_shows_its_review_and_may_be_left_out(
    told, outcome, is_hidden
):
    odd = an_odd_seal(told)
    assert odd.review is None
    assert odd.is_open
    entry, _, number = odd.finding.rpartition("/")
    assert entry == odd.entry
    review(told, "1", "10-13 08:00", entry=entry, number=int(number), outcome=outcome)
    seen = concern(told, "seal_unknown")
    assert (seen.review.outcome, seen.review.people, seen.review.words) == (
        outcome,
        ("p-sefu", "p-brandt"),
        "looked into",
    )
    assert (concern(told, "seal_unknown", only_open=True) is None) == is_hidden


def test_finding_of_a_rule_is_reviewed_by_code_and_item(told):
    waiting = concern(told, "emergency_unratified")
    review(told, "1", "10-15 08:00", code=waiting.code, item=waiting.item)
    assert concern(told, "emergency_unratified").review is not None
    assert concern(told, "emergency_unratified", only_open=True) is None


def test_what_a_rule_finds_again_after_its_review_is_open_again(told):
    alarms = iter(range(100))

    def sound(at):
        said = small_mine.saying(
            f"alarm/{next(alarms)}", at, "detector.alarmed", small_mine.GUARDS,
            place="gold_room", detector="G1", person="p-leith", cleared="hand_search",
            cleared_by="p-sefu",
        )  # fmt: skip
        commands.say(told, said, small_mine.KEYS)

    for day in ("13", "14"):
        sound(f"10-{day} 07:00")
    assert concern(told, "detector_alarms_often") is None
    sound("10-15 07:00")
    first = concern(told, "detector_alarms_often")
    assert first.item == "p-leith"
    review(told, "1", "10-15 08:00", code=first.code, item=first.item)
    assert not concern(told, "detector_alarms_often").is_open
    sound("10-16 07:00")
    assert concern(told, "detector_alarms_often").is_open


def test_incident_left_open_is_found(told):
    said = small_mine.saying(
        "incident", "10-13 07:00", "incident.reported", small_mine.GUARDS,
        incident="INC-1", severity="near_miss", what="a strap slipped",
        done="strap replaced", anybody_hurt=False,
    )  # fmt: skip
    commands.say(told, said, small_mine.KEYS)
    assert "incident_open_long" not in codes(told, LATER)
    assert "incident_open_long" in codes(told, MUCH_LATER)
