"""Hold every cell cleanup against its solution call.

    python manage.py solution_call [--cell ID] [--ledger SLUG] [--json]

What each load of a cell should hold by flow x assay, what its sludge and heel held,
the difference with its uncertainty, and what the current plated of what it could.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.metal import site_clock
from goldroom.reports.solution_call import every_call
from goldroom.reports.solution_call_words import text_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints solution calls."""

    help = "Hold every cell cleanup against its solution call."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--cell", default="", metavar="ID", help="only this cell")
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the calls, in order of cleanup, open loads last."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            clock = site_clock(ledger_id)
            calls = [
                each
                for each in every_call(ledger_id)
                if options["cell"] in ("", each.load.cell)
            ]
        if options["json"]:
            self.stdout.write(json_text([each.to_json() for each in calls]))
        else:
            self.stdout.write(text_of(calls, clock))
