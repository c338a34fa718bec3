"""Reconcile a period of production days: every step, the whole, and gravity.

    python manage.py reconcile --from DATE --to DATE [--as-known-at TIME]
                               [--ledger SLUG] [--json]

Both days are included; each starts at the site's cut-off in the site's zone. With
--as-known-at the period is shown as it was known at that time.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import day, json_text, moment, refusals_told
from goldroom.reports.month import reconciliation
from goldroom.reports.month_words import text_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints the reconciliation of a period."""

    help = "Reconcile a period of production days, for gold and for silver."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "--from",
            dest="first_day",
            required=True,
            metavar="DATE",
            help="first production day",
        )
        parser.add_argument(
            "--to",
            dest="last_day",
            required=True,
            metavar="DATE",
            help="last production day, included",
        )
        parser.add_argument(
            "--as-known-at",
            metavar="TIME",
            help="RFC 3339 with offset; what was learned later is left out",
        )
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the reconciliation."""
        known_at = options["as_known_at"]
        with refusals_told():
            report = reconciliation(
                chosen_ledger(options["ledger"]).pk,
                first_day=day(options["first_day"], "--from"),
                last_day=day(options["last_day"], "--to"),
                as_known_at=None
                if known_at is None
                else moment(known_at, "--as-known-at"),
            )
        if options["json"]:
            self.stdout.write(json_text(report.to_json()))
        else:
            self.stdout.write(text_of(report))
