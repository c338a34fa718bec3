"""What the commands ask for in common: which ledger, which log key."""

import os
import sys
from getpass import getpass
from pathlib import Path

from django.core.management.base import CommandError, CommandParser

from ledger import read
from ledger.core.errors import LedgerRefusal
from ledger.models import Ledger

PASSPHRASE_VARIABLE = "GOLDROOM_LOG_KEY_PASSPHRASE"


def add_ledger(parser: CommandParser) -> None:
    """Let the caller name a ledger."""
    parser.add_argument(
        "--ledger", metavar="SLUG", help="which ledger, if there are several"
    )


def add_log_key(parser: CommandParser) -> None:
    """Let the caller name the file of the log key."""
    parser.add_argument(
        "--log-key",
        type=Path,
        metavar="FILE",
        help=f"sealed log key; its passphrase is in {PASSPHRASE_VARIABLE} or asked for",
    )


def chosen_ledger(slug: str | None) -> Ledger:
    """Return the ledger that was named, or the only one there is."""
    if slug:
        try:
            return read.get_ledger(slug)
        except LedgerRefusal as error:
            raise CommandError(error.message) from error
    found = read.ledgers()
    if len(found) != 1:
        names = ", ".join(ledger.slug for ledger in found) or "none"
        raise CommandError(f"Name one ledger with --ledger; there are: {names}.")
    return found[0]


def passphrase() -> str:
    """Return the log key's passphrase from the environment or the terminal."""
    given = os.environ.get(PASSPHRASE_VARIABLE)
    if given is not None:
        return given
    if not sys.stdin.isatty():
        raise CommandError(
            "There is no terminal here to type the log key's passphrase at. Run the "
            f"command in a terminal, or set {PASSPHRASE_VARIABLE}."
        )
    return getpass("Passphrase of the log key: ")


def refuse_taken(path: Path) -> None:
    """Refuse to write over a file, or where there is no folder."""
    if path.exists():
        raise CommandError(f"{path} exists already; name another file.")
    if not path.absolute().parent.is_dir():
        raise CommandError(f"There is no folder {path.absolute().parent}; make it.")
