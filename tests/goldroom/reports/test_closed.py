"""Closed periods: as reported and as now known, figure by figure. All invented."""

import json
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from goldroom import commands
from goldroom.errors import UnknownPeriod
from goldroom.metal.starting_uncertainties import STARTING
from goldroom.reports import closing
from goldroom.reports.closed import ClosedReport, Figure, closed_periods
from goldroom.reports.closed_words import table
from goldroom.reports.metal import last_known_at
from goldroom.reports.month import reconciliation
from goldroom.sayings import read_line
from ledger import read
from tests.goldroom import small_mine
from tests.goldroom.room import reading

CLOSERS = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
OCTOBER = ("--from", "2026-10-01", "--to", "2026-10-31")
SIGNERS = ("--signer", "p-odile:accountant", "--signer", "p-ines:metallurgist")


def printed(capsys: Any, *arguments: str) -> str:
    """Return what close_period prints."""
    call_command("close_period", *arguments, *SIGNERS)
    return str(capsys.readouterr().out)


def say(ledger_id: int, name: str, at: str, kind: str, hands: Any, /, **values: Any):
    """Say something into the told ledger."""
    saying = small_mine.saying(name, at, kind, hands, **values)
    return commands.say(ledger_id, saying, small_mine.KEYS)


def close(ledger_id: int) -> None:
    """Close October with the figures that close_period takes."""
    data = closing.closing(
        ledger_id, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    say(ledger_id, "close", "11-02 10:00", "period.closed", CLOSERS, **data)


def final_assay(ledger_id: int, gold: str = "863.0") -> None:
    """Say the bars' final assay, in November."""
    final = small_mine.assayed(
        "final", "11-05 10:00", (["BAR-1", "BAR-2"], "permille", gold, "119")
    )
    commands.say(ledger_id, final, small_mine.KEYS)


def october(ledger_id: int) -> ClosedReport:
    """Return the only closed period."""
    (found,) = closed_periods(ledger_id)
    return found


def figure(report: ClosedReport, step: str, name: str, metal: str = "gold") -> Figure:
    """Return one figure of the comparison."""
    return next(
        each
        for each in report.figures
        if (each.step, each.metal, each.name) == (step, metal, name)
    )


def test_a_period_just_closed_is_as_reported(told):
    close(told)
    report = october(told)
    assert report.is_root_same
    assert report.is_drawn_again
    assert report.is_digest_same
    assert not [each for each in report.figures if each.has_changed]
    assert report.left_to_post() == {}


def test_what_is_closed_are_the_figures_of_the_reconciliation(told):
    close(told)
    drawn = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    ).to_json()
    kept = october(told).period.reported
    for row in kept.balances:
        steps: Any = drawn["overall"] if row.step == "all" else drawn["steps"][row.step]
        balance = steps[row.metal]
        names = ("opening", "in", "out", "closing", "unaccounted", "u")
        found = (row.opening_g, row.came_in_g, row.went_out_g, row.closing_g,
                 row.unaccounted_g, row.u_g)  # fmt: skip
        assert [str(each) for each in found] == [balance[name] for name in names]
    assert {row.step for row in kept.balances} == {
        "hopper", "table", "smelt", "vault", "all",
    }  # fmt: skip
    assert kept.standing == "provisional"
    assert str(kept.gravity.poured_g) == drawn["gravity"]["poured"]


def test_a_final_assay_changes_the_bars_and_not_the_whole(told):
    """Two bars of 120.7 g and 118.0 g, 860.0 and then 863.0 permille of gold."""
    close(told)
    final_assay(told)
    report = october(told)
    change = Decimal("0.003") * (Decimal("120.7") + Decimal("118.0"))
    rounding = Decimal("0.002")
    assert report.is_drawn_again
    for step, name, sign in (
        ("smelt", "went_out_g", 1), ("smelt", "unaccounted_g", -1),
        ("vault", "came_in_g", 1), ("vault", "unaccounted_g", 1),
    ):  # fmt: skip
        found = figure(report, step, name)
        assert found.change_g is not None
        assert abs(found.change_g - sign * change) <= rounding
    assert figure(report, "all", "unaccounted_g").change_g == 0
    assert figure(report, "table", "unaccounted_g").change_g == 0


