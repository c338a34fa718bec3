"""`manage.py next_number`, and samples through the front door into the read tables."""

from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command
from stdnum.iso7064 import mod_37_36

from goldroom import commands, projection
from goldroom.custody.records import Item
from goldroom.errors import Refusal
from goldroom.reports import rows
from goldroom.reports.attention import attention
from goldroom.reports.numbers import next_numbers
from ledger.audit import audit
from tests.goldroom import small_mine
from tests.goldroom.room import reading

NOW = datetime(2026, 10, 20, tzinfo=UTC)
source = pytest.mark.source("python-stdnum, stdnum.iso7064.mod_37_36")


def say(ledger_id, name, at, kind, hands, **values):
    """Say it; the tables must be what a fresh fold makes of the entries."""
    given = small_mine.saying(name, at, kind, hands, **values)
    appended = commands.say(ledger_id, given, small_mine.KEYS)
    assert projection.compare(ledger_id) == []
    return appended


def series(ledger_id, numbers, prefix, *, with_check, digits=4, at="10-12 08:00"):
    say(
        ledger_id, f"series/{numbers}/{prefix}", at, "number_series.set",
        small_mine.GUARDS, numbers=numbers, prefix=prefix, digits=digits,
        with_check=with_check,
    )  # fmt: skip


def checked(number):
    return number + mod_37_36.calc_check_digit(number.replace("-", ""))


def grams(digits):
    return reading(digits, "g", "BB1")


def split(ledger_id, *names, at="10-13 08:00"):
    """Divide the dip sample of the pour (2.1 g) between these."""
    rows_of = [
        {"item": name, "portion": "mine", "mass": grams(mass)}
        for name, mass in zip(names, ("1.0", "1.1"), strict=True)
    ]
    say(
        ledger_id, "split", at, "sample.split", small_mine.PAIR, sample="DIP-1",
        portions=rows_of,
    )  # fmt: skip


def printed(capsys, *arguments):
    call_command("next_number", *arguments)
    return capsys.readouterr().out.split()


def test_next_bar_follows_the_highest_number_stamped(told, capsys):
    series(told, "bar", "KR-", with_check=False)
    assert printed(capsys, "bar") == ["KR-0103"]
    assert printed(capsys, "bar", "--count", "2") == ["KR-0103", "KR-0104"]


@source
def test_next_samples_bear_their_check_character_and_are_accepted(told):
    series(told, "sample", "E-", with_check=True)
    names = next_numbers(told, "sample", now=NOW, count=2)
    assert names == (checked("E-0001"), checked("E-0002"))
    split(told, *names)
    assert next_numbers(told, "sample", now=NOW) == (checked("E-0003"),)
    assert rows.one(told, Item, names[0]).parents == ("DIP-1",)
    assert audit().exit_code == 0


@source
def test_next_seals_follow_those_issued_and_may_be_issued(told):
    series(told, "seal", "K-", with_check=True, digits=5)
    assert next_numbers(told, "seal", now=NOW) == (checked("K-00001"),)
    say(
        told, "seals/K", "10-12 09:00", "seals.issued", small_mine.GUARDS, series="K",
        first=1, last=20, digits=5, with_check=True, issued_to="p-sefu",
    )  # fmt: skip
    assert next_numbers(told, "seal", now=NOW) == (checked("K-00021"),)


def test_of_several_series_the_last_or_the_one_named_is_used(told, capsys):
    series(told, "bar", "KR-", with_check=False)
    series(told, "bar", "KS-", with_check=False, digits=3, at="10-12 09:00")
    assert printed(capsys, "bar") == ["KS-001"]
    assert printed(capsys, "bar", "--prefix", "KR-") == ["KR-0103"]


def test_a_number_spoiled_at_the_front_door_is_refused(told):
    series(told, "sample", "E-", with_check=True)
    with pytest.raises(Refusal) as caught:
        split(told, "E-00012", checked("E-0002"))
    assert caught.value.code == "check_character_wrong"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("sample",), "No series of sample numbers is in force"),
        (("sample", "--prefix", "X-"), "with prefix X- is in force"),
        (("bar", "--count", "0"), "--count: found 0, expected 1 to 1000"),
    ],
)
def test_what_cannot_be_proposed_ends_with_code_1(told, arguments, words):
    with pytest.raises(CommandError, match=words) as stopped:
        call_command("next_number", *arguments)
    assert stopped.value.returncode == 1


def test_samples_not_accounted_for_want_attention(told):
    split(told, "Q-1", "Q-2")
    late = datetime(2026, 12, 1, tzinfo=UTC)
    found = [
        each for each in attention(told, now=late) if each.code == "sample_open_long"
    ]
    assert [each.item for each in found] == ["Q-1"]
    say(
        told, "moved", "10-14 08:00", "sample.moved", small_mine.PAIR,
        samples=[{"item": "Q-1"}, {"item": "Q-2"}], to="lab", received_by="p-noor",
    )  # fmt: skip
    say(
        told, "used", "10-15 08:00", "sample.consumed", small_mine.CHEMISTS,
        laboratory="lab", used=[
            {"sample": "Q-1", "used_g": "1.000"}, {"sample": "Q-2", "used_g": "1.1"},
        ],
    )  # fmt: skip
    codes = [each.code for each in attention(told, now=late)]
    assert "sample_open_long" not in codes
