"""Records out of the read tables: in few queries, or refused when damaged."""

import pytest
from django.db import connection

from goldroom.custody.records import Item, Seal
from goldroom.errors import TableDamaged
from goldroom.reports import rows
from goldroom.reports.plain import as_plain

NOT_TEXT = ["NULL"]
if connection.vendor == "sqlite":  # PostgreSQL keeps only well-formed text
    NOT_TEXT += ["CAST(x'FF' AS TEXT)", "x'00FF'", "1.5", "7"]


@pytest.mark.parametrize(
    "value", ["''", "'not json'", "'{}'", "'[1]'", "'{\"item\":3}'"]
)
def test_row_that_is_no_record_is_refused_with_advice(told, value):
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE goldroom_row SET value = {value}"
            " WHERE record = 'item' AND key = 'BAR-1'"
        )
    for ask in (
        lambda: rows.one(told, Item, "BAR-1"),
        lambda: rows.every(told, Item),
        lambda: rows.all_of(told, Item, Seal),
    ):
        with pytest.raises(TableDamaged, match="item BAR-1"):
            ask()


@pytest.mark.parametrize("value", NOT_TEXT, ids=lambda value: value)
def test_row_that_is_not_text_is_refused_with_advice(told, value):
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE goldroom_row RENAME TO kept")
        cursor.execute("CREATE TABLE goldroom_row AS SELECT * FROM kept")
        cursor.execute(
            f"UPDATE goldroom_row SET value = {value}"
            " WHERE record = 'item' AND key = 'BAR-1'"
        )
    with pytest.raises(TableDamaged, match="verify_ledger"):
        rows.every(told, Item)


def test_many_keys_are_asked_for_in_few_queries(told, django_assert_num_queries):
    keys = [f"nothing-{n}" for n in range(1200)] + ["BAR-1"]
    with django_assert_num_queries(3, connection=connection):
        assert list(rows.by_keys(told, Item, keys)) == ["BAR-1"]


def test_records_of_one_status_are_found(told):
    issued = rows.every(told, Seal, "issued")
    assert [each.seal for each in issued] == [f"S-{n:04d}" for n in range(10, 41)]


def test_no_binary_float_leaves_a_report():
    with pytest.raises(AssertionError):
        as_plain({"gold_g": 1.5})
