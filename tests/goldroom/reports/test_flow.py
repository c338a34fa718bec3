"""The flow's edges come to the balances' own figures."""

from datetime import date

from goldroom.reconcile.network import CLOSING, OPENING
from goldroom.reports.flow import flow
from goldroom.reports.month import reconciliation


def test_edges_of_each_step_come_to_its_balance(told):
    report = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    edges = flow(report).edges
    assert edges
    for step, balances in report.steps.items():
        gold = balances["gold"]
        if not gold.is_drawn or "+" in step:
            continue
        came = [e for e in edges if e.to_step == step and e.from_step != step]
        went = [e for e in edges if e.from_step == step and e.to_step != step]
        sums = {
            "opening": sum(e.grams for e in came if e.role == OPENING),
            "in": sum(e.grams for e in came if e.role != OPENING),
            "out": sum(e.grams for e in went if e.role != CLOSING),
            "closing": sum(e.grams for e in went if e.role == CLOSING),
        }
        assert sums == {
            "opening": gold.opening.posted_g,
            "in": gold.came_in.posted_g,
            "out": gold.went_out.posted_g,
            "closing": gold.closing.posted_g,
        }
