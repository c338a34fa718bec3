"""Many reads, one moment."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection


@contextmanager
def one_moment() -> Iterator[None]:
    """Let all reads inside see the database as it was at the first of them.

    Writers are not held up: no lock is taken. Inside a transaction that is open
    already, that transaction decides what is seen.
    """
    if connection.in_atomic_block:
        yield
        return
    is_sqlite = connection.vendor == "sqlite"
    begin = "BEGIN" if is_sqlite else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
    with connection.cursor() as cursor:
        cursor.execute(begin)
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("ROLLBACK")
