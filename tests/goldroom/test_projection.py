"""Read tables: the same live and rebuilt, and every difference told where it is."""

import pytest
from django.db import connection

from goldroom import projection, tables
from goldroom.custody.records import Flush, Item, Mass
from goldroom.custody.state import State
from goldroom.errors import TableDamaged
from goldroom.tables import KEY_COLUMNS, TABLES
from ledger import read
from tests.goldroom import small_mine

COLUMNS = [
    (table, column) for table, shape in TABLES.items() for column in shape._fields
]
ON_SQLITE = connection.vendor == "sqlite"
PLACE = "rowid" if ON_SQLITE else "ctid"
SPOILED = {"nothing": "NULL"}
if ON_SQLITE:  # PostgreSQL lets no value of another type in, nor text not UTF-8
    SPOILED |= {
        "not UTF-8": "CAST(x'FF41' AS TEXT)",
        "bytes": "x'00FF'",
        "a fraction": "1.5",
        "text": "'9x'",
    }


def run(statement, *values):
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        assert cursor.rowcount > 0, "the test spoiled nothing"


def state_of(ledger_id):
    return State(lambda record, key: tables.read_value(ledger_id, record, key))


def all_rows(ledger_id):
    return {table: list(tables.read_all(ledger_id, table)) for table in TABLES}


def test_live_tables_are_what_the_entries_come_to(told):
    assert projection.compare(told) == []


def test_rebuild_writes_the_very_rows_that_were_written_live(told):
    live = all_rows(told)
    assert projection.rebuild(told) == read.head(told).size
    assert all_rows(told) == live
    assert all(live.values())


def test_every_entry_has_one_line_and_mentions_its_signers(told):
    lines = {line.seq: line for line in tables.read_all(told, "goldroom_journal")}
    mentions = {
        (each.key, each.seq)
        for each in tables.read_all(told, "goldroom_mention")
        if each.record == "person"
    }
    entries = list(read.entries(told))
    assert sorted(lines) == list(range(len(entries)))
    for entry in entries:
        assert lines[entry.seq].entry_id == entry.entry_id
        for signer in entry.statement["signers"]:
            assert (signer["person"], entry.seq) in mentions


def test_void_sheet_is_undone_and_its_flushes_are_listed_again(told):
    state = state_of(told)
    flush = state.get(Flush, "U1-1-17")
    assert flush.sheet == small_mine.entry_id("sheet/2 again")
    assert state.get(Item, "U1-1-17").status == "consumed"


def test_void_entry_leaves_its_items_void_and_no_other_row(fresh_db):
    ledger_id = small_mine.tell(upto="void")
    assert projection.compare(ledger_id) == []
    state = state_of(ledger_id)
    assert state.get(Item, "U1-1-17").status == "void"
    assert state.get(Flush, "U1-1-17").sheet == ""
    stays = [
        row
        for row in tables.read_all(ledger_id, "goldroom_row")
        if row.record == "stay" and row.key.startswith("U1-1-17/")
    ]
    assert stays == []


def test_corrected_figure_stands_beside_the_one_it_corrects(told):
    state = state_of(told)
    masses = [state.get(Mass, f"BAR-1/{version:03d}") for version in (1, 2)]
    assert [str(mass.net_g) for mass in masses] == ["120.400", "120.700"]
    assert [mass.entry for mass in masses] == [
        small_mine.entry_id("BAR-1"),
        small_mine.entry_id("bar mass"),
    ]


