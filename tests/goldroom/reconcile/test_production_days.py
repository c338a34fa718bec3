"""Production days at the site's cut-off, and across changes of the clock.

Clock changes are those of the public time zone database (IANA), Europe/Berlin 2026:
29 March and 25 October.
"""

from datetime import date, timedelta

import pytest

from goldroom.reconcile.production_days import Period, SiteClock, moment

BERLIN = SiteClock("Europe/Berlin", "06:00")


def test_the_small_hours_belong_to_the_day_before():
    clock = SiteClock("Africa/Johannesburg", "06:00")
    assert clock.day_of("2026-10-02T03:59:59Z") == date(2026, 10, 1)
    assert clock.day_of("2026-10-02T04:00:00Z") == date(2026, 10, 2)
    assert clock.start_of(date(2026, 10, 2)) == "2026-10-02T04:00:00Z"


@pytest.mark.source("IANA time zone database, Europe/Berlin, 2026")
@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (date(2026, 3, 27), 24),
        (date(2026, 3, 28), 23),
        (date(2026, 10, 24), 25),
        (date(2026, 10, 25), 24),
    ],
)
def test_a_day_with_a_clock_change_is_an_hour_shorter_or_longer(day, hours):
    start, end = BERLIN.start_of(day), BERLIN.start_of(day + timedelta(days=1))
    assert (moment(end) - moment(start)) == timedelta(hours=hours)


@pytest.mark.source("IANA time zone database, Europe/Berlin, 2026")
def test_a_flush_at_the_cut_off_goes_by_the_walls_clock_on_both_sides_of_the_change():
    # before the change 06:00 is 04:00 UTC, after it 05:00 UTC
    assert BERLIN.day_of("2026-10-24T04:00:00Z") == date(2026, 10, 24)
    assert BERLIN.day_of("2026-10-25T04:59:59Z") == date(2026, 10, 24)
    assert BERLIN.day_of("2026-10-25T05:00:00Z") == date(2026, 10, 25)


@pytest.mark.parametrize("day_start", ["00:00", "02:30", "06:00", "23:00"])
def test_every_hour_of_a_year_lies_in_the_day_that_it_is_said_to_be_of(day_start):
    clock = SiteClock("Europe/Berlin", day_start)
    at = moment("2026-01-01T00:15:00Z")
    for n in range(0, 365 * 24, 5):
        text = (at + timedelta(hours=n)).strftime("%Y-%m-%dT%H:%M:%SZ")
        day = clock.day_of(text)
        assert clock.start_of(day) <= text < clock.start_of(day + timedelta(days=1))


def test_a_month_runs_from_its_first_cut_off_to_the_next_months():
    period = Period.of_month(2026, 12, as_known_at="2027-01-05T00:00:00Z", clock=BERLIN)
    assert (period.from_at, period.to_at) == (
        "2026-12-01T05:00:00Z",
        "2027-01-01T05:00:00Z",
    )
    assert len(period.days()) == 31
    assert period.days()[0] == date(2026, 12, 1)
