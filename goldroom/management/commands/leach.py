"""Tell a leach batch's account: in, out, in the vessel, recovery, reagents.

    python manage.py leach BATCH [--ledger SLUG] [--json]

While the batch runs, what is in its vessel is told by difference with its
uncertainty; when its residue is out, the calculated head, recovery and accountability.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.leach import leach_report
from goldroom.reports.leach_words import text_of
from goldroom.reports.metal import site_clock
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints the account of one leach batch."""

    help = "Tell a leach batch's account: in, out, in the vessel, recovery, reagents."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("batch", help="leach batch's id")
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the account."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            found = leach_report(ledger_id, options["batch"])
            clock = site_clock(ledger_id)
        if options["json"]:
            self.stdout.write(json_text(found.to_json()))
        else:
            self.stdout.write(text_of(found, clock))
