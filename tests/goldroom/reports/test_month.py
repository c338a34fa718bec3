"""A period reconciled from the read tables, and how it is shown."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from goldroom.custody.state import State
from goldroom.errors import OutOfRange
from goldroom.projection import derive
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, Waiting, reconcile
from goldroom.reports.metal import site_clock
from goldroom.reports.month import reconciliation
from goldroom.reports.month_words import table, text_of
from ledger import read


def october(ledger_id, **more):
    return reconciliation(
        ledger_id,
        first_day=date(2026, 10, 1),
        last_day=date(2026, 10, 31),
        **more,
    )


def test_period_starts_and_ends_at_the_sites_cut_off(told):
    period = october(told).period
    assert period.from_at == "2026-10-01T04:00:00Z"
    assert period.to_at == "2026-11-01T04:00:00Z"
    assert period.as_known_at == "2026-10-12T08:10:00Z"


def test_report_from_tables_is_that_of_a_fold_in_memory(told):
    """The read tables add and lose nothing: same records, same report."""
    state = State()
    for entry in read.entries(told):
        derive(state, entry)
    period = Period.of_days(
        date(2026, 10, 1),
        date(2026, 10, 31),
        as_known_at="2026-10-12T08:10:00Z",
        clock=site_clock(told),
    )
    expected = reconcile(LedgerRecords.from_held(state.all_held()), period)
    assert october(told).to_json() == expected.to_json()


def test_every_row_adds_up_to_the_last_digit(told):
    report = october(told).to_json()
    for balances in (*report["steps"].values(), report["overall"]):
        for each in balances.values():
            figures = {
                name: Decimal(each[name])
                for name in ("opening", "in", "out", "closing", "unaccounted")
            }
            assert figures["unaccounted"] == (
                figures["opening"] + figures["in"] - figures["out"] - figures["closing"]
            )


def test_vault_holds_mines_gold_against_the_refinerys(told):
    """120.7 g and 118.0 g at 860.0 permille in; 238.5 g at 859.0 permille out."""
    vault = october(told).to_json()["steps"]["vault"]["gold"]
    assert vault["in"] == "205.282"
    assert vault["out"] == "204.872"  # 204.8715, ties to even at the milligram
    assert vault["unaccounted"] == "0.410"
    assert vault["provisional"] is True


def test_period_as_known_earlier_leaves_out_what_was_learned_later(told):
    before_outturn = datetime(2026, 10, 9, 12, tzinfo=UTC)
    vault = october(told, as_known_at=before_outturn).to_json()["steps"]["vault"]
    assert vault["gold"]["out"] == "0.000"
    assert vault["gold"]["closing"] == "205.282"


def test_last_day_before_the_first_is_refused(told):
    with pytest.raises(OutOfRange, match="before the first"):
        reconciliation(
            told,
            first_day=date(2026, 10, 2),
            last_day=date(2026, 10, 1),
        )


def test_one_day_is_a_period(told):
    report = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 1)
    )
    start, end = (
        datetime.fromisoformat(text)
        for text in (report.period.from_at, report.period.to_at)
    )
    assert end - start == timedelta(days=1)


def test_table_is_aligned_and_marks_what_is_provisional(told):
    lines = table(october(told))
    heading, *rows = lines
    assert heading.split() == [
        "opening", "in", "out", "closing", "unaccounted", "±", "u", "z",
    ]  # fmt: skip
    end = heading.index("unaccounted") + len("unaccounted")
    assert all(row[end - 1].isdigit() and row[end] == " " for row in rows)
    marked = [row.split()[0] for row in rows if row.endswith("p")]
    assert "vault" in marked
    assert "hopper" not in marked


def test_text_shows_two_digits_of_uncertainty_and_says_what_p_means(told):
    said = text_of(october(told))
    assert "From 2026-10-01 06:00 to 2026-11-01 06:00" in said
    assert "p: provisional" in said
    for row in table(october(told))[1:]:
        u = row.removesuffix("p").split()[-2]
        assert len(u.replace(".", "").strip("0")) <= 2, row


@pytest.mark.parametrize(
    ("first", "last", "known", "told_so"),
    [
        (date(2026, 10, 1), date(2026, 10, 31), None, "before the period ended"),
        (date(2026, 10, 1), date(2026, 10, 31), datetime(2026, 12, 1, tzinfo=UTC), ""),
        (date(2027, 1, 1), date(2027, 1, 31), None, "before the period began"),
        (date(2025, 1, 1), date(2025, 1, 31), None, "holds nothing of this period"),
    ],
)
def test_period_not_over_or_never_recorded_is_said(told, first, last, known, told_so):
    report = reconciliation(told, first_day=first, last_day=last, as_known_at=known)
    second_line = text_of(report).splitlines()[1]
    words = ("before the period", "holds nothing")
    assert any(each in second_line for each in words) is bool(told_so)
    assert told_so in second_line


def test_month_without_counted_flushes_says_why_gravity_is_not_checked(told):
    report = reconciliation(
        told, first_day=date(2025, 1, 1), last_day=date(2025, 1, 31)
    )
    assert "the plant's counters give no flush" in text_of(report)


def test_whole_names_the_steps_that_it_leaves_out(told):
    report = october(told)
    smelt = report.steps["smelt"]
    nothing_known = replace(smelt["gold"], unaccounted=None, unmeasured=("SLAG-9",))
    waiting = Waiting("SLAG-9", "slag", "nothing tells")
    spoilt = replace(
        report,
        steps={**report.steps, "smelt": {**smelt, "gold": nothing_known}},
        pending=(*report.pending, waiting),
    )
    said = text_of(spoilt)
    assert "All steps but smelt, gold: " in said
    assert "All steps, silver: " in said
    assert "\nall steps but smelt  gold, g" in said
    assert "nothing in its place: 1 item: SLAG-9." in said
    assert "but" not in text_of(report).split("unaccounted")[-1]
