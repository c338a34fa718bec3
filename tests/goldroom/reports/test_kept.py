"""What was worked out before is handed out again only while every row is the same."""

from datetime import UTC, date, datetime

import pytest
from django.db import connection

from goldroom import commands, projection
from goldroom.reports import kept
from goldroom.reports.attention import attention
from goldroom.reports.closed import closed_periods
from goldroom.reports.holdings import holdings
from goldroom.reports.kept import worked_out
from goldroom.reports.month import reconciliation
from goldroom.reports.trail import trail
from tests.goldroom import small_mine

NOVEMBER = datetime(2026, 11, 1, 8, tzinfo=UTC)
QUERIES_AT_MOST = 12


def october(ledger_id: int) -> dict[str, object]:
    report = reconciliation(
        ledger_id, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    return report.to_json()


def weigh_anew(grams: str, found: str) -> None:
    """Change a bar's mass past the program, in the read table alone."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE goldroom_row SET value = replace(value, %s, %s)"
            " WHERE record = 'mass' AND value LIKE %s",
            [f'"grams":"{found}"', f'"grams":"{grams}"', f'%"grams":"{found}"%'],
        )
        assert cursor.rowcount >= 1


def a_weighed_mass(ledger_id: int) -> str:
    """Return the grams that some bar was weighed at, as its row has them."""
    masses = worked_out(ledger_id).records.masses["BAR-1"]
    return format(masses[-1].terms[0].grams, "f")


def say_a_budget(ledger_id: int) -> None:
    row = {
        "quantity": "bullion_assay_gold", "random_u": "0.0001", "basis": "relative",
        "shared_u": "0.0001", "shared_basis": "relative", "evidence": "60 proofs",
    }  # fmt: skip
    saying = small_mine.saying(
        "budget", "10-12 15:00", "error_budget.set", small_mine.GUARDS,
        in_force_from="2026-10-12T15:00:00+02:00", rows=[row],
    )  # fmt: skip
    commands.say(ledger_id, saying, small_mine.KEYS)


def test_same_rows_are_worked_out_once(told):
    assert worked_out(told) is worked_out(told)


def test_what_is_kept_is_what_is_worked_out_anew(told):
    first, again = october(told), october(told)
    kept._worked_out.cache_clear()
    assert first == again == october(told)


def test_an_entry_shows_at_once(told):
    before = worked_out(told)
    assert before.records.error_budgets == ()
    say_a_budget(told)
    after = worked_out(told)
    assert [each.quantity for each in after.records.error_budgets] == [
        "bullion_assay_gold"
    ]
    assert before.records.error_budgets == ()


def test_a_row_changed_past_the_program_shows_and_verification_finds_it(told):
    honest = october(told)
    grams = a_weighed_mass(told)
    weigh_anew("9" + grams[1:], grams)
    assert october(told) != honest
    assert "row_differs" in [each.code for each in projection.compare(told)]
    projection.rebuild(told)
    assert october(told) == honest
    assert projection.compare(told) == []


def test_verification_finds_a_change_that_no_report_was_asked_about_since(told):
    october(told)
    grams = a_weighed_mass(told)
    weigh_anew("9" + grams[1:], grams)
    assert "row_differs" in [each.code for each in projection.compare(told)]


def test_another_ledger_has_its_own(told):
    other = small_mine.tell("goldroom.example/another-ridge", upto="bar mass")
    assert worked_out(other) is not worked_out(told)
    assert october(other) != october(told)


def test_periods_and_times_are_told_apart(told):
    days = {"first_day": date(2026, 10, 1), "last_day": date(2026, 10, 31)}
    early = datetime(2026, 10, 5, 9, tzinfo=UTC)
    now = reconciliation(told, **days)
    assert reconciliation(told, **days, as_known_at=early) != now
    assert reconciliation(told, **days) is now


def test_no_more_is_kept_than_said(told):
    for n in range(kept.LEDGERS_KEPT + 2):
        grams = a_weighed_mass(told)
        weigh_anew(f"{grams}{n}", grams)
        worked_out(told)
    assert kept._worked_out.cache_info().currsize <= kept.LEDGERS_KEPT


@pytest.mark.parametrize(
    "ask",
    [
        october,
        holdings,
        closed_periods,
        lambda ledger_id: attention(ledger_id, now=NOVEMBER),
        lambda ledger_id: trail(ledger_id, "BAR-1"),
    ],
    ids=["month", "holdings", "closed", "attention", "trail"],
)
def test_a_report_asks_few_queries(told, ask, django_assert_max_num_queries):
    kept._worked_out.cache_clear()
    with django_assert_max_num_queries(QUERIES_AT_MOST, connection=connection):
        ask(told)
