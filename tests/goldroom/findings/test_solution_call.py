"""Rules over cell cleanups. Thresholds are common practice, no source."""

from decimal import Decimal

import pytest

from goldroom.custody.cells import CellLoad
from goldroom.findings.solution_call import calls_apart, calls_one_way
from goldroom.metal.uncertainty import exact
from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.solution_call import Side, SolutionCall
from tests.goldroom.findings.things import threshold

FIVE = threshold("solution_call_percent", "5", "%")


def call(
    number: int, missing_g: str | None, *, cell: str = "EC1", called_g: str = "1000"
) -> SolutionCall:
    """Return a call of 1000 g of gold of which so much is missing (None: pending)."""
    called = Amount(Decimal(called_g), exact(Decimal(called_g)))
    found = None
    if missing_g is not None:
        found_g = Decimal(called_g) - Decimal(missing_g)
        found = Amount(found_g, exact(found_g))
    load = CellLoad(
        load=f"{cell}-{number}",
        cell=cell,
        runs=("e-1",),
        started_at=f"2026-10-{number:02d}T04:00:00Z",
        cleaned_at=f"2026-10-{number:02d}T20:00:00Z",
        cleaned_in=f"e-{number}",
    )
    return SolutionCall(
        load=load,
        source="gravity",
        called=Side(called, called),
        found=Side(found, found),
        plated=Side(called, called),
        found_in=(),
        waiting=() if found else ("SLU",),
        is_provisional=False,
        charge_ah=None,
    )


@pytest.mark.parametrize(
    ("missing_g", "found"),
    [
        pytest.param("50", [], id="at the limit"),
        pytest.param("50.001", ["EC1-1"], id="over it, missing"),
        pytest.param("-50", [], id="more, at the limit"),
        pytest.param("-50.001", ["EC1-1"], id="more, over it"),
        pytest.param(None, [], id="pending"),
    ],
)
def test_a_cleanup_that_differs_from_its_call_is_found(missing_g, found):
    assert [each.item for each in calls_apart([call(1, missing_g)], within=FIVE)] == (
        found
    )


def test_what_is_found_says_how_much_and_which_way():
    (less,) = calls_apart([call(1, "80")], within=FIVE)
    assert (less.code, less.level) == ("solution_call_differs", "exception")
    assert less.found == "80.000 g of gold less than called (8.0 %)"
    assert less.expected == (
        "sludge and heel within 5 % (limit solution_call_percent) of the call"
    )
    assert less.at == "2026-10-01T20:00:00Z"
    (more,) = calls_apart([call(1, "-80")], within=FIVE)
    assert "80.000 g of gold more than called" in more.found
    assert "gave more gold" in more.message


@pytest.mark.parametrize(
    ("missing", "found"),
    [
        pytest.param(["1", "1", "1", "1"], ["EC1"], id="four less"),
        pytest.param(["-1", "-1", "-1", "-1"], ["EC1"], id="four more"),
        pytest.param(["1", "1", "1"], [], id="three"),
        pytest.param(["1", "1", "-1", "1"], [], id="one the other way"),
        pytest.param(["1", "1", "0", "1"], [], id="one even"),
        pytest.param(["0", "0", "0", "0"], [], id="four even"),
        pytest.param(["-1", "1", "1", "1", "1"], ["EC1"], id="the last four"),
        pytest.param(["1", "1", "1", "1", "-1"], [], id="not the last one"),
        pytest.param(["1", "1", None, "1", "1"], ["EC1"], id="a pending one passed by"),
    ],
)
def test_four_calls_that_err_the_same_way_are_found(missing, found):
    known = [call(n, each) for n, each in enumerate(missing, start=1)]
    assert [each.item for each in calls_one_way(reversed(known))] == found


def test_each_cell_is_judged_by_its_own_cleanups():
    mixed = [call(n, "1", cell=f"EC{1 + n % 2}") for n in range(1, 8)]
    assert [each.item for each in calls_one_way(mixed)] == ["EC2"]


def test_the_same_way_running_says_how_much_together():
    (found,) = calls_one_way([call(n, "2.5") for n in range(1, 5)])
    assert (found.code, found.level) == ("solution_calls_one_way", "notice")
    assert found.found == (
        "less gold than called in each of EC1-1, EC1-2, EC1-3, EC1-4, 10.0 g together"
    )
    assert found.at == "2026-10-04T20:00:00Z"
