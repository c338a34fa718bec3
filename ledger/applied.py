"""The migrations that a database says it went through, against those we know."""

from collections import Counter
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader

from ledger import stored
from ledger.core.report import Finding


def check_migrations() -> list[Finding]:
    """Return a finding for each migration on one side only, or noted twice."""
    known = set(MigrationLoader(None, ignore_no_migrations=True).disk_migrations)
    with stored.plain_reading():
        noted = Counter(
            (_name(app), _name(name))
            for app, name in stored.rows("SELECT app, name FROM django_migrations")
        )
    twice = {name for name, count in noted.items() if count > 1}
    cases = (
        ("migration_unknown", noted.keys() - known, "was applied, but is unknown."),
        ("migration_missing", known - noted.keys(), "was not applied; run migrate."),
        ("migration_twice", twice, "is noted more than once."),
    )
    return [
        _finding(code, name, what)
        for code, names, what in cases
        for name in sorted(names)
    ]


def is_migrated(connection: BaseDatabaseWrapper) -> bool:
    """Tell whether this database was ever made ready for ledgers."""
    tables = connection.introspection.table_names()
    return "ledger_entry" in tables or "django_migrations" in tables


def _name(value: Any) -> str:
    return stored.text(value) or stored.shown(value)


def _finding(code: str, name: tuple[str, str], what: str) -> Finding:
    return Finding("schema", code, f"The migration {'.'.join(name)} {what}")
