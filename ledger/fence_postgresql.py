"""The fence on PostgreSQL: which triggers stand, and how to read what stands.

Every trigger is set ENABLE ALWAYS, so that replication mode does not pass it by;
TRUNCATE has guards of its own because row triggers never see it. The functions
name their search path, so that a temporary table cannot stand in for a real one.
"""

from typing import NamedTuple

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model

from ledger import fenced

# Columns with their types, and constraints in PostgreSQL's words.
TableSchema = tuple[dict[str, str], tuple[str, ...]]

GUARDED = ("ledger_ledger", "ledger_entry", "ledger_attachment", "ledger_head")

REFUSE_BODY = """
BEGIN
    RAISE EXCEPTION 'ledger fence: what is recorded never changes'
        USING ERRCODE = 'restrict_violation';
END
"""

INSERT_BODY = """
BEGIN
    IF {condition} THEN
        RAISE EXCEPTION 'ledger fence: {reason}'
            USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NEW;
END
"""

FUNCTIONS = {
    "ledger_fence_refuse": REFUSE_BODY,
    "ledger_fence_ledger_insert": INSERT_BODY.format(
        condition="EXISTS (SELECT 1 FROM ledger_ledger WHERE id = NEW.id"
        " OR origin = NEW.origin OR slug = NEW.slug)",
        reason="this ledger exists already",
    ),
    "ledger_fence_entry_insert": INSERT_BODY.format(
        condition="NEW.seq IS DISTINCT FROM (SELECT COALESCE(MAX(seq) + 1, 0)"
        " FROM ledger_entry WHERE ledger_id = NEW.ledger_id)"
        " OR EXISTS (SELECT 1 FROM ledger_entry"
        " WHERE ledger_id = NEW.ledger_id AND entry_id = NEW.entry_id)",
        reason="an entry takes the next place, once",
    ),
    "ledger_fence_attachment_insert": INSERT_BODY.format(
        condition="EXISTS (SELECT 1 FROM ledger_attachment"
        " WHERE ledger_id = NEW.ledger_id AND sha256 = NEW.sha256)",
        reason="this attachment exists already",
    ),
    "ledger_fence_head_insert": INSERT_BODY.format(
        condition="NEW.size <> 0 OR EXISTS (SELECT 1 FROM ledger_head"
        " WHERE ledger_id = NEW.ledger_id)",
        reason="a head begins at 0, once",
    ),
    "ledger_fence_head_update": INSERT_BODY.format(
        condition="NEW.ledger_id <> OLD.ledger_id OR NEW.size <= OLD.size"
        ' OR NEW.at COLLATE "C" < OLD.at'
        " OR NEW.size IS DISTINCT FROM (SELECT MAX(seq) + 1 FROM ledger_entry"
        " WHERE ledger_id = NEW.ledger_id)",
        reason="a head only grows with its entries",
    ),
}


class Guard(NamedTuple):
    """One trigger: where it stands, when it fires and which function answers."""

    name: str
    table: str
    event: str
    level: str
    function: str


# Bits of pg_trigger.tgtype (PostgreSQL documentation, catalog pg_trigger, and
# catalog/pg_trigger.h): row 1, before 2, insert 4, delete 8, update 16, truncate 32.
EVENT_BITS = {"INSERT": 4, "DELETE": 8, "UPDATE": 16, "TRUNCATE": 32}


def guards() -> list[Guard]:
    """Return every trigger of the fence."""
    found = []
    for table in GUARDED:
        noun = table.removeprefix("ledger_")
        insert = f"ledger_fence_{noun}_insert"
        update = "ledger_fence_refuse"
        if table == "ledger_head":
            update = "ledger_fence_head_update"
        refuse = "ledger_fence_refuse"
        found += [
            Guard(f"{table}_insert", table, "INSERT", "ROW", insert),
            Guard(f"{table}_update", table, "UPDATE", "ROW", update),
            Guard(f"{table}_delete", table, "DELETE", "ROW", refuse),
            Guard(f"{table}_truncate", table, "TRUNCATE", "STATEMENT", refuse),
        ]
    return found


