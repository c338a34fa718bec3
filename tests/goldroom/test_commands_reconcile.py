"""`manage.py reconcile`: sentences and a table, or JSON."""

import json

import pytest
from django.core.management import CommandError, call_command

OCTOBER = ("--from", "2026-10-01", "--to", "2026-10-31")


def printed(capsys, *arguments):
    call_command("reconcile", *arguments)
    return capsys.readouterr().out


def test_json_has_every_step_and_metal_with_its_figures(told, capsys):
    plain = json.loads(printed(capsys, *OCTOBER, "--json"))
    assert set(plain["steps"]) == {"hopper", "table", "smelt", "vault"}
    wanted = {"opening", "in", "out", "closing", "unaccounted", "u", "z"}
    for balances in (*plain["steps"].values(), plain["overall"]):
        assert {"gold", "silver"} <= set(balances)
        for balance in balances.values():
            assert wanted <= set(balance)
            for name in wanted - {"z"}:
                assert isinstance(balance[name], str)
    assert {"estimated", "poured", "ratio", "u"} <= set(plain["gravity"])
    assert plain["gravity"]["flushes"]["listed"] == 12


def test_text_says_the_period_the_balances_and_gravity(told, capsys):
    said = printed(capsys, *OCTOBER)
    assert "From 2026-10-01 06:00 to 2026-11-01 06:00" in said
    assert "All steps, gold" in said
    assert "12 counted by the plant, 12 listed on signed sheets" in said
    assert "unaccounted" in said


def test_as_known_at_shows_the_period_as_it_was_seen_then(told, capsys):
    then = json.loads(
        printed(
            capsys, *OCTOBER, "--json", "--as-known-at", "2026-10-09T12:00:00+02:00"
        )
    )
    assert then["as_known_at"] == "2026-10-09T10:00:00Z"
    assert then["steps"]["vault"]["gold"]["out"] == "0.000"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "2026-10-32", "--to", "2026-10-31"), "--from: found '2026-10-32'"),
        (("--from", "2026-10-01", "--to", "October"), "--to: found 'October'"),
        (("--from", "2026-10-02", "--to", "2026-10-01"), "before the first"),
        (
            (*OCTOBER, "--as-known-at", "2026-10-09T12:00:00"),
            "expected a time with its offset",
        ),
        ((*OCTOBER, "--as-known-at", "noon"), "expected a time with its offset"),
        ((*OCTOBER, "--ledger", "elsewhere"), "no ledger 'elsewhere'"),
    ],
)
def test_bad_option_ends_with_code_1_and_says_what_was_expected(told, arguments, words):
    with pytest.raises(CommandError) as stopped:
        call_command("reconcile", *arguments)
    assert words in str(stopped.value)
    assert stopped.value.returncode == 1


def test_without_a_ledger_it_says_so(fresh_db):
    with pytest.raises(CommandError, match="there are: none"):
        call_command("reconcile", *OCTOBER)
