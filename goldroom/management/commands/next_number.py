"""Propose the next free numbers of a series, with their check characters.

    python manage.py next_number bar|sample|seal [--count N] [--prefix TEXT]
                                 [--ledger SLUG]

A proposal keeps nothing: the number is used when a statement says it.
"""

from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom.management.reporting import refusals_told
from goldroom.reports.numbers import next_numbers
from ledger.management.options import add_ledger, chosen_ledger

MOST = 1000


class Command(BaseCommand):
    """Prints numbers, one a line."""

    help = "Propose the next free numbers of bars, samples or seals."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("what", choices=("bar", "sample", "seal"))
        parser.add_argument("--count", type=int, default=1, metavar="N")
        parser.add_argument(
            "--prefix", default="", help="of the series, if several are in force"
        )
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the numbers that follow the highest used."""
        count = options["count"]
        if not 1 <= count <= MOST:
            raise CommandError(
                f"--count: found {count}, expected 1 to {MOST}.", returncode=1
            )
        with refusals_told():
            numbers = next_numbers(
                chosen_ledger(options["ledger"]).pk,
                options["what"],
                now=datetime.now(UTC),
                count=count,
                prefix=options["prefix"],
            )
        self.stdout.write("\n".join(numbers))