def current_schema(connection: BaseDatabaseWrapper) -> str:
    """Return the schema that holds the tables, quoted for use in SQL."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT quote_ident(current_schema())")
        return str(cursor.fetchone()[0])


def statements(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the SQL that puts the fence up, or up again."""
    path = f"pg_catalog, {current_schema(connection)}, pg_temp"
    sql = [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql"
        f" SET search_path = {path} AS $fence${body}$fence$"
        for name, body in FUNCTIONS.items()
    ]
    for guard in guards():
        sql += [
            f"DROP TRIGGER IF EXISTS {guard.name} ON {guard.table}",
            f"CREATE TRIGGER {guard.name} BEFORE {guard.event} ON {guard.table}"
            f" FOR EACH {guard.level} EXECUTE FUNCTION {guard.function}()",
            f"ALTER TABLE {guard.table} ENABLE ALWAYS TRIGGER {guard.name}",
        ]
    return sql


# Every trigger there is; of the rest, what belongs to tables (and what could stand
# in for a table) whose names match a pattern.
HERE = "c.relnamespace = current_schema()::regnamespace"
FENCED = f"c.relkind IN ('r', 'p', 'v', 'm', 'f') AND c.relname ~ %s AND {HERE}"
TRIGGERS_SQL = f"""
SELECT c.relname || '.' || t.tgname, concat_ws(' ', t.tgenabled, t.tgtype, p.proname,
       t.tgqual IS NULL, cardinality(t.tgattr::int2[]), t.tgnargs,
       array_to_string(p.proconfig, ';'), l.lanname, p.prosecdef, p.prosrc)
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
JOIN pg_proc p ON p.oid = t.tgfoid JOIN pg_language l ON l.oid = p.prolang
WHERE NOT t.tgisinternal AND {HERE}
"""
COLUMNS_SQL = f"""
SELECT c.relname || '.' || a.attname, concat_ws(' ', format_type(a.atttypid,
       a.atttypmod), a.attnotnull, NULLIF(a.attidentity, ''))
FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
WHERE a.attnum > 0 AND NOT a.attisdropped AND {FENCED}
"""
CONSTRAINTS_SQL = f"""
SELECT c.relname || ' ' || pg_get_constraintdef(k.oid), k.convalidated::text
FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid
WHERE {FENCED}
"""
TABLES_SQL = f"""
SELECT c.relname, concat_ws(' ', c.relkind, c.relrowsecurity, c.relispartition,
       (SELECT count(*) FROM pg_rewrite r WHERE r.ev_class = c.oid),
       (SELECT count(*) FROM pg_inherits i WHERE c.oid IN (i.inhparent, i.inhrelid)))
FROM pg_class c
WHERE {FENCED}
"""
# Not those of constraints, and not those that Django adds for searching by LIKE.
INDEXES_SQL = f"""
SELECT c.relname || '.' || x.relname,
       substring(pg_get_indexdef(i.indexrelid) FROM ' USING (.*)$')
FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
JOIN pg_class x ON x.oid = i.indexrelid
WHERE NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = i.indexrelid)
AND x.relname NOT LIKE '%%\\_like' AND {FENCED}
"""
QUERIES = {
    "column": COLUMNS_SQL,
    "constraint": CONSTRAINTS_SQL,
    "table": TABLES_SQL,
    "index": INDEXES_SQL,
}

