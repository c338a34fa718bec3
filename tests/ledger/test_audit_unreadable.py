"""Rows and files that cannot be read: findings, never crashes."""

import shutil
import sqlite3
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection, connections

from ledger import audit
from ledger.core.report import TAMPERED, VERIFIED
from ledger.core.verify import verify_bundle
from ledger.errors import LedgerDamaged

ON_SQLITE = connections["default"].vendor == "sqlite"
TABLES = ("ledger_ledger", "ledger_entry", "ledger_attachment", "ledger_head")
NULLABLE = [
    ("ledger_entry", "entry_id"),
    ("ledger_entry", "leaf"),
    ("ledger_entry", "leaf_hash"),
    ("ledger_head", "size"),
    ("ledger_head", "last_hash"),
    ("ledger_head", "frontier"),
    ("ledger_head", "at"),
    ("ledger_attachment", "size"),
    ("ledger_attachment", "content"),
    ("ledger_ledger", "origin"),
    ("ledger_ledger", "slug"),
]
UNREADABLE_ON_SQLITE = [
    "UPDATE ledger_entry SET leaf = CAST(leaf AS TEXT) WHERE seq = 4",
    "UPDATE ledger_entry SET leaf = 7 WHERE seq = 4",
    "UPDATE ledger_entry SET leaf = CAST(x'ff00fe' AS TEXT) WHERE seq = 4",
    "UPDATE ledger_entry SET leaf_hash = CAST(x'ff00fe' AS TEXT) WHERE seq = 4",
    "UPDATE ledger_entry SET entry_id = CAST(x'ff00fe' AS TEXT) WHERE seq = 4",
    "UPDATE ledger_entry SET entry_id = x'ff00fe' WHERE seq = 4",
    "UPDATE ledger_entry SET seq = 'four' WHERE seq = 4",
    "UPDATE ledger_entry SET seq = x'04' WHERE seq = 4",
    "UPDATE ledger_entry SET seq = 4.5 WHERE seq = 4",
    "UPDATE ledger_entry SET ledger_id = 'one' WHERE seq = 4",
    "UPDATE ledger_head SET size = 'twelve'",
    "UPDATE ledger_head SET frontier = CAST(x'ff00fe' AS TEXT)",
    "UPDATE ledger_head SET at = x'00'",
    "UPDATE ledger_head SET last_hash = CAST(last_hash AS TEXT)",
    "UPDATE ledger_attachment SET content = CAST(content AS TEXT)",
    "UPDATE ledger_attachment SET size = 'five'",
    "UPDATE ledger_attachment SET sha256 = x'ff' WHERE size = 5",
    "UPDATE ledger_ledger SET origin = CAST(x'ff00fe' AS TEXT)",
    "UPDATE ledger_ledger SET slug = x'ff'",
    "UPDATE ledger_entry SET leaf = 9000000000000 WHERE seq = 4",
    "UPDATE ledger_head SET last_hash = 9000000000000",
]
UNREADABLE_ON_POSTGRESQL = [
    f"ALTER TABLE {table} ALTER COLUMN {name} DROP NOT NULL;"
    f" UPDATE {table} SET {name} = NULL"
    for table, name in NULLABLE
] + [
    "ALTER TABLE ledger_entry DROP COLUMN leaf_hash",
    "ALTER TABLE ledger_head DROP COLUMN frontier",
    "ALTER TABLE ledger_attachment ALTER COLUMN size TYPE text",
    "DROP TABLE ledger_head",
    "DROP TABLE ledger_ledger CASCADE",
]


@pytest.mark.parametrize(
    "statement", UNREADABLE_ON_SQLITE if ON_SQLITE else UNREADABLE_ON_POSTGRESQL
)
def test_a_row_that_cannot_be_read_is_a_finding_not_a_crash(
    dozen, fence_down, statement
):
    fence_down.take_down()
    with connection.cursor() as cursor:
        cursor.execute(statement)
    connection.close()
    assert audit.audit().exit_code == TAMPERED
    if ON_SQLITE:  # where only rows were changed: the fence up again hides nothing
        fence_down.put_up()
        found = audit.audit()
        assert {item.cls for item in found.findings} <= {"store"}
        assert found.exit_code == TAMPERED


if ON_SQLITE:

    @pytest.mark.parametrize("column", ["app", "name"])
    def test_a_migration_whose_name_is_no_text_is_a_finding(dozen, column):
        with connection.cursor() as cursor:
            cursor.execute(f"UPDATE django_migrations SET {column} = x'ff'")
        codes = {item.code for item in audit.audit().findings}
        assert {"migration_unknown", "migration_missing"} <= codes

    @pytest.mark.parametrize("change", ["size = 'x'", "last_hash = 7", "at = x'00'"])
    def test_a_head_that_holds_no_head_stops_the_record_with_a_refusal(
        dozen, fence_down, change
    ):
        fence_down.take_down()
        with connection.cursor() as cursor:
            cursor.execute(f"UPDATE ledger_head SET {change}")
        with pytest.raises(LedgerDamaged, match="verify_ledger"):
            dozen.append()

    @pytest.mark.parametrize("leaf", ["7", "NULL", "'text'"])
    def test_a_leaf_of_another_type_is_exported_as_it_stands(
        dozen, fence_down, tmp_path, leaf
    ):
        fence_down.take_down()
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA writable_schema = ON")
            cursor.execute(
                "UPDATE sqlite_master SET sql = replace(sql, '\"leaf\" BLOB NOT NULL',"
                " '\"leaf\" BLOB') WHERE name = 'ledger_entry'"
            )
        connection.close()
        with connection.cursor() as cursor:
            cursor.execute(f"UPDATE ledger_entry SET leaf = {leaf} WHERE seq = 4")
        bundle = tmp_path / "bundle.zip"
        call_command("export_bundle", bundle)
        assert verify_bundle(bundle).exit_code == TAMPERED


def logical(name):
    """Return everything that a database file says, or None if it cannot be read."""
    try:
        direct = sqlite3.connect(name)
        direct.text_factory = bytes
        return [
            direct.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()
            for table in TABLES
        ] + direct.execute("SELECT sql FROM sqlite_master ORDER BY name").fetchall()
    except sqlite3.DatabaseError:
        return None
    finally:
        direct.close()


if ON_SQLITE:  # PostgreSQL's files are not ours to write into

    def test_a_wiped_page_of_the_file_is_found_or_held_nothing(
        dozen, fresh_db, tmp_path
    ):
        connection.close()
        whole = Path(fresh_db).read_bytes()
        assert not Path(f"{fresh_db}-wal").exists()
        before = logical(fresh_db)
        kept = tmp_path / "kept.sqlite3"
        shutil.copyfile(fresh_db, kept)
        page = 4096
        codes = []
        for start in range(0, len(whole), page):
            wiped = whole[:start] + bytes(page) + whole[start + page :]
            Path(fresh_db).write_bytes(wiped)
            found = audit.audit()
            connection.close()
            codes.append(found.exit_code)
            if found.exit_code != TAMPERED:
                assert logical(fresh_db) == before
            for name in (fresh_db, f"{fresh_db}-wal", f"{fresh_db}-shm"):
                Path(name).unlink(missing_ok=True)
        assert codes.count(TAMPERED) > len(codes) // 2
        shutil.copyfile(kept, fresh_db)
        assert audit.audit().exit_code == VERIFIED
