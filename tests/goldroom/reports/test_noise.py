"""How often each rule speaks: by rule and week, the noisiest first."""

from datetime import UTC, datetime, timedelta

import pytest

from goldroom.reports.attention import Concern
from goldroom.reports.noise import MOST_A_WEEK, noise, noise_of

FIRST = datetime(2026, 10, 1, tzinfo=UTC)


def concern(code: str, day: int, level: str = "notice") -> Concern:
    """Return a finding of a day of October that nobody has reviewed."""
    at = f"2026-10-{day:02d}T08:00:00Z"
    return Concern(
        code=code, level=level, item="H1", found="", expected="", message="", at=at,
        entry="e-1", finding=f"e-1/{day:02d}",
    )  # fmt: skip


def test_rules_are_counted_by_week_and_the_noisiest_comes_first():
    concerns = [concern("a", 1), concern("b", 2), concern("b", 7), concern("b", 8)]
    found = noise_of(concerns, from_at=FIRST, to_at=FIRST + timedelta(days=10))
    assert [(each.code, each.weeks, each.count) for each in found.rules] == [
        ("b", (2, 1), 3),
        ("a", (1, 0), 1),
    ]
    assert found.together == (3, 1)
    assert found.weeks == ("2026-10-01T00:00:00Z", "2026-10-08T00:00:00Z")
    assert found.rules[0].still_open == 3


def test_span_is_from_its_first_moment_to_before_its_last():
    concerns = [concern("a", 1), concern("a", 2), concern("a", 3)]
    from_at = datetime(2026, 10, 2, 8, tzinfo=UTC)
    found = noise_of(concerns, from_at=from_at, to_at=from_at + timedelta(days=1))
    assert found.together == (1,)


@pytest.mark.source("five a week: common practice, no source")
@pytest.mark.parametrize(("count", "is_too_much"), [(5, False), (6, True)])
def test_more_than_five_in_a_week_are_too_many(count, is_too_much):
    assert MOST_A_WEEK == 5
    concerns = [concern(f"rule_{n}", 3) for n in range(count)]
    found = noise_of(concerns, from_at=FIRST, to_at=FIRST + timedelta(days=7))
    assert found.is_too_much is is_too_much


def test_span_of_the_record_is_counted_as_things_stood_at_its_end(told):
    found = noise(told, from_at=FIRST, to_at=datetime(2026, 10, 8, tzinfo=UTC))
    assert found.rules
    assert sum(found.together) == sum(each.count for each in found.rules)
    quiet = noise(
        told,
        from_at=datetime(2020, 1, 1, tzinfo=UTC),
        to_at=datetime(2020, 1, 8, tzinfo=UTC),
    )
    assert (quiet.rules, quiet.together) == ((), (0,))