OF_LEDGER = (
    "FOREIGN KEY (ledger_id) REFERENCES ledger_ledger(id) DEFERRABLE INITIALLY DEFERRED"
)
SCHEMA: dict[str, TableSchema] = {
    "ledger_ledger": (
        {"id": "bigint t d", "origin": "text t", "slug": "text t"},
        ("PRIMARY KEY (id)", "UNIQUE (origin)", "UNIQUE (slug)"),
    ),
    "ledger_entry": (
        {
            "ledger_id": "bigint t",
            "seq": "bigint t",
            "entry_id": "text t",
            "leaf": "bytea t",
            "leaf_hash": "bytea t",
        },
        (
            "PRIMARY KEY (ledger_id, seq)",
            "UNIQUE (ledger_id, entry_id)",
            OF_LEDGER,
        ),
    ),
    "ledger_attachment": (
        {
            "ledger_id": "bigint t",
            "sha256": "text t",
            "size": "bigint t",
            "content": "bytea t",
        },
        ("PRIMARY KEY (ledger_id, sha256)", OF_LEDGER),
    ),
    "ledger_head": (
        {
            "ledger_id": "bigint t",
            "size": "bigint t",
            "last_hash": "bytea t",
            "frontier": "text t",
            "at": "text t",
        },
        ("PRIMARY KEY (ledger_id)", OF_LEDGER),
    ),
    "work_proposal": (
        {
            "id": "bigint t d",
            "ledger_id": "bigint t",
            "entry_id": "text t",
            "statement": "bytea t",
            "signatures": "bytea t",
            "created_at": "text t",
            "expires_at": "text t",
        },
        ("PRIMARY KEY (id)", "UNIQUE (ledger_id, entry_id)", OF_LEDGER),
    ),
    "work_nonce": (
        {
            "id": "bigint t d",
            "ledger_id": "bigint t",
            "nonce": "text t",
            "expires_at": "text t",
            "held_by": "text f",
        },
        ("PRIMARY KEY (id)", "UNIQUE (ledger_id, nonce)", OF_LEDGER),
    ),
    "work_attachment": (
        {
            "id": "bigint t d",
            "ledger_id": "bigint t",
            "sha256": "text t",
            "size": "bigint t",
            "content": "bytea t",
        },
        ("PRIMARY KEY (id)", "UNIQUE (ledger_id, sha256)", OF_LEDGER),
    ),
}


def standing(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return what stands: tables, columns, constraints, indexes and triggers."""
    found: dict[str, str] = {}
    names = "^(" + "|".join(fenced.prefixes()) + ")"
    with connection.cursor() as cursor:
        cursor.execute(TRIGGERS_SQL)
        found |= {f"trigger {name}": text for name, text in cursor.fetchall()}
        for kind, query in QUERIES.items():
            cursor.execute(query, [names])
            found |= {f"{kind} {name}": text for name, text in cursor.fetchall()}
    return found


def expected(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return what should stand, in the shape of `standing`."""
    path = f"search_path=pg_catalog, {current_schema(connection)}, pg_temp"
    wanted = {}
    for guard in guards():
        bits = 2 + EVENT_BITS[guard.event] + (guard.level == "ROW")
        wanted[f"trigger {guard.table}.{guard.name}"] = (
            f"A {bits} {guard.function} t 0 0 {path} plpgsql f "
            + FUNCTIONS[guard.function]
        )
    derived = {
        model._meta.db_table: _derived_schema(model, connection)
        for model in fenced.derived_models()
    }
    for table, (columns, constraints) in (SCHEMA | derived).items():
        wanted[f"table {table}"] = "r f f 0 0"
        wanted |= {f"column {table}.{name}": text for name, text in columns.items()}
        wanted |= {f"constraint {table} {text}": "true" for text in constraints}
    for model in fenced.derived_models():
        for index in model._meta.indexes:
            name = f"index {model._meta.db_table}.{index.name}"
            wanted[name] = f"btree ({', '.join(index.fields)})"
    return wanted


def _derived_schema(model: type[Model], connection: BaseDatabaseWrapper) -> TableSchema:
    """Return columns and primary key of a derived table, in the form of SCHEMA."""
    columns: dict[str, str] = {}
    for field in model._meta.concrete_fields:
        if field.column:  # a primary key of several columns has none of its own
            need = "f" if field.null else "t"
            columns[field.column] = f"{field.db_type(connection)} {need}"
    keys = ", ".join(str(field.column) for field in model._meta.pk_fields)
    return columns, (f"PRIMARY KEY ({keys})",)


def damage(connection: BaseDatabaseWrapper) -> list[str]:
    """Return nothing: PostgreSQL has no quick whole-database self-check."""
    return []