@pytest.mark.source("JCGM 100:2008, 5.2.2, equation (16)")
def test_the_change_is_worth_what_the_two_assays_do_not_share(told):
    """u2(new - old) = u2(new) + u2(old) - 2 cov: mass and laboratory bias are shared.

    What is left are two determinations, each 0.05 % of its fineness and shared by
    both bars, and the shared relative errors of the mass and of the laboratory times
    the change itself, which is 0.3 % of the metal.
    """
    close(told)
    final_assay(told)
    repeat = STARTING["bullion_assay_gold"].random.u
    bars_g = 120.7 + 118.0
    apart = bars_g * repeat * (0.860**2 + 0.863**2) ** 0.5
    shared = bars_g * 0.003 * STARTING["bullion_assay_gold"].shared.u
    u_g = figure(october(told), "vault", "came_in_g").u_g
    assert u_g is not None
    assert u_g == pytest.approx((apart**2 + shared**2) ** 0.5, rel=0.01)


def test_a_change_beyond_three_of_its_uncertainties_is_marked(told):
    close(told)
    final_assay(told, "862.0")
    assert figure(october(told), "vault", "came_in_g").is_alarming
    assert not figure(october(told), "all", "unaccounted_g").is_alarming


def test_a_small_change_is_not_marked(told):
    close(told)
    final_assay(told, "860.5")
    found = figure(october(told), "vault", "came_in_g")
    assert found.has_changed
    assert not found.is_alarming


def test_a_reading_put_right_is_what_no_uncertainty_explains(told):
    close(told)
    right = {
        "item": "BAR-2",
        "stamped": "KR-0102",
        "first": reading("118.4", "g", "BU1"),
    }
    say(
        told, "put right", "11-04 10:00", "record.corrected", small_mine.MENDERS,
        entry=small_mine.entry_id("BAR-2"), mode="figures", kind="bar.numbered",
        values=right, reason="0 read for 4", corrects=small_mine.entry_id("BAR-2"),
    )  # fmt: skip
    found = figure(october(told), "vault", "came_in_g")
    assert found.change_g == Decimal("0.344")  # 0.4 g at 860 permille
    assert found.is_alarming


def test_a_true_up_leaves_nothing_to_post(told):
    close(told)
    final_assay(told)
    left = october(told).left_to_post()
    assert set(left) == {("smelt", "gold"), ("vault", "gold")}
    say(
        told, "true-up", "11-06 10:00", "period.trued_up", CLOSERS, period="2026-10",
        entries=[small_mine.entry_id("final")],
        lines=[
            {"step": step, "metal": metal, "amount_g": str(amount),
             "cause": "measurement", "reason": "final assay"}
            for (step, metal), amount in left.items()
        ],
    )  # fmt: skip
    report = october(told)
    assert report.left_to_post() == {}
    assert [each.cause for each in report.true_ups] == ["measurement"] * 2
    assert report.to_json()["left_to_post"] == []


