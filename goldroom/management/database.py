"""Letting a command work on another database than the one it was started with."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connections


@contextmanager
def working_on(path: Path, *, in_a_hurry: bool = False) -> Iterator[None]:
    """Let `default` mean the SQLite file at `path`, with the usual options.

    In a hurry, a commit does not wait for the disk: for a file that can be made
    again. Before and after, `default` means what the settings say.
    """
    before = connections["default"]
    said = dict(connections.settings["default"])
    options: dict[str, Any] = dict(settings.SQLITE_OPTIONS)
    if in_a_hurry:
        options["init_command"] += " PRAGMA synchronous=OFF;"
    database = {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": options,
    }
    connections.settings["default"].update(database)
    connections["default"] = connections.create_connection("default")
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"].clear()
        connections.settings["default"].update(said)
        connections["default"] = before
