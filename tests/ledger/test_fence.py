"""The fence: what the database refuses, and what is found when it is taken down."""

import pytest
from django.core.management import call_command
from django.db import connection, connections
from django.db.utils import DatabaseError

from ledger import fence
from ledger.models import Attachment, Entry, Head, Ledger

ON_SQLITE = connections["default"].vendor == "sqlite"

# Statements that both databases must refuse, however they are put.
REFUSED = [
    "UPDATE ledger_entry SET leaf = leaf WHERE seq = 1",
    "UPDATE ledger_entry SET seq = 99 WHERE seq = 1",
    "UPDATE ledger_entry SET entry_id = 'x' WHERE seq = 2",
    "DELETE FROM ledger_entry WHERE seq = 2",
    "DELETE FROM ledger_entry",
    "INSERT INTO ledger_entry SELECT * FROM ledger_entry WHERE seq = 2",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " SELECT ledger_id, 4, 'new', leaf, leaf_hash FROM ledger_entry WHERE seq = 1",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " SELECT ledger_id, 1, 'new', leaf, leaf_hash FROM ledger_entry WHERE seq = 1",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " SELECT ledger_id, 3, entry_id, leaf, leaf_hash FROM ledger_entry WHERE seq = 1",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " SELECT ledger_id, 2, entry_id, leaf, leaf_hash FROM ledger_entry WHERE seq = 2"
    " ON CONFLICT (ledger_id, seq) DO UPDATE SET entry_id = 'x'",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " SELECT ledger_id, 2, entry_id, leaf, leaf_hash FROM ledger_entry WHERE seq = 2"
    " ON CONFLICT DO NOTHING",
    "UPDATE ledger_attachment SET content = content",
    "DELETE FROM ledger_attachment",
    "INSERT INTO ledger_attachment SELECT * FROM ledger_attachment",
    "UPDATE ledger_ledger SET slug = 'other'",
    "UPDATE ledger_ledger SET origin = 'other'",
    "DELETE FROM ledger_ledger",
    "INSERT INTO ledger_ledger (origin, slug) SELECT origin, 'x' FROM ledger_ledger",
    "DELETE FROM ledger_head",
    "UPDATE ledger_head SET size = size - 1",
    "UPDATE ledger_head SET size = size",
    "UPDATE ledger_head SET frontier = ''",
    "UPDATE ledger_head SET size = size + 1",
    "UPDATE ledger_head SET ledger_id = ledger_id + 1, size = size + 1",
    "INSERT INTO ledger_head SELECT * FROM ledger_head",
]
REFUSED_BY_SQLITE = [
    "INSERT OR REPLACE INTO ledger_entry SELECT * FROM ledger_entry WHERE seq = 1",
    "REPLACE INTO ledger_entry SELECT * FROM ledger_entry WHERE seq = 2",
    "INSERT OR IGNORE INTO ledger_entry SELECT * FROM ledger_entry WHERE seq = 2",
    "UPDATE OR REPLACE ledger_entry SET seq = 2 WHERE seq = 1",
    "REPLACE INTO ledger_head SELECT * FROM ledger_head",
    "REPLACE INTO ledger_attachment SELECT * FROM ledger_attachment",
    "REPLACE INTO ledger_ledger SELECT * FROM ledger_ledger",
    "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
    " VALUES (1, 3, 'text in place of bytes', 'leaf', 'hash')",
]
REFUSED_BY_POSTGRESQL = [
    "TRUNCATE ledger_entry",
    "TRUNCATE ledger_head, ledger_entry, ledger_attachment",
    "TRUNCATE ledger_ledger CASCADE",
    "SET session_replication_role = replica; DELETE FROM ledger_entry",
    "WITH gone AS (DELETE FROM ledger_entry RETURNING seq) SELECT * FROM gone",
    "CREATE TEMP TABLE ledger_entry (ledger_id bigint, seq bigint, entry_id text);"
    " INSERT INTO public.ledger_entry SELECT * FROM public.ledger_entry WHERE seq = 1",
]
OWN = REFUSED_BY_SQLITE if ON_SQLITE else REFUSED_BY_POSTGRESQL


