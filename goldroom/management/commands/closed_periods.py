"""Compare every closed period as reported with what the record now comes to.

    python manage.py closed_periods [--period NAME] [--ledger SLUG] [--json]

For each figure that has changed: as reported, as now known, the change, and its
uncertainty, in which errors that both share drop out; then restatements, true-ups,
and what is left to post. Ends with code 2 if the ledger no longer has the entries
that a period was reported from.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.aloud import aloud
from goldroom.reports.closed import closed_periods
from goldroom.reports.closed_words import text_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints the closed periods."""

    help = "Compare closed periods as reported with what is known now."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--period", metavar="NAME", help="only this one")
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the comparison."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            reports = closed_periods(ledger_id, period=options["period"] or "")
            text = text_of(reports)
            text = aloud(ledger_id, [text]).message(text) if reports else text
        if options["json"]:
            self.stdout.write(json_text([each.to_json() for each in reports]))
        else:
            self.stdout.write(text)
        torn = [each.period.period for each in reports if not each.is_root_same]
        if torn:
            raise CommandError(
                f"{', '.join(torn)}: the ledger is not the one reported from. Run"
                " verify_ledger. [reported_root_differs]",
                returncode=2,
            )
