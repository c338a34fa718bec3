"""The fence on SQLite: which triggers stand, and how to read what stands.

The guard on INSERT is what closes `INSERT OR REPLACE`: SQLite's replacement of a
row fires no DELETE trigger unless a connection asks for it, but BEFORE INSERT
always fires, and it refuses a place that is taken.
"""

from django.db.backends.base.base import BaseDatabaseWrapper

from ledger import fenced

GUARDED = ("ledger_ledger", "ledger_entry", "ledger_attachment", "ledger_head")

NEVER_CHANGED = "entries, ledgers and attachments never change"
REFUSAL = "BEGIN SELECT RAISE(ABORT, 'ledger fence: {reason}'); END"

INSERTS = {
    "ledger_ledger": (
        "EXISTS (SELECT 1 FROM ledger_ledger WHERE id = NEW.id"
        " OR origin = NEW.origin OR slug = NEW.slug)",
        "this ledger exists already",
    ),
    "ledger_entry": (
        "typeof(NEW.leaf) <> 'blob' OR typeof(NEW.leaf_hash) <> 'blob'"
        " OR NEW.seq IS NOT (SELECT COALESCE(MAX(seq) + 1, 0) FROM ledger_entry"
        " WHERE ledger_id = NEW.ledger_id)"
        " OR EXISTS (SELECT 1 FROM ledger_entry"
        " WHERE ledger_id = NEW.ledger_id AND entry_id = NEW.entry_id)",
        "an entry takes the next place, once, as bytes",
    ),
    "ledger_attachment": (
        "typeof(NEW.content) <> 'blob' OR EXISTS (SELECT 1 FROM ledger_attachment"
        " WHERE ledger_id = NEW.ledger_id AND sha256 = NEW.sha256)",
        "this attachment exists already or is not bytes",
    ),
    "ledger_head": (
        "NEW.size <> 0 OR EXISTS (SELECT 1 FROM ledger_head"
        " WHERE ledger_id = NEW.ledger_id)",
        "a head begins at 0, once",
    ),
}

HEAD_UPDATE = (
    "NEW.ledger_id IS NOT OLD.ledger_id OR NEW.size <= OLD.size OR NEW.at < OLD.at"
    " OR NEW.size IS NOT (SELECT MAX(seq) + 1 FROM ledger_entry"
    " WHERE ledger_id = NEW.ledger_id)"
)


def triggers() -> dict[str, str]:
    """Return every trigger of the fence: name to CREATE statement."""
    found = {}
    for table, (condition, reason) in INSERTS.items():
        name = f"{table}_insert"
        found[name] = (
            f"CREATE TRIGGER {name} BEFORE INSERT ON {table} WHEN {condition} "
            + REFUSAL.format(reason=reason)
        )
    for table in GUARDED:
        name = f"{table}_delete"
        found[name] = f"CREATE TRIGGER {name} BEFORE DELETE ON {table} " + (
            REFUSAL.format(reason="nothing is deleted")
        )
        when = f"WHEN {HEAD_UPDATE} " if table == "ledger_head" else ""
        reason = "a head only grows with its entries" if when else NEVER_CHANGED
        name = f"{table}_update"
        found[name] = (
            f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} {when}"
            + REFUSAL.format(reason=reason)
        )
    return found


def statements(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the SQL that puts the fence up, or up again."""
    sql = []
    for name, create in triggers().items():
        sql += [f"DROP TRIGGER IF EXISTS {name}", create]
    return sql


def standing(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return what stands: tables, views, indexes and all triggers, with their SQL."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL"
        )
        return {
            f"{kind} {name}": sql
            for kind, name, table, sql in cursor.fetchall()
            if kind == "trigger" or fenced.is_fenced((name, table))
        }


def expected(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return what should stand, in the shape of `standing`."""
    wanted = {f"trigger {name}": sql for name, sql in triggers().items()}
    # Not entered as a context: that would check and switch off constraints.
    editor = connection.SchemaEditorClass(connection, collect_sql=True, atomic=False)
    editor.deferred_sql = []
    for model in fenced.models():
        editor.create_model(model)
    created = [*editor.collected_sql, *map(str, editor.deferred_sql)]
    for sql in created:
        words = sql.split('"', 2)
        wanted[f"{words[0].split()[-1].lower()} {words[1]}"] = sql.rstrip(";")
    return wanted


def damage(connection: BaseDatabaseWrapper) -> list[str]:
    """Return what SQLite itself finds wrong with the file, in its words."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        return [text for (text,) in cursor.fetchall() if text != "ok"]
