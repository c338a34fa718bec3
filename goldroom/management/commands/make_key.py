"""Make a person's key, sealed under a passphrase that only they know.

    python manage.py make_key PERSON --into FOLDER [--proof-for ORIGIN]

The person types the passphrase twice at the terminal. `log` makes the key that signs
a ledger's chain marks. An existing file is never overwritten. With the origin name of
a ledger, the key's public half and the proof of holding it are printed too, for the
line that enrols it or puts it in an old key's place, so that the sealed file need not
leave its owner's hands.
"""

import hmac
import json
import unicodedata
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from goldroom.errors import Refusal
from goldroom.keys import LOG_KEY, seal_into
from goldroom.management.reporting import refusals_told
from goldroom.management.terminal import ask
from ledger.core import form
from ledger.core.errors import LedgerRefusal
from ledger.core.signing import SigningKey, enrolled_key, generate_key
from ledger.errors import KeyFileRefused
from ledger.sealed_keys import SUFFIX

PASSPHRASE_CHARACTERS_MIN = 12


class BadPassphrase(Refusal):
    """A passphrase is too short, or was typed otherwise the second time."""

    code = "bad_passphrase"


class BadPersonId(Refusal):
    """A person's id is not spelled as ids are."""

    code = "bad_person_id"


class Command(BaseCommand):
    """Makes one sealed key file."""

    help = "Make a person's key, or the log's, sealed under a passphrase."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the person and the folder."""
        parser.add_argument(
            "person", help=f"the person's id, such as p-one, or {LOG_KEY}"
        )
        parser.add_argument(
            "--into", type=Path, required=True, metavar="FOLDER", help="where it goes"
        )
        parser.add_argument(
            "--proof-for",
            default="",
            metavar="ORIGIN",
            help="first line of the ledger's chain marks: prints the key's public half",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the key and say what to do with it."""
        with refusals_told():
            person, into = options["person"], options["into"]
            self.stdout.write(
                make_key(person, into, ask, proof_for=options["proof_for"])
            )


def make_key(
    person: str, folder: Path, ask: Callable[[str, str], str], *, proof_for: str = ""
) -> str:
    """Make a sealed key file; return what to do with it, in words.

    `ask(person, prompt)` returns a passphrase. Raises BadPersonId, BadPassphrase and
    KeyFileRefused.
    """
    _check_person(person)
    path = folder / f"{person}{SUFFIX}"
    if path.exists():
        raise KeyFileRefused(
            f"{path} exists already. A key is never overwritten: name another folder,"
            " or go on with the key that is there."
        )
    key = generate_key()
    passphrase = _passphrase(person, ask)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        seal_into(folder, {person: key}, passphrase)
    except OSError as error:
        raise KeyFileRefused(
            f"{path} cannot be written: {error.strerror}. Name a folder that you may"
            " write into."
        ) from None
    return (
        f"Key of {person}: {key.key_id}\n"
        f"It is sealed in {path}, which only you can read. Keep a copy of the file, and"
        " keep the passphrase apart from it, in your head or in a sealed envelope:"
        " whoever has both can sign for you, and without either nobody can. Write the"
        " key's id down; it stands beside your name in the record."
        + _proof_words(key, person, proof_for)
    )


def _proof_words(key: SigningKey, person: str, origin: str) -> str:
    """Return the key's object for an enrolment or a rotation; "" for no ledger."""
    if not origin:
        return ""
    public = enrolled_key(key, origin=origin, person=person)
    return (
        f"\nFor the line that enrols it in {origin}, or that puts it in an old key's"
        f' place, as "key":\n{json.dumps(public, sort_keys=True)}'
    )


def _check_person(person: str) -> None:
    try:
        form.person_id(person, "person")
    except LedgerRefusal:
        raise BadPersonId(
            f"person: found {person!r}, expected an id of small letters, digits, dots"
            " and dashes, such as p-one. Write the id that the ledger will use.",
            field="person",
        ) from None


def _passphrase(person: str, ask: Callable[[str, str], str]) -> str:
    """Return the passphrase typed twice. Raises BadPassphrase."""
    first = ask(person, "New passphrase of")
    if len(first) < PASSPHRASE_CHARACTERS_MIN:
        raise BadPassphrase(
            f"found {len(first)} characters, expected at least"
            f" {PASSPHRASE_CHARACTERS_MIN}. Several words that do not belong together"
            " are strong and easy to keep in mind."
        )
    again = ask(person, "The same once more, of")
    if not hmac.compare_digest(_octets(first), _octets(again)):
        raise BadPassphrase(
            "The two passphrases differ, and no key was made. Start again."
        )
    return first


def _octets(text: str) -> bytes:
    return unicodedata.normalize("NFC", text).encode("utf-8")
