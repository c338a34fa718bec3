"""`manage.py rebuild_tables`: writes the tables anew, or only says what differs."""

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from goldroom import projection
from ledger import read
from tests.goldroom import small_mine


def spoil(ledger_id, key="BAR-1"):
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE goldroom_row SET status = 'left' WHERE ledger_id = %s"
            " AND record = 'item' AND key = %s",
            [ledger_id, key],
        )


def test_check_is_content_with_tables_that_agree(told, capsys):
    call_command("rebuild_tables", "--check")
    assert "the tables are what the entries come to" in capsys.readouterr().out


def test_check_ends_with_code_2_and_names_row_and_column(told, capsys):
    spoil(told)
    with pytest.raises(SystemExit) as stopped:
        call_command("rebuild_tables", "--check")
    assert stopped.value.code == 2
    said = capsys.readouterr().out
    assert "item BAR-1, column status" in said
    assert "'consumed'" in said


def test_check_changes_nothing(told):
    spoil(told)
    with pytest.raises(SystemExit):
        call_command("rebuild_tables", "--check")
    assert len(projection.compare(told)) == 1


def test_rebuild_mends_the_tables_and_says_how_many_entries(told, capsys):
    spoil(told)
    call_command("rebuild_tables")
    assert f"folded {read.head(told).size} entries" in capsys.readouterr().out
    assert projection.compare(told) == []


def test_a_flood_of_differences_is_cut_short_and_counted(told, capsys):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE goldroom_row SET place = 'nowhere'")
        count = cursor.rowcount
    with pytest.raises(SystemExit):
        call_command("rebuild_tables", "--check")
    said = capsys.readouterr().out
    assert len(said.splitlines()) == 101
    assert f"and {count - 100} more differences" in said


def test_all_ledgers_are_checked_unless_one_is_named(fresh_db, capsys):
    first = small_mine.tell("goldroom.example/first", upto="LD-1")
    small_mine.tell("goldroom.example/second", upto="sheet/1")
    spoil(first, "LD-1")
    call_command("rebuild_tables", "--check", "--ledger", "second")
    with pytest.raises(SystemExit):
        call_command("rebuild_tables", "--check")
    said = capsys.readouterr().out
    assert "second: the tables are what the entries come to" in said
    assert "first: [projection/row_differs]" in said


def test_without_a_ledger_it_says_so(fresh_db):
    with pytest.raises(CommandError, match="no ledgers"):
        call_command("rebuild_tables")