@pytest.fixture
def filled(site):
    """A ledger of three entries with an attachment."""
    from ledger import attachments

    site.append()
    cited = attachments.put(site.id, b"scan", name="sheet.pdf", media="application/pdf")
    site.append(site.signed(attachments=[cited]))
    return site


def rows():
    models = (Ledger, Entry, Head, Attachment)
    return [list(model.objects.order_by("pk").values()) for model in models]


def plain(found):
    return [
        {name: bytes(v) if isinstance(v, memoryview) else v for name, v in row.items()}
        for table in found
        for row in table
    ]


@pytest.mark.parametrize("statement", [*REFUSED, *OWN])
def test_a_statement_that_would_change_the_record_is_refused(filled, statement):
    before = plain(rows())
    with (
        pytest.raises(DatabaseError, match="ledger fence"),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    connection.close()
    assert plain(rows()) == before


def test_replacing_is_refused_also_where_triggers_do_not_recurse(filled):
    """SQLite fires DELETE triggers on REPLACE only with recursive_triggers."""
    before = plain(rows())
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA recursive_triggers = OFF")
            statement = REFUSED_BY_SQLITE[0]
        else:
            statement = REFUSED[5]
        with pytest.raises(DatabaseError, match="ledger fence"):
            cursor.execute(statement)
    assert plain(rows()) == before


@pytest.mark.parametrize(
    "change",
    [
        lambda: Entry.objects.update(entry_id="x"),
        lambda: Entry.objects.all().delete(),
        lambda: Entry.objects.bulk_create(
            Entry.objects.order_by("seq"), ignore_conflicts=True
        ),
        lambda: Entry.objects.get(seq=1).save(),
        lambda: Entry.objects.get(seq=1).delete(),
        lambda: Ledger.objects.all().delete(),
        lambda: Head.objects.update(size=0),
        lambda: Head.objects.all().delete(),
        lambda: Attachment.objects.update(content=b"other"),
        lambda: Attachment.objects.all().delete(),
    ],
)
def test_every_way_of_the_object_layer_is_refused(filled, change):
    before = plain(rows())
    with pytest.raises(DatabaseError):
        change()
    connection.close()
    assert plain(rows()) == before


def test_the_fence_stands_after_migrate(fresh_db):
    assert fence.check(connection) == []


def test_putting_the_fence_up_again_changes_nothing(fresh_db):
    before = fence.fingerprint(connection)
    fence.install(connection)
    call_command("migrate", verbosity=0)
    assert fence.fingerprint(connection) == before


def test_migrate_puts_a_fallen_fence_up_again(fresh_db):
    before = fence.fingerprint(connection)
    execute(drop("ledger_entry", "delete"))
    assert fence.fingerprint(connection) != before
    call_command("migrate", verbosity=0)
    assert fence.fingerprint(connection) == before


def test_derived_tables_are_those_of_the_projections(fresh_db, settings):
    settings.LEDGER_PROJECTIONS = []
    execute("CREATE TABLE goldroom_more (id bigint)", "DROP INDEX goldroom_row_at")
    assert fence.check(connection) == []


def test_without_tables_there_is_nothing_to_fence(fresh_db):
    call_command("migrate", "ledger", "zero", verbosity=0)
    codes = {item.code for item in fence.check(connection)}
    assert codes <= {"schema_missing", "schema_added"}
    assert "schema_missing" in codes


def drop(table, event):
    on = "" if ON_SQLITE else f" ON {table}"
    return f"DROP TRIGGER {table}_{event}{on}"


def execute(*statements):
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


TAKEN_DOWN = [
    (drop("ledger_entry", "update"), "schema_missing"),
    (drop("ledger_entry", "delete"), "schema_missing"),
    (drop("ledger_entry", "insert"), "schema_missing"),
    (drop("ledger_head", "update"), "schema_missing"),
    (drop("ledger_attachment", "delete"), "schema_missing"),
    (drop("ledger_ledger", "update"), "schema_missing"),
    ("ALTER TABLE ledger_entry ADD COLUMN note text", None),
    ("ALTER TABLE work_nonce RENAME COLUMN nonce TO nonsense", None),
    ("ALTER TABLE goldroom_row ADD COLUMN note text", None),
    ("ALTER TABLE goldroom_mention RENAME COLUMN key TO lock", None),
    ("DROP INDEX goldroom_row_at", "schema_missing"),
    ("CREATE INDEX spare ON goldroom_row (place)", "schema_added"),
    ("CREATE TABLE goldroom_more (id bigint)", "schema_added"),
    ("CREATE TABLE LEDGER_MORE (id bigint)", "schema_added"),
    ("CREATE VIEW goldroom_view AS SELECT 1 AS one", "schema_added"),
    ("DROP TABLE goldroom_journal", "schema_missing"),
]
TAKEN_DOWN_SQLITE = [
    (
        "CREATE TRIGGER spare AFTER INSERT ON ledger_entry BEGIN SELECT 1; END",
        "schema_added",
    ),
    ("CREATE INDEX spare ON ledger_entry (leaf_hash)", "schema_added"),
    (
        "CREATE TRIGGER spare AFTER INSERT ON goldroom_row"
        " BEGIN UPDATE goldroom_row SET place = 'x' WHERE key = NEW.key; END",
        "schema_added",
    ),
    (
        "CREATE TRIGGER spare AFTER INSERT ON django_migrations BEGIN SELECT 1; END",
        "schema_added",
    ),
]
TAKEN_DOWN_POSTGRESQL = [
    ("ALTER TABLE ledger_entry DISABLE TRIGGER ledger_entry_update", "schema_changed"),
    ("ALTER TABLE ledger_entry ENABLE TRIGGER ledger_entry_update", "schema_changed"),
    (
        "CREATE OR REPLACE FUNCTION ledger_fence_refuse() RETURNS trigger"
        " LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
        "schema_changed",
    ),
    (
        "CREATE RULE quiet AS ON DELETE TO ledger_entry DO INSTEAD NOTHING",
        "schema_changed",
    ),
    ("ALTER TABLE ledger_entry ALTER COLUMN leaf DROP NOT NULL", "schema_changed"),
    ("ALTER TABLE ledger_entry DROP CONSTRAINT ledger_entry_once", "schema_missing"),
    ("ALTER TABLE ledger_entry ENABLE ROW LEVEL SECURITY", "schema_changed"),
    (
        "ALTER TABLE goldroom_row DROP CONSTRAINT goldroom_row_pkey",
        "schema_missing",
    ),
    ("ALTER TABLE goldroom_row ALTER COLUMN seq TYPE integer", "schema_changed"),
    (
        "CREATE TRIGGER spare BEFORE DELETE ON goldroom_row FOR EACH ROW"
        " EXECUTE FUNCTION ledger_fence_refuse()",
        "schema_added",
    ),
    (
        "CREATE TRIGGER spare BEFORE DELETE ON django_migrations FOR EACH ROW"
        " EXECUTE FUNCTION ledger_fence_refuse()",
        "schema_added",
    ),
    (
        "ALTER FUNCTION ledger_fence_entry_insert() SET search_path = pg_temp",
        "schema_changed",
    ),
]


@pytest.mark.parametrize(
    ("statement", "code"),
    TAKEN_DOWN + (TAKEN_DOWN_SQLITE if ON_SQLITE else TAKEN_DOWN_POSTGRESQL),
)
def test_a_fence_that_was_touched_is_found(fresh_db, statement, code):
    execute(statement)
    findings = fence.check(connection)
    assert findings
    assert {item.cls for item in findings} == {"schema"}
    if code:
        assert {item.code for item in findings} == {code}