@pytest.mark.parametrize(("table", "column"), COLUMNS)
def test_edited_column_of_any_table_is_told(told, table, column):
    """The middle row is edited: a number by one, a text by one character."""
    rows = list(tables.read_all(told, table))
    row = rows[len(rows) // 2]
    old = getattr(row, column)
    new = old + 100_000 if isinstance(old, int) else f"{old}~"
    keys = KEY_COLUMNS[table]
    where = " AND ".join(f"{key} = %s" for key in keys)
    run(
        f"UPDATE {table} SET {column} = %s WHERE ledger_id = %s AND {where}",
        new, told, *(getattr(row, key) for key in keys),
    )  # fmt: skip
    found = projection.compare(told)
    if column in keys:
        assert sorted(each.code for each in found) == [
            "row_missing",
            "row_without_entry",
        ]
    else:
        assert [each.code for each in found] == ["row_differs"]
        assert f"column {column}" in found[0].message
        assert all(str(getattr(row, key)) in found[0].message for key in keys)


def test_every_row_of_the_story_is_guarded(told):
    """Each row in turn is deleted in a transaction that is then rolled back."""
    expected = projection.expected_tables(told)
    for table, rows in all_rows(told).items():
        positions = [TABLES[table]._fields.index(key) for key in KEY_COLUMNS[table]]
        for row in rows:
            key = tuple(row[n] for n in positions)
            assert expected[table].pop(key) == row
        assert expected[table] == {}


@pytest.mark.parametrize("table", TABLES)
def test_deleted_row_is_told(told, table):
    first = next(iter(tables.read_all(told, table)))
    where = " AND ".join(f"{key} = %s" for key in KEY_COLUMNS[table])
    values = [getattr(first, key) for key in KEY_COLUMNS[table]]
    run(f"DELETE FROM {table} WHERE ledger_id = %s AND {where}", told, *values)
    found = projection.compare(told)
    assert [each.code for each in found] == ["row_missing"]
    assert str(values[0]) in found[0].message


@pytest.mark.parametrize("table", TABLES)
def test_row_that_no_entry_made_is_told(told, table):
    first = next(iter(tables.read_all(told, table)))
    invented = first._replace(
        **{key: 10**6 if key == "seq" else "invented" for key in KEY_COLUMNS[table]}
    )
    tables.write(told, table, [invented])
    assert [each.code for each in projection.compare(told)] == ["row_without_entry"]


@pytest.mark.parametrize("table", TABLES)
def test_row_of_no_ledger_is_told(told, table):
    first = next(iter(tables.read_all(told, table)))
    tables.write(told + 4711, table, [first])
    assert [each.code for each in projection.compare(told)] == ["row_of_no_ledger"]


def test_difference_is_shown_where_the_texts_part(told):
    run(
        "UPDATE goldroom_row SET value = replace(value, '120.400', '190.400')"
        " WHERE record = 'mass' AND key = 'BAR-1/001'"
    )
    found = projection.compare(told)
    assert [each.code for each in found] == ["row_differs"]
    assert "120.400" in found[0].expected
    assert "190.400" in found[0].found


def loosen(table):
    """Put a table without keys and constraints in a read table's place."""
    with connection.cursor() as cursor:
        cursor.execute(f"ALTER TABLE {table} RENAME TO kept")
        cursor.execute(f"CREATE TABLE {table} AS SELECT * FROM kept")


@pytest.mark.parametrize(("table", "column"), COLUMNS)
@pytest.mark.parametrize("value", SPOILED.values(), ids=SPOILED.keys())
def test_value_of_any_sort_is_a_finding_and_never_a_crash(told, table, column, value):
    loosen(table)
    run(
        f"UPDATE {table} SET {column} = {value}"
        f" WHERE {PLACE} = (SELECT max({PLACE}) FROM {table})"
    )
    codes = {each.code for each in projection.compare(told)}
    assert codes
    assert codes <= {"row_differs", "row_without_entry", "row_missing"}


@pytest.mark.parametrize("value", SPOILED.values(), ids=SPOILED.keys())
@pytest.mark.parametrize("table", TABLES)
def test_ledger_that_cannot_be_is_a_finding(told, table, value):
    loosen(table)
    run(
        f"UPDATE {table} SET ledger_id = {value}"
        f" WHERE {PLACE} = (SELECT max({PLACE}) FROM {table})"
    )
    codes = sorted(each.code for each in projection.compare(told))
    assert codes == ["row_missing", "row_of_no_ledger"]


def test_two_rows_with_one_key_are_a_finding(told):
    loosen("goldroom_journal")
    run("INSERT INTO goldroom_journal SELECT * FROM kept WHERE seq = 3")
    assert [each.code for each in projection.compare(told)] == ["row_without_entry"]


@pytest.mark.parametrize("table", TABLES)
def test_table_that_is_gone_is_a_finding(told, table):
    with connection.cursor() as cursor:
        cursor.execute(f"ALTER TABLE {table} RENAME TO hidden")
    found = projection.compare(told)
    assert [each.code for each in found] == ["table_unreadable"]
    assert table in found[0].message


def test_entries_that_do_not_fold_are_a_finding(told, monkeypatch):
    def broken(*args):
        raise IndexError("a spoiled entry")

    monkeypatch.setattr(projection, "derive", broken)
    found = projection.compare(told)
    assert [each.code for each in found] == ["entries_not_foldable"]
    assert "a spoiled entry" in found[0].found


@pytest.mark.parametrize("value", ["not json", "[]", "7", ""])
def test_act_on_a_damaged_row_is_refused_with_advice(told, value):
    run(
        "UPDATE goldroom_row SET value = %s WHERE record = 'item' AND key = 'BAR-1'",
        value,
    )
    with pytest.raises(TableDamaged, match="rebuild_tables"):
        tables.read_value(told, "item", "BAR-1")


def test_ledgers_side_by_side_do_not_touch_each_other(fresh_db):
    first = small_mine.tell("goldroom.example/first", upto="LD-1")
    second = small_mine.tell("goldroom.example/second", upto="sheet/1")
    before = all_rows(second)
    assert projection.compare(first) == projection.compare(second) == []
    run(
        "UPDATE goldroom_row SET status = 'left' WHERE ledger_id = %s"
        " AND record = 'item' AND key = 'LD-1'",
        first,
    )
    assert [each.code for each in projection.compare(first)] == ["row_differs"]
    assert projection.compare(second) == []
    projection.rebuild(first)
    assert projection.compare(first) == []
    assert all_rows(second) == before
