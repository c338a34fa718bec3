"""Databases for tests.

The tests run on the database that GOLDROOM_DATABASE_URL names; CI runs them twice,
on SQLite and on PostgreSQL. `fresh_db` gives a test a migrated database of its own,
a copy of a template made once, with real commits: the record's own triggers would
refuse to be flushed.
"""

import itertools
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connections

NUMBERS = itertools.count()


def pytest_report_header() -> str:
    """Say which database the tests run on."""
    vendor = connections["default"].vendor
    if vendor == "postgresql" or "GOLDROOM_TEST_POSTGRES_URL" in os.environ:
        return f"ledger database: {vendor}"
    return (
        f"ledger database: {vendor}; PostgreSQL NOT tested "
        "(GOLDROOM_TEST_POSTGRES_URL is not set)"
    )


@contextmanager
def another_database(name: str) -> Iterator[None]:
    """Let `default` mean the database `name`, in this thread and new ones."""
    before = connections["default"]
    settings = connections.settings["default"]
    name_before = settings["NAME"]
    settings["NAME"] = name
    connections["default"] = connections.create_connection("default")
    try:
        yield
    finally:
        connections["default"].close()
        settings["NAME"] = name_before
        connections["default"] = before


def server(statement: str) -> None:
    """Run a statement on the PostgreSQL server, outside the tests' databases."""
    import psycopg

    settings = connections.settings["default"]
    parameters: dict[str, Any] = {
        "host": settings["HOST"],
        "port": settings["PORT"],
        "user": settings["USER"],
        "password": settings["PASSWORD"],
        "dbname": "postgres",
    }
    given = {name: value for name, value in parameters.items() if value}
    with psycopg.connect(**given, autocommit=True) as direct:
        direct.execute(statement.encode())


@pytest.fixture(scope="session")
def template_db(
    tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any
) -> Iterator[str]:
    """Migrate a template database once; return its name."""
    with django_db_blocker.unblock():
        on_server = connections["default"].vendor == "postgresql"
        if on_server:
            name = f"goldroom_template_{os.getpid()}"
            server(f"CREATE DATABASE {name}")
        else:
            name = str(tmp_path_factory.mktemp("template") / "template.sqlite3")
        with another_database(name):
            call_command("migrate", verbosity=0)
        yield name
        if on_server:
            server(f"DROP DATABASE {name}")


@contextmanager
def copied_database(template: str, folder: Path) -> Iterator[str]:
    """Let `default` mean a copy of the template database; its name."""
    on_server = connections["default"].vendor == "postgresql"
    if on_server:
        name = f"goldroom_test_{os.getpid()}_{next(NUMBERS)}"
        server(f"CREATE DATABASE {name} TEMPLATE {template}")
    else:
        name = str(folder / f"ledger-{next(NUMBERS)}.sqlite3")
        shutil.copyfile(template, name)
    try:
        with another_database(name):
            yield name
    finally:
        if on_server:
            server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def fresh_db(template_db: str, tmp_path: Path, django_db_blocker: Any) -> Iterator[str]:
    """Give the test a migrated, empty database with real commits; its name."""
    with django_db_blocker.unblock(), copied_database(template_db, tmp_path) as name:
        yield name


@pytest.fixture(scope="module")
def told_once(
    template_db: str, tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any
) -> Iterator[Any]:
    """Tell the whole story once for a module whose tests change nothing; its room."""
    from tests.front_door import told

    folder = tmp_path_factory.mktemp("told")
    with django_db_blocker.unblock(), copied_database(template_db, folder):
        yield told()
