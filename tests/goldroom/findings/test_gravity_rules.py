"""Rules over the gravity checks of closed periods."""

from decimal import Decimal

import pytest

from goldroom.findings.gravity import (
    ReportedCheck,
    gravity_apart,
    gravity_drifting,
    running_sums,
)
from tests.goldroom.findings.things import threshold

LIMITS = {
    "month": threshold("gravity_month_percent", "10", "%"),
    "quarter": threshold("gravity_quarter_percent", "5", "%"),
    "year": threshold("gravity_year_percent", "3", "%"),
}
FIVE_U = threshold("gravity_drift_u", "5", "u")


def check(n: int, accounted: str, u: str = "1000") -> ReportedCheck:
    """Return a month's check against an estimate of 10000 g."""
    return ReportedCheck(
        period=f"2026-{n:02d}",
        at=f"2026-{n:02d}-28T04:00:00Z",
        estimated_g=Decimal(10000),
        estimated_u_g=Decimal(u),
        accounted_g=Decimal(accounted),
        accounted_u_g=Decimal(0),
    )


@pytest.mark.source("common practice, no source")
@pytest.mark.parametrize(
    ("accounted", "items"),
    [
        pytest.param(["9000"], [], id="a month at its limit"),
        pytest.param(["8999"], ["2026-01"], id="a month beyond it"),
        pytest.param(["11001"], ["2026-01"], id="more than estimated"),
        pytest.param(["9500", "9500", "9500"], [], id="three at theirs"),
        pytest.param(["9500", "9500", "9499"], ["2026-01..2026-03"], id="three beyond"),
        pytest.param(["9700"] * 12, [], id="twelve at theirs"),
        pytest.param(["9699"] * 12, ["2026-01..2026-12"], id="twelve beyond"),
        pytest.param(["8000", "10000"], [], id="only the newest month counts"),
    ],
)
def test_poured_against_estimated_beyond_the_limit_of_its_span(accounted, items):
    checks = [check(n, each) for n, each in enumerate(accounted, 1)]
    assert [each.item for each in gravity_apart(checks, **LIMITS)] == items


@pytest.mark.parametrize(
    ("u", "level"), [("1000", "notice"), ("750", "notice"), ("749", "exception")]
)
def test_it_alarms_only_beyond_twice_the_uncertainty(u, level):
    (found,) = gravity_apart([check(1, "8500", u)], **LIMITS)
    assert (found.code, found.level) == ("gravity_apart", level)
    assert found.found == (
        "8500 g of gold accounted for against 10000 g estimated: -15.0 %"
    )
    assert "limit gravity_month_percent" in found.expected


CONCENTRATION = """102.0 94.8 98.3 98.4 102.0 98.5 99.0 97.7 100.0 98.1
101.3 98.7 101.1 98.4 97.0 96.7 100.3 101.4 97.2 101.0"""
HIGH = "2.0 0 0 0 2.0 0.5 0 0 0 0 1.3 0 1.1 0 0 0 0.3 1.7 0 1.0"
LOW = "0 3.2 2.9 2.5 0 0 0 0.3 0 0 0 0 0 0 1.0 2.3 0 0 0.8 0"


@pytest.mark.source(
    "Montgomery and Runger, Applied Statistics and Probability for Engineers, tables"
    " 16-7 and 16-8: chemical concentration, target 99, reference value 1"
)
def test_running_sums_are_those_of_the_textbook():
    apart = [Decimal(each) - 99 for each in CONCENTRATION.split()]
    sums = running_sums(apart, allowance=Decimal(1))
    assert [high for high, _ in sums] == [Decimal(each) for each in HIGH.split()]
    assert [low for _, low in sums] == [Decimal(each) for each in LOW.split()]


def test_drift_is_found_when_the_running_sum_goes_over_and_named_by_that_period():
    checks = [check(n, "8500") for n in range(1, 6)]
    assert gravity_drifting(checks, within=FIVE_U) == [], "five times 1.5 - 0.5 is 5"
    (found,) = gravity_drifting([*checks, check(6, "8500")], within=FIVE_U)
    assert (found.item, found.level) == ("2026-06", "exception")
    assert found.found == "running sum 6.0 u, less gold than estimated"
    later = [*checks, check(6, "8500"), check(7, "9999")]
    (still,) = gravity_drifting(later, within=FIVE_U)
    assert still.item == "2026-06"
    assert gravity_drifting([*later, check(8, "12000")], within=FIVE_U) == []
