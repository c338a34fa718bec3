"""Records out of the read tables: in few queries, or refused when damaged."""

import pytest
from django.db import connection

from goldroom import projection
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


def rewrite(key: str, before: str, after: str) -> None:
    """Change the text of an item's row past the program."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE goldroom_row SET value = replace(value, %s, %s)"
            " WHERE record = 'item' AND key = %s",
            [before, after, key],
        )
        assert cursor.rowcount == 1


def test_row_changed_past_the_program_is_read_as_it_stands_now(told):
    first = rows.one(told, Item, "BAR-1")
    assert first is not None
    rewrite("BAR-1", f'"label":"{first.label}"', '"label":"forged"')
    changed = rows.one(told, Item, "BAR-1")
    assert changed is not None
    assert changed.label == "forged"
    assert [each.code for each in projection.compare(told)] == ["row_differs"]
    projection.rebuild(told)
    assert projection.compare(told) == []
    assert rows.one(told, Item, "BAR-1") == first


def test_row_spoiled_after_it_was_read_well_is_refused(told):
    rows.every(told, Item)
    rewrite("BAR-1", '{"', '["')
    with pytest.raises(TableDamaged, match="item BAR-1"):
        rows.every(told, Item)


def test_same_rows_read_twice_give_the_same_records_without_reading_them_anew(told):
    first = rows.one(told, Item, "BAR-1")
    assert rows.one(told, Item, "BAR-1") is first


def test_read_together_answers_as_the_tables_do_in_one_query(
    told, django_assert_num_queries
):
    def ask() -> list[object]:
        return [
            rows.every(told, Item),
            rows.every(told, Seal, "issued"),
            rows.with_seqs(told, Seal, "fitted", "removed"),
            rows.by_keys(told, Item, ["BAR-1", "BAR-2", "nothing"]),
            rows.containing(told, Item, '"sort":"bar"'),
            rows.one(told, Seal, "S-0010"),
            rows.one(told, Seal, "nothing"),
        ]

    plainly = ask()
    with (
        django_assert_num_queries(1, connection=connection),
        rows.read_together(told, Item, Seal),
    ):
        assert ask() == plainly
    with django_assert_num_queries(7, connection=connection):
        assert ask() == plainly


def test_what_was_read_together_is_forgotten_after_the_block(told):
    with rows.read_together(told, Item):
        before = rows.one(told, Item, "BAR-1")
    assert before is not None
    rewrite("BAR-1", f'"label":"{before.label}"', '"label":"forged"')
    after = rows.one(told, Item, "BAR-1")
    assert after is not None
    assert after.label == "forged"


def test_rows_read_together_of_one_ledger_are_not_those_of_another(told):
    with rows.read_together(told, Item):
        assert rows.every(told + 1, Item) == []
