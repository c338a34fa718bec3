"""The error budget: by evidence, effective-dated, never over the past."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.error_budget import ErrorBudget
from goldroom.metal.starting_uncertainties import STARTING, WELL_RUN
from goldroom.statements.error_budget import ErrorBudgetSet
from goldroom.statements.period import PeriodClosed
from tests.goldroom import room
from tests.goldroom.room import say
from tests.goldroom.statements.test_period import CLOSED, CLOSED_AT, CLOSERS, site

SETTERS = (("p-sefu", "security"), ("p-ines", "metallurgist"))
AT = "2026-10-05T06:10:00+02:00"
ROW: dict[str, Any] = {
    "quantity": "hopper_cells",
    "random_u": "0.8",
    "basis": "kg",
    "shared_u": "0.004",
    "shared_basis": "relative",
    "evidence": "60 check weights in four weeks",
}
BUDGET = {"in_force_from": "2026-10-06T06:00:00+02:00", "rows": [ROW]}


def refused(state: Any = None, at: str = AT, **changed: Any) -> str | None:
    """Return the code with which a budget is refused when changed so; None if not."""
    row = {**ROW, **{name: changed.pop(name) for name in list(changed) if name in ROW}}
    said = {**BUDGET, "rows": [row], **changed}
    where = room.room() if state is None else state
    return room.refused(where, ErrorBudgetSet, said, at=at, people=SETTERS)


def test_a_budget_row_is_a_version_in_force_from_a_time():
    state = room.room()
    said = say(state, ErrorBudgetSet, BUDGET, at=AT, people=SETTERS)
    say(state, ErrorBudgetSet, {**BUDGET, "rows": [{**ROW, "random_u": "0.6"}]},
        at=AT, people=SETTERS)  # fmt: skip
    first = state.get(ErrorBudget, "hopper_cells/001")
    second = state.get(ErrorBudget, "hopper_cells/002")
    assert first is not None
    assert second is not None
    assert (first.random_u, second.random_u) == (Decimal("0.8"), Decimal("0.6"))
    assert first.in_force_from == "2026-10-06T04:00:00Z"
    assert said.sentence() == (
        "From 2026-10-06 06:00 on the error budget is: hopper cells 0.8 kg each time"
        " and 0.4 % of the value shared (60 check weights in four weeks)."
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="from tomorrow"),
        pytest.param({"in_force_from": AT}, None, id="from now"),
        pytest.param(
            {"in_force_from": "2026-10-05T06:09:59+02:00"}, "bad_field", id="the past"
        ),
        pytest.param({"quantity": "luck"}, "bad_field", id="no such quantity"),
        pytest.param({"basis": "points"}, "bad_field", id="points of a weighing"),
        pytest.param({"shared_basis": "kg"}, "bad_field", id="a slope in kg"),
        pytest.param({"basis": "span", "random_u": "0.005"}, None, id="of the span"),
        pytest.param(
            {"basis": "span", "random_u": "5"},
            "out_of_range",
            id="per cent for a share",
        ),
        pytest.param({"shared_u": "4"}, "out_of_range", id="400 %"),
        pytest.param({"random_u": "0", "shared_u": "0"}, "out_of_range", id="exact"),
        pytest.param({"random_u": "-1"}, "bad_field", id="less than nothing"),
        pytest.param({"evidence": " "}, "bad_field", id="no evidence"),
    ],
)
def test_a_budget_is_set_or_refused(changed, code):
    assert refused(**changed) == code


@pytest.mark.parametrize(("late_h", "code"), [(11, None), (12, "bad_field")])
def test_a_budget_written_up_late_does_not_begin_before_it_was_entered(late_h, code):
    """Taken down ten minutes and so many hours after the time it gives itself."""
    said = {**BUDGET, "in_force_from": AT}
    found = room.refused(
        room.room(), ErrorBudgetSet, said, at=AT, people=SETTERS, late_h=late_h
    )
    assert found == code


def test_a_quantity_named_twice_is_refused():
    assert refused(rows=[ROW, ROW]) == "bad_field"


def test_a_budget_never_reaches_into_a_closed_period():
    state = site()
    say(state, PeriodClosed, CLOSED, at=CLOSED_AT, people=CLOSERS)
    at = "2026-10-31T06:00:00+02:00"
    late = "2026-11-01T05:59:59+02:00"
    assert refused(state, at, in_force_from=late) == "bad_field"
    assert refused(state, at, in_force_from="2026-11-01T06:00:00+02:00") is None


@pytest.mark.parametrize("quantity", STARTING)
@pytest.mark.parametrize("table", [STARTING, WELL_RUN])
def test_every_starting_row_can_be_said_as_a_budget_row(quantity, table):
    row = table[quantity]
    assert (
        refused(
            quantity=quantity,
            random_u=str(Decimal(repr(row.random.u))),
            basis=row.random.basis,
            shared_u=str(Decimal(repr(row.shared.u))),
            shared_basis=row.shared.basis,
        )
        is None
    )
