"""Follow an item back to its flushes and forward to its refinery melt.

    python manage.py trail ITEM [--ledger SLUG] [--json]

ITEM is an item's id; a bar may be named by its stamped number. Every hand and every
sealed place on the way is listed.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import trail
from goldroom.reports.trail_words import text_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints the trail of one item."""

    help = "Follow an item back to its flushes and forward to its refinery melt."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("item", help="item id, or a bar's stamped number")
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the trail."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            found = trail(ledger_id, options["item"])
            if options["json"]:
                self.stdout.write(json_text(found.to_json()))
            else:
                self.stdout.write(text_of(found, site_clock(ledger_id)))
