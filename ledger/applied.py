"""The migrations that a database says it went through, against those we know."""

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader

from ledger.core.report import Finding


def check_migrations(connection: BaseDatabaseWrapper) -> list[Finding]:
    """Return a finding for each migration on one side only."""
    loader = MigrationLoader(connection, ignore_no_migrations=True)
    applied, known = set(loader.applied_migrations), set(loader.disk_migrations)
    unknown = [
        _finding("migration_unknown", name, "was applied here, but is not known.")
        for name in sorted(applied - known)
    ]
    missing = [
        _finding("migration_missing", name, "was not applied; run migrate.")
        for name in sorted(known - applied)
    ]
    return unknown + missing


def is_migrated(connection: BaseDatabaseWrapper) -> bool:
    """Tell whether this database was ever made ready for ledgers."""
    tables = connection.introspection.table_names()
    return "ledger_entry" in tables or "django_migrations" in tables


def _finding(code: str, name: tuple[str, str], what: str) -> Finding:
    return Finding("schema", code, f"The migration {'.'.join(name)} {what}")
