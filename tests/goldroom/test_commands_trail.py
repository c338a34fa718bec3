"""`manage.py trail`: text, JSON, and a clear message for what is not there."""

import json

import pytest
from django.core.management import CommandError, call_command

from tests.goldroom import small_mine


def printed(capsys, *arguments):
    call_command("trail", *arguments)
    return capsys.readouterr().out


def test_trail_prints_flushes_hands_and_melt(told, capsys):
    said = printed(capsys, "BAR-2")
    for words in (
        "Bar BAR-2 (KR-0102)",
        "U1-1-11 to 18, U2-1-21 to 24 (12 flushes)",
        "Melt MELT-1",
        "Amara Venn",
        "sealed S-0008",
    ):
        assert words in said


def test_trail_as_json_is_for_a_machine(told, capsys):
    plain = json.loads(printed(capsys, "BAR-2", "--json"))
    assert sorted(plain["flushes"]) == sorted(small_mine.FLUSHES)
    assert plain["melts"] == ["MELT-1"]
    assert {each["item"] for each in plain["back"]} >= {"CH-1", "CON-1", "LOT-1"}
    assert plain["item"]["stays"][0]["hands"] == ["p-amara", "p-leith"]


def test_unknown_item_ends_with_code_1_and_advice(told):
    with pytest.raises(CommandError, match=r"'BAR-9'.*Check the label") as stopped:
        call_command("trail", "BAR-9")
    assert stopped.value.returncode == 1


def test_ledger_is_named_where_there_are_several(fresh_db, capsys):
    small_mine.tell("goldroom.example/first", upto="LD-1")
    small_mine.tell("goldroom.example/second", upto="sheet/1")
    with pytest.raises(CommandError, match="--ledger"):
        call_command("trail", "LD-1")
    assert "Load LD-1" in printed(capsys, "LD-1", "--ledger", "first")
    with pytest.raises(CommandError, match="was ever recorded"):
        call_command("trail", "LD-1", "--ledger", "second")


@pytest.mark.parametrize(
    ("name", "advice"),
    [
        ("S-0008", "It is a seal: ask .* journal --seal S-0008"),
        ("H1", "It is a vessel: ask .* journal --vessel H1"),
        ("U1-11", "unit, counter epoch and number"),
    ],
)
def test_name_of_something_else_says_where_to_ask(told, name, advice):
    with pytest.raises(CommandError, match=advice):
        call_command("trail", name)
