"""Databases in which the small mine's story was told already."""

import itertools
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connections

from tests.conftest import another_database, server
from tests.goldroom import small_mine

COPIES = itertools.count()


@pytest.fixture(scope="session")
def told_template(
    template_db: str, tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any
) -> Iterator[tuple[str, int]]:
    """Tell the story once in a database of its own; its name and the ledger's id."""
    with django_db_blocker.unblock():
        on_server = connections["default"].vendor == "postgresql"
        name = f"goldroom_told_{os.getpid()}"
        if not on_server:
            name = str(tmp_path_factory.mktemp("told") / "told.sqlite3")
        _copy(template_db, name)
        with another_database(name):
            ledger_id = small_mine.tell()
        yield name, ledger_id
        if on_server:
            server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def told(
    told_template: tuple[str, int], tmp_path: Path, django_db_blocker: Any
) -> Iterator[int]:
    """Give the test a copy of the told story, its own to spoil; the ledger's id."""
    template, ledger_id = told_template
    with django_db_blocker.unblock():
        on_server = connections["default"].vendor == "postgresql"
        name = f"goldroom_told_{os.getpid()}_{next(COPIES)}"
        if not on_server:
            name = str(tmp_path / "told.sqlite3")
        _copy(template, name)
        with another_database(name):
            yield ledger_id
        if on_server:
            server(f"DROP DATABASE {name} WITH (FORCE)")


def _copy(template: str, name: str) -> None:
    if connections["default"].vendor == "postgresql":
        server(f"CREATE DATABASE {name} TEMPLATE {template}")
    else:
        shutil.copyfile(template, name)
