"""The fence: triggers that refuse change, and the check that they still stand.

    ledger_ledger, ledger_entry, ledger_attachment   INSERT of something new only
    ledger_head                                      only grows, with its entries

Derived tables have no triggers, but must be the tables that this program makes; and
no other trigger may stand anywhere in the database.

It stops slips and ordinary accounts. Whoever owns the database can take it down;
`check` then finds it missing or changed, and what is changed behind it is found by
the record itself.
"""

import hashlib
from types import ModuleType

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from ledger import fence_postgresql, fence_sqlite
from ledger.core.canonical import render
from ledger.core.verify import Finding

DIALECTS = {"sqlite": fence_sqlite, "postgresql": fence_postgresql}


def install(connection: BaseDatabaseWrapper) -> None:
    """Put up every trigger, or put it up again, if the tables are there."""
    if "ledger_entry" not in connection.introspection.table_names():
        return
    with (
        transaction.atomic(using=connection.alias),
        connection.cursor() as cursor,
    ):
        for statement in _dialect(connection).statements(connection):
            cursor.execute(statement)


def fingerprint(connection: BaseDatabaseWrapper) -> str:
    """Return the SHA-256, in hex, of all tables and triggers as they stand."""
    standing = _dialect(connection).standing(connection)
    return hashlib.sha256(render(sorted(standing.items()))).hexdigest()


def check(connection: BaseDatabaseWrapper) -> list[Finding]:
    """Return a finding for each table or trigger that is not as it should be."""
    dialect = _dialect(connection)
    standing = dialect.standing(connection)
    expected = dialect.expected(connection)
    findings = [
        Finding(
            cls="schema",
            code="database_damaged",
            message=f"The database's own check says: {text}",
            found=text,
        )
        for text in dialect.damage(connection)
    ]
    for name in sorted(standing.keys() | expected.keys()):
        wanted, found = expected.get(name), standing.get(name)
        if wanted != found:
            findings.append(_difference(name, wanted, found))
    return findings


def _difference(name: str, wanted: str | None, found: str | None) -> Finding:
    if found is None:
        code, what = "schema_missing", "is missing; this program needs it"
    elif wanted is None:
        code, what = "schema_added", "is none of this program's; somebody added it"
    else:
        code, what = "schema_changed", "is not as this program makes it"
    return Finding(
        cls="schema",
        code=code,
        message=f"The {name} {what}.",
        expected=wanted or "",
        found=found or "",
    )


def _dialect(connection: BaseDatabaseWrapper) -> ModuleType:
    return DIALECTS[connection.vendor]
