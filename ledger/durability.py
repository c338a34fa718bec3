"""Is a committed entry really on the disk? What the database says about itself.

SQLite must write ahead and flush at each commit; PostgreSQL must flush, protect its
pages and wait for its own disk (or more) before a commit returns. With anything less
a power cut can take back an entry that was acknowledged. Checked by
`manage.py check --database default` and by `migrate`.
"""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

WANTED = {
    "sqlite": {
        "PRAGMA journal_mode": {"wal"},
        "PRAGMA synchronous": {"2", "3"},
    },
    "postgresql": {
        "SHOW fsync": {"on"},
        "SHOW full_page_writes": {"on"},
        "SHOW synchronous_commit": {"on", "remote_apply"},
    },
}


def check_durability(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Return an error for each setting under which a commit may be lost."""
    return [
        error for alias in databases or () for error in problems(connections[alias])
    ]


def problems(connection: BaseDatabaseWrapper) -> list[CheckMessage]:
    """Return what is wrong with one database."""
    found: list[CheckMessage] = []
    for question, wanted in WANTED[connection.vendor].items():
        with connection.cursor() as cursor:
            cursor.execute(question)
            answer = str(cursor.fetchone()[0]).lower()
        if answer not in wanted:
            choice = " or ".join(sorted(wanted))
            found.append(
                Error(
                    f"{question} says {answer}; expected {choice}.",
                    hint="A commit that was acknowledged could be lost at a power cut.",
                    id="ledger.E001",
                )
            )
    return found
