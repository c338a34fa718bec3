"""What commands that report share: refusals as one plain line, times and days."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any

from django.core.management.base import CommandError
from django.db import OperationalError, ProgrammingError

from goldroom.errors import Refusal
from ledger.core.errors import LedgerRefusal


@contextmanager
def refusals_told() -> Iterator[None]:
    """Turn a refusal, or a database not made ready, into one line and exit code 1."""
    try:
        yield
    except (Refusal, LedgerRefusal) as refusal:
        raise CommandError(
            f"{refusal.message} [{refusal.code}]", returncode=1
        ) from refusal
    except (OperationalError, ProgrammingError) as error:
        raise CommandError(
            f"The database cannot be used: {error}. If it is a new one, run manage.py"
            " migrate first; otherwise see that GOLDROOM_DATABASE_URL names the right"
            " one. [no_database]",
            returncode=1,
        ) from error


def day(text: str, option: str) -> date:
    """Return a calendar day. Raises CommandError naming the option."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CommandError(
            f"{option}: found {text!r}, expected a day such as 2026-01-31."
        ) from None


def moment(text: str, option: str) -> datetime:
    """Return a time with its offset. Raises CommandError naming the option."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.utcoffset() is None:
        raise CommandError(
            f"{option}: found {text!r}, expected a time with its offset, such as"
            " 2026-01-31T06:00:00+02:00."
        )
    return found


def json_text(report: Any) -> str:
    """Return a report's plain values as JSON for a machine to read."""
    return json.dumps(report, indent=2, ensure_ascii=False, sort_keys=True)
