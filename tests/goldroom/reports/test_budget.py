"""The error budget through the front door: for what comes after, never before."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from goldroom import commands
from goldroom.errors import Refusal
from goldroom.reports.month import reconciliation
from tests.goldroom import small_mine

ROW = {
    "quantity": "bullion_assay_gold", "random_u": "0.0001", "basis": "relative",
    "shared_u": "0.0001", "shared_basis": "relative", "evidence": "60 proofs",
}  # fmt: skip


def set_budget(ledger_id: int, at: str, from_at: str) -> None:
    """Set what the mine's own bullion assays are worth from a time on."""
    saying = small_mine.saying(
        "budget", at, "error_budget.set", small_mine.GUARDS,
        in_force_from=f"2026-{from_at.replace(' ', 'T')}:00+02:00", rows=[ROW],
    )  # fmt: skip
    commands.say(ledger_id, saying, small_mine.KEYS)


def vault(ledger_id: int, **more: Any) -> float:
    """Return the uncertainty of the gold that the vault took in in October."""
    report = reconciliation(
        ledger_id, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31), **more
    )
    came_in = report.steps["vault"]["gold"].came_in
    assert came_in is not None
    return came_in.u_g


def say_the_rest(ledger_id: int, after: str) -> None:
    """Say what the story says after this saying."""
    rest = [*small_mine.pour_days()]
    ids = [each.entry_id for each in rest]
    for each in rest[ids.index(small_mine.entry_id(after)) + 1 :]:
        commands.say(ledger_id, each, small_mine.KEYS)


def test_a_tightened_row_narrows_what_is_assayed_after_it(fresh_db):
    """The report speaks for both bars, 205.282 g: 0.05 % and 0.2 % become 0.01 %."""
    ledger_id = small_mine.tell(upto="bar mass")
    set_budget(ledger_id, "10-05 15:00", "10-05 15:00")
    say_the_rest(ledger_id, "bar mass")
    narrow = vault(ledger_id)
    plain = small_mine.tell("goldroom.example/another-ridge", upto="emergency")
    starting, tightened = 0.0005**2 + 0.002**2, 2 * 0.0001**2
    assert vault(plain) ** 2 - narrow**2 == pytest.approx(
        205.282**2 * (starting - tightened), rel=1e-3
    )


def test_what_was_assayed_before_it_and_reports_drawn_before_it_are_unchanged(told):
    before = vault(told)
    set_budget(told, "10-12 15:00", "10-12 15:00")
    assert vault(told) == before
    known = datetime(2026, 10, 12, 12, tzinfo=UTC)
    assert vault(told, as_known_at=known) == before


def test_a_budget_over_what_was_assayed_already_is_refused(told):
    with pytest.raises(Refusal, match="keeps the budget of its time"):
        set_budget(told, "10-12 15:00", "10-05 15:00")