def test_a_ledger_that_is_not_the_one_reported_from_is_told(told, capsys):
    data = closing.closing(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    data["report"]["ledger_root"] = "A" * 43 + "="
    say(told, "close", "11-02 10:00", "period.closed", CLOSERS, **data)
    assert not october(told).is_root_same
    with pytest.raises(CommandError, match="reported_root_differs") as stopped:
        call_command("closed_periods")
    assert stopped.value.returncode == 2
    assert "ARE NOT THOSE THAT THIS WAS REPORTED FROM" in capsys.readouterr().out


def test_a_size_that_the_ledger_never_had_is_another_ledger(told):
    data = closing.closing(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    data["report"]["ledger_size"] = 9999
    say(told, "close", "11-02 10:00", "period.closed", CLOSERS, **data)
    assert not october(told).is_root_same


def test_figures_that_the_record_did_not_give_are_told(told, capsys):
    data = closing.closing(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    for row in data["report"]["balances"]:
        if row["step"] in ("vault", "all") and row["metal"] == "gold":
            for name, sign in (("came_in_g", 1), ("unaccounted_g", 1)):
                row[name] = str(Decimal(row[name]) + sign * 5)
    say(told, "close", "11-02 10:00", "period.closed", CLOSERS, **data)
    assert not october(told).is_drawn_again
    call_command("closed_periods")
    said = capsys.readouterr().out
    assert "does not give the figures reported" in said


# --- the commands -----------------------------------------------------------


def test_close_period_prints_a_line_that_record_takes(told, capsys):
    line = printed(capsys, *OCTOBER, "--at", "2026-11-02T10:00:00+02:00")
    saying = read_line(line.strip())
    assert saying.kind == "period.closed"
    assert saying.data["period"] == "2026-10"
    assert saying.data["from_at"] == "2026-10-01T06:00:00+02:00"
    assert saying.data["to_at"] == "2026-11-01T06:00:00+02:00"
    assert saying.data["report"]["ledger_size"] == read.head(told).size
    assert [(each.person, each.role) for each in saying.signers] == list(CLOSERS)
    plain = {**json.loads(line), "received_at": "2026-11-02T10:05:00+02:00"}
    commands.say(told, read_line(json.dumps(plain)), small_mine.KEYS)
    assert october(told).is_drawn_again


def test_a_restatement_is_printed_and_stands_beside(told, capsys):
    close(told)
    final_assay(told)
    line = printed(
        capsys, "--restate", "2026-10", "--reason", "final assay",
        "--at", "2026-11-06T10:00:00+02:00",
    )  # fmt: skip
    plain = {**json.loads(line), "received_at": "2026-11-06T10:05:00+02:00"}
    assert plain["kind"] == "period.restated"
    known_at = datetime.fromisoformat(plain["data"]["report"]["as_known_at"])
    assert known_at == datetime.fromisoformat(last_known_at(told))
    assert known_at.utcoffset() == timedelta(hours=2), "the site's own clock"
    commands.say(told, read_line(json.dumps(plain)), small_mine.KEYS)
    call_command("closed_periods")
    said = capsys.readouterr().out
    assert "Restated 2026-11-06 10:00 by entry " in said
    assert "figures: final assay." in said


def test_closed_periods_reads_aloud_what_changed_and_what_is_left(told, capsys):
    close(told)
    call_command("closed_periods")
    assert "Every figure is still as reported." in capsys.readouterr().out
    final_assay(told)
    call_command("closed_periods", "--period", "2026-10")
    said = capsys.readouterr().out
    assert said.startswith("2026-10: 2026-10-01 to 2026-10-31, closed by entry ")
    assert "figures have changed:" in said
    assert "Left to post: +0.716 g of gold unaccounted at vault." in said
    call_command("closed_periods", "--json")
    (plain,) = json.loads(capsys.readouterr().out)
    assert plain["root_same"] is True
    changed = [each for each in plain["figures"] if each["change"] not in ("0.000",)]
    assert {each["step"] for each in changed} >= {"smelt", "vault"}


@pytest.mark.parametrize(
    ("reported", "now", "u", "shown"),
    [
        ("28879.901", "28842.989", 51.0, ["28880", "28843", "-37", "51"]),
        ("3984.761", "3977.120", 7.2, ["3984.8", "3977.1", "-7.6", "7.2"]),
        ("500.000", "500.716", 0.0, ["500.000", "500.716", "+0.716", "0"]),
    ],
)
def test_figures_are_shown_with_digits_enough_to_see_the_change(
    reported, now, u, shown
):
    """Our own examples of two digits of the change or of its uncertainty."""
    figure = Figure(
        step="hopper", metal="gold", name="closing_g",
        reported_g=Decimal(reported), now_g=Decimal(now), u_g=u,
    )  # fmt: skip
    assert table([figure])[1].split()[4:8] == shown


def test_with_nothing_closed_it_says_what_to_do(told, capsys):
    call_command("closed_periods")
    assert "close_period prints the line" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("command", "arguments", "words"),
    [
        ("close_period", ("--from", "2026-10-01", *SIGNERS), "Give --from and --to"),
        ("close_period", (*OCTOBER, "--restate", "2026-10", *SIGNERS), "Give --from"),
        ("close_period", ("--restate", "2026-10", *SIGNERS), "--reason"),
        ("close_period", (*OCTOBER, "--signer", "p-odile"), "--signer: found"),
        ("close_period", (*OCTOBER, *SIGNERS, "--at", "noon"), "--at: found"),
        (
            "close_period",
            ("--restate", "2026-09", "--reason", "so", *SIGNERS),
            "unknown_period",
        ),
        ("closed_periods", ("--period", "2026-09"), "there are: none"),
    ],
)
def test_a_bad_option_says_what_was_expected(told, command, arguments, words):
    with pytest.raises(CommandError) as stopped:
        call_command(command, *arguments)
    assert words in str(stopped.value)


def test_a_period_of_other_days_is_named_by_them():
    days = [date(2026, 10, 1), date(2026, 10, 15), date(2026, 10, 31)]
    assert closing.name_of(days[0], days[2]) == "2026-10"
    assert closing.name_of(days[0], days[1]) == "2026-10-01..2026-10-15"
    assert closing.name_of(days[0], date(2026, 11, 30)) == "2026-10-01..2026-11-30"


def test_a_period_nobody_closed_is_not_found(told):
    with pytest.raises(UnknownPeriod, match="there are: none"):
        closing.closed_named(told, "2026-10")
