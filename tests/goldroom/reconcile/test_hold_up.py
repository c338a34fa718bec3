"""Hold-up estimated at month ends: one effect from a closing to the next opening."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, PeriodReport, reconcile
from goldroom.statements.stock import StockEstimated
from tests.goldroom.room import room, say
from tests.goldroom.statements.test_stock import COUNTERS, ESTIMATE

ENDS = ("2026-10-01", "2026-11-01", "2026-12-01", "2027-01-01")


def two_months() -> Any:
    """Return a room whose furnace heel was found in October and changed after."""
    state = room()
    new = {key: value for key, value in ESTIMATE["new"].items() if key != "vessel"}
    for at, name, gold, before in (
        ("2026-10-31T09:00:00+02:00", "FUR-1", "30", None),
        ("2026-11-30T09:00:00+02:00", "FUR-2", "42", "FUR-1"),
    ):
        ends = {"instead_of": before} if before else {}
        said = {**ESTIMATE, "item": name, "gold_g": gold, "new": {**new, **ends}}
        say(state, StockEstimated, said, at=at, people=COUNTERS)
    return state


def month(state: Any, n: int) -> PeriodReport:
    """Return the reconciliation of a month: 0 is October."""
    period = Period(
        f"{ENDS[n]}T04:00:00Z", f"{ENDS[n + 1]}T04:00:00Z", "2027-06-01T00:00:00Z",
        "Africa/Johannesburg", "06:00",
    )  # fmt: skip
    return reconcile(LedgerRecords.from_held(state.all_held()), period)


def test_metal_found_comes_in_and_is_held_and_nothing_is_missing():
    smelt = month(two_months(), 0).steps["smelt"]["gold"]
    assert (smelt.came_in.posted_g, smelt.closing.posted_g) == (30, 30)
    assert smelt.unaccounted.posted_g == Decimal("0.000")
    assert smelt.unaccounted.u_g == pytest.approx(0)


def test_the_closing_estimate_is_the_next_opening_with_its_one_effect():
    state = two_months()
    closing = month(state, 0).steps["smelt"]["gold"].closing
    opening = month(state, 1).steps["smelt"]["gold"].opening
    assert closing == opening
    assert len(closing.measured.effects) == 1


@pytest.mark.source("JCGM 100:2008, 5.1.2, equation (10)")
def test_a_hold_up_that_grew_is_metal_gained_with_both_estimates_uncertainties():
    """30 g, then 42 g, each ± 5 g: 12 g gained, ± 5 g times the root of 2."""
    smelt = month(two_months(), 1).steps["smelt"]["gold"]
    assert (smelt.opening.posted_g, smelt.closing.posted_g) == (30, 42)
    assert (smelt.came_in.posted_g, smelt.went_out.posted_g) == (0, 0)
    assert smelt.unaccounted.posted_g == -12
    assert smelt.unaccounted.u_g == pytest.approx(5 * 2**0.5)


def test_the_month_after_is_only_carried_forward():
    smelt = month(two_months(), 2).steps["smelt"]["gold"]
    assert (smelt.opening.posted_g, smelt.closing.posted_g) == (42, 42)
    assert smelt.unaccounted.u_g == pytest.approx(0)
