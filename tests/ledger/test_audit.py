"""What a database can be caught at: every column, every row, the fence."""

import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, connections

from ledger import audit
from ledger.core.report import COULD_NOT_CHECK, TAMPERED, VERIFIED, Finding
from ledger.errors import LedgerDamaged

ON_SQLITE = connections["default"].vendor == "sqlite"
KEYS = {
    "ledger_ledger": "id",
    "ledger_entry": "seq",
    "ledger_attachment": "sha256",
    "ledger_head": "ledger_id",
}


def column(table, name, key):
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {name} FROM {table} WHERE {KEYS[table]} = %s", [key])
        return cursor.fetchone()[0]


def keys(table):
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {KEYS[table]} FROM {table} ORDER BY 1")
        return [key for (key,) in cursor.fetchall()]


def spoiled(value):
    """Return other values of the same type, near and far."""
    if isinstance(value, int):
        return [value + 1, value - 1, value + 100]
    if isinstance(value, str):
        return [value + "x", value[:-1] + ("0" if value[-1:] != "0" else "1"), ""]
    octets = bytes(value)
    places = sorted({0, len(octets) // 3, len(octets) // 2, len(octets) - 1})
    flipped = [
        octets[:place] + bytes([octets[place] ^ 1]) + octets[place + 1 :]
        for place in places
    ]
    return [*flipped, octets[:-1], octets + b" ", b""]


COLUMNS = [
    ("ledger_entry", "seq"),
    ("ledger_entry", "entry_id"),
    ("ledger_entry", "leaf"),
    ("ledger_entry", "leaf_hash"),
    ("ledger_entry", "ledger_id"),
    ("ledger_head", "ledger_id"),
    ("ledger_head", "size"),
    ("ledger_head", "last_hash"),
    ("ledger_head", "frontier"),
    ("ledger_head", "at"),
    ("ledger_attachment", "ledger_id"),
    ("ledger_attachment", "sha256"),
    ("ledger_attachment", "size"),
    ("ledger_attachment", "content"),
    ("ledger_ledger", "id"),
    ("ledger_ledger", "origin"),
    ("ledger_ledger", "slug"),
]


def test_a_ledger_that_nobody_touched_holds(dozen):
    found = audit.audit()
    assert found.findings == ()
    assert found.ledgers[0].findings == ()
    assert found.exit_code == VERIFIED


def test_every_column_of_every_table_is_spoiled_here():
    """The list above cannot fall behind the tables."""
    from django.apps import apps

    known = {
        (model._meta.db_table, field.column)
        for model in apps.get_app_config("ledger").get_models()
        if model._meta.db_table.startswith("ledger_")
        for field in model._meta.concrete_fields
        if field.column
    }
    assert known == set(COLUMNS)


@pytest.mark.parametrize(("table", "name"), COLUMNS)
def test_a_spoiled_column_is_found_and_placed(dozen, tamper, table, name):
    undetected, tried = [], 0
    for key in {*keys(table)[::3], keys(table)[-1]}:
        value = column(table, name, key)
        for other in spoiled(value):
            where = f"WHERE {KEYS[table]} = %s"
            change = f"UPDATE {table} SET {name} = %s {where}"
            if not tamper((change, [other, key])):
                continue
            tried += 1
            found = audit.audit()
            if found.exit_code != TAMPERED:
                undetected.append((key, other))
            if table == "ledger_entry" and name in ("leaf", "leaf_hash", "entry_id"):
                assert key in {item.seq for item in found.ledgers[0].findings}
            back = other if name == KEYS[table] else key
            assert tamper((change, [value, back]))
    assert tried > 0
    assert undetected == []
    assert audit.audit().exit_code == VERIFIED


@pytest.mark.parametrize("seq", [0, 3, 4, 11])
def test_a_deleted_entry_is_found(dozen, tamper, seq):
    tamper(("DELETE FROM ledger_entry WHERE seq = %s", [seq]))
    found = audit.audit()
    assert found.exit_code == TAMPERED
    places = [item.seq for item in found.ledgers[0].findings if item.seq is not None]
    assert min(places, default=seq) == seq


def test_a_deleted_entry_with_all_numbers_moved_up_is_found(dozen, tamper):
    tamper(
        ("DELETE FROM ledger_entry WHERE seq = 6", []),
        ("UPDATE ledger_entry SET seq = -seq WHERE seq > 6", []),
        ("UPDATE ledger_entry SET seq = -seq - 1 WHERE seq < 0", []),
        ("UPDATE ledger_head SET size = 11", []),
    )
    codes = {item.code for item in audit.audit().ledgers[0].findings}
    assert {"seq", "previous"} <= codes


def test_two_entries_that_changed_places_are_found(dozen, tamper):
    leaf_5, leaf_6 = (bytes(column("ledger_entry", "leaf", seq)) for seq in (5, 6))
    tamper(
        ("UPDATE ledger_entry SET leaf = %s WHERE seq = 5", [leaf_6]),
        ("UPDATE ledger_entry SET leaf = %s WHERE seq = 6", [leaf_5]),
    )
    found = audit.audit()
    assert {5, 6} <= {item.seq for item in found.ledgers[0].findings}


def test_an_entry_put_in_again_at_the_end_is_found(dozen, tamper):
    tamper(
        (
            "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
            " SELECT ledger_id, 12, 'again', leaf, leaf_hash FROM ledger_entry"
            " WHERE seq = 5",
            [],
        )
    )
    codes = {item.code for item in audit.audit().ledgers[0].findings}
    assert {"row_entry_id", "entry_id_used", "nonce_used", "head_size"} <= codes


@pytest.mark.parametrize("table", ["ledger_head", "ledger_attachment", "ledger_entry"])
def test_a_table_that_was_emptied_is_found(dozen, tamper, table):
    tamper((f"DELETE FROM {table}", []))
    assert audit.audit().exit_code == TAMPERED


def test_a_ledger_without_its_own_row_is_found(dozen, tamper):
    tamper(("DELETE FROM ledger_ledger", []))
    found = audit.audit()
    assert {item.code for item in found.findings} == {"orphan_rows"}
    assert found.exit_code == TAMPERED


def test_a_database_without_any_ledger_could_not_be_checked(fresh_db):
    with pytest.raises(CommandError, match="no ledger in this database") as refused:
        call_command("verify_ledger")
    assert refused.value.returncode == COULD_NOT_CHECK


def test_a_head_that_counts_far_beyond_its_entries_is_found_at_once(dozen, tamper):
    """Reading goes from row to row and not from number to number."""
    tamper((f"UPDATE ledger_head SET size = {2**63 - 1}", []))
    assert "head_size" in {item.code for item in audit.audit().ledgers[0].findings}
    with pytest.raises(LedgerDamaged, match="do not lead there"):
        dozen.append()


def test_a_file_that_nobody_cites_is_found(dozen, tamper):
    tamper(
        (
            "INSERT INTO ledger_attachment (ledger_id, sha256, size, content)"
            " VALUES (%s, %s, 1, %s)",
            [dozen.id, "0" * 64, b"x"],
        )
    )
    codes = {item.code for item in audit.audit().ledgers[0].findings}
    assert "attachment_unsigned" in codes


def test_a_tail_cut_off_with_its_head_is_not_found_and_the_report_says_so(
    dozen, tamper, capsys
):
    """The limit of any database; only a checkpoint kept elsewhere shows it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT leaf_hash FROM ledger_entry ORDER BY seq")
        hashes = [bytes(digest) for (digest,) in cursor.fetchall()][:-1]
    from ledger.core.merkle import Frontier

    frontier = Frontier()
    for digest in hashes:
        frontier.append(digest)
    last = json.loads(bytes(column("ledger_entry", "leaf", 10)))
    tamper(
        ("DELETE FROM ledger_entry WHERE seq = 11", []),
        (
            "UPDATE ledger_head SET size = 11, last_hash = %s, frontier = %s, at = %s",
            [hashes[-1], " ".join(frontier.to_list()), last["server"]["at"]],
        ),
    )
    call_command("verify_ledger")
    printed = capsys.readouterr().out
    assert "tail not pinned" in printed
    assert "Newest entries may have been removed" in printed


def test_a_fence_left_down_is_found(dozen):
    with connection.cursor() as cursor:
        on = "" if ON_SQLITE else " ON ledger_entry"
        cursor.execute(f"DROP TRIGGER ledger_entry_delete{on}")
    found = audit.audit()
    assert {item.code for item in found.findings} == {"schema_missing"}
    assert found.exit_code == TAMPERED


def test_a_migration_that_nobody_knows_or_never_ran_is_found(dozen):
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE django_migrations SET name = '0001_other' WHERE app = 'ledger'"
        )
    found = audit.audit()
    assert {item.code for item in found.findings} == {
        "migration_missing",
        "migration_unknown",
    }


def test_a_migration_that_is_noted_twice_is_found(dozen):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) SELECT app, name,"
            " applied FROM django_migrations WHERE app = 'ledger'"
        )
    found = audit.audit()
    assert {item.code for item in found.findings} == {"migration_twice"}


def test_derived_tables_are_compared_and_their_findings_told(dozen, settings):
    settings.LEDGER_PROJECTIONS = ["ledger_tests.compare"]
    import sys
    import types

    module = types.ModuleType("ledger_tests")
    finding = Finding("projection", "row_differs", "A balance is not that of the fold.")
    module.compare = lambda ledger_id: [finding]
    sys.modules["ledger_tests"] = module
    try:
        found = audit.audit()
    finally:
        del sys.modules["ledger_tests"]
    assert found.ledgers[0].derived == (finding,)
    assert found.exit_code == TAMPERED


def test_a_comparison_that_could_not_run_is_said_not_swallowed(dozen, settings):
    settings.LEDGER_PROJECTIONS = ["no_such_module.compare"]
    found = audit.audit()
    assert found.exit_code == COULD_NOT_CHECK
    assert "no_such_module" in found.ledgers[0].not_compared[0]


def test_each_ledger_is_judged_for_itself(dozen, tamper, new_site, given):
    other = new_site(given.origin.replace("7f3a", "0000"))
    other.append()
    tamper(
        (
            "UPDATE ledger_entry SET entry_id = 'x' WHERE ledger_id = %s AND seq = 1",
            [other.id],
        )
    )
    assert audit.audit("kestrel-ridge").exit_code == VERIFIED
    assert audit.audit("kestrel-ridge-000091c2").exit_code == TAMPERED
    assert audit.audit().exit_code == TAMPERED


def test_a_database_that_was_never_migrated_could_not_be_checked(fresh_db, settings):
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        if ON_SQLITE:
            cursor.execute("PRAGMA foreign_keys = OFF")
        cascade = "" if ON_SQLITE else " CASCADE"
        for table in tables:
            cursor.execute(f'DROP TABLE "{table}"{cascade}')
    with pytest.raises(CommandError, match="migrate") as refused:
        call_command("verify_ledger")
    assert refused.value.returncode == COULD_NOT_CHECK


def test_an_unknown_ledger_could_not_be_checked(dozen):
    with pytest.raises(CommandError, match="no ledger") as refused:
        call_command("verify_ledger", ledger="elsewhere")
    assert refused.value.returncode == COULD_NOT_CHECK


def test_the_command_prints_where_and_leaves_with_2(dozen, tamper, capsys):
    tamper(("UPDATE ledger_entry SET entry_id = 'x' WHERE seq = 7", []))
    with pytest.raises(SystemExit) as left:
        call_command("verify_ledger")
    assert left.value.code == TAMPERED
    printed = capsys.readouterr().out
    assert "entry 7" in printed
    assert "evidence of tampering" in printed


def test_what_a_row_says_cannot_write_a_verdict_into_the_report(dozen, tamper, capsys):
    forged = "x\x1b[2J\nVerdict: everything holds; tail not pinned\n\u202e"
    tamper(
        ("UPDATE ledger_entry SET entry_id = %s WHERE seq = 7", [forged]),
        ("UPDATE ledger_ledger SET slug = %s", [forged]),
    )
    with pytest.raises(SystemExit):
        call_command("verify_ledger")
    printed = capsys.readouterr().out
    assert all(character.isprintable() or character == "\n" for character in printed)
    verdicts = [line for line in printed.split("\n") if line.startswith("Verdict:")]
    assert verdicts == ["Verdict: evidence of tampering, damage or mismatch"]


def test_a_report_is_told_on_a_screen_that_knows_no_accents(dozen, tamper):
    """Python refuses to print what a console's encoding lacks; the verdict comes."""
    tamper(("UPDATE ledger_entry SET entry_id = 'Zoë' WHERE seq = 7", []))
    screen = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    with pytest.raises(SystemExit) as left:
        call_command("verify_ledger", stdout=screen)
    assert left.value.code == TAMPERED
    screen.seek(0)
    assert "Zo\\xeb" in screen.read()


def test_the_command_reports_to_machines(dozen, capsys):
    call_command("verify_ledger", json=True)
    report = json.loads(capsys.readouterr().out)
    assert report["exit_code"] == VERIFIED
    assert report["tail"] == "not pinned"
    assert report["ledgers"][0]["size"] == 12
