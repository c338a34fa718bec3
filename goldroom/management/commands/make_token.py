"""Make a token for a program that reads and asks in a person's name.

    python manage.py make_token PERSON --label TEXT [--key-file FILE] [--days N]
                                [--ledger SLUG]

The person opens their sealed key at the terminal; the token is printed once and only
its SHA-256 is kept. It signs nothing: a signature needs the key each time.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.faces import tokens
from goldroom.faces.backend import kept_key
from goldroom.management.reporting import refusals_told
from goldroom.management.terminal import ask
from ledger import sealed_keys
from ledger.errors import KeyFileRefused
from ledger.management.options import add_ledger, chosen_ledger
from ledger.models import Ledger


class Command(BaseCommand):
    """Makes one token."""

    help = "Make a token for a program, after its person has opened their key."

    def add_arguments(self, parser: CommandParser) -> None:
        """Name the person, the program and the key."""
        parser.add_argument("person", help="the person's id, such as gw-mill")
        parser.add_argument(
            "--label", required=True, metavar="TEXT", help="which program, and where"
        )
        parser.add_argument(
            "--key-file", type=Path, metavar="FILE", help="if it is not kept here"
        )
        parser.add_argument(
            "--days", type=int, default=tokens.DAYS_MOST, metavar="N", help="it lasts"
        )
        add_ledger(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the token and print it, once."""
        with refusals_told():
            ledger = chosen_ledger(options["ledger"])
            content = _content(options["key_file"], ledger, options["person"])
            secret = made(
                ledger,
                options["person"],
                content,
                ask,
                label=options["label"],
                days=options["days"],
            )
        self.stdout.write(
            f"{secret}\n"
            f"It is shown this once and ends at {tokens.ends_at(secret):%Y-%m-%d %H:%M}"
            " UTC, or with the key. Put it where only the program can read it, and send"
            " it as: Authorization: Bearer ..."
        )


def made(
    ledger: Ledger,
    person: str,
    content: bytes,
    ask: Callable[[str], str],
    *,
    label: str,
    days: int,
) -> str:
    """Return a new token's secret. Raises KeyFileRefused, NotTheKey, TokenRefused."""
    opened = sealed_keys.unseal(content, ask(person))
    if opened.person != person:
        raise KeyFileRefused(
            f"The key file is that of {opened.person}, not of {person}. Choose theirs.",
            field="key_file",
        )
    return tokens.make(ledger, opened, label=label, days=days)


def _content(path: Path | None, ledger: Ledger, person: str) -> bytes:
    if path is None:
        return kept_key(ledger.slug, person)
    try:
        return path.read_bytes()
    except OSError as error:
        raise KeyFileRefused(
            f"{path} cannot be read: {error.strerror}. Name the sealed key file."
        ) from None
