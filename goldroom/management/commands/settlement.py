"""Show a refinery melt's settlement, mine and refinery side by side.

    python manage.py settlement MELT|--all [--ledger SLUG] [--json]

Masses, assays of every standing, the contract's limits and rule, the settled figure,
grams payable and credited, charges due and billed.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.settlement import settlement, settlements
from goldroom.reports.settlement_words import text_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints settlements."""

    help = "Show refinery melts, mine and refinery side by side, and what was settled."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("melt", nargs="?", default="", help="the melt's id")
        parser.add_argument("--all", action="store_true", help="every melt on record")
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print one melt, or all of them."""
        if bool(options["melt"]) == options["all"]:
            raise CommandError(
                "Name one melt, such as MR-5101, or ask for --all; not both. The"
                " trail of a bar names its melt."
            )
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            if options["all"]:
                found = settlements(ledger_id)
            else:
                found = (settlement(ledger_id, options["melt"]),)
            if options["json"]:
                plain = [each.to_json() for each in found]
                self.stdout.write(json_text(plain if options["all"] else plain[0]))
            else:
                words = text_of(found, names(ledger_id), site_clock(ledger_id))
                self.stdout.write(words)
