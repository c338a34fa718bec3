"""What commands that print a line for `record` share: when, and who will sign."""

from datetime import UTC, datetime

from django.core.management.base import CommandError, CommandParser

from goldroom.management.reporting import moment
from goldroom.sayings import Signer


def add_signing(parser: CommandParser) -> None:
    """Let the caller say who will sign, and when."""
    parser.add_argument(
        "--signer",
        action="append",
        required=True,
        metavar="PERSON:ROLE",
        help="who will sign and in which role; give it once for each signer",
    )
    parser.add_argument("--at", metavar="TIME", help="when; now, if left out")


def occurred_at(text: str | None) -> str:
    """Return when it happened, as a line says it: the time given, or now."""
    found = datetime.now(UTC) if text is None else moment(text, "--at")
    return found.replace(microsecond=0).isoformat()


def signer(text: str) -> Signer:
    """Return a signer written as PERSON:ROLE. Raises CommandError."""
    person, colon, role = text.partition(":")
    if not (person and colon and role):
        raise CommandError(
            f"--signer: found {text!r}, expected a person and the role they sign in,"
            " such as p-one:accountant."
        )
    return Signer(person=person, role=role)
