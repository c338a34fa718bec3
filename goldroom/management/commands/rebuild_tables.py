"""Fold the entries anew into the read tables, or check that they agree.

    python manage.py rebuild_tables [--check] [--ledger SLUG]

Without --ledger, for every ledger of this database. With --check nothing is written:
exit code 0 says that the tables are what the entries come to, 2 that they differ.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom import projection
from goldroom.management.reporting import refusals_told
from ledger import read
from ledger.management.options import add_ledger, chosen_ledger
from ledger.models import Ledger

DIFFERS = 2
SHOWN_AT_MOST = 100


class Command(BaseCommand):
    """Rebuilds or compares the read tables."""

    help = "Fold the entries anew into the read tables; --check only compares."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "--check", action="store_true", help="compare and write nothing"
        )
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Rebuild or compare, ledger after ledger."""
        slug = options["ledger"]
        chosen = [chosen_ledger(slug)] if slug else read.ledgers()
        if not chosen:
            raise CommandError("There are no ledgers here.")
        if options["check"]:
            self._check(chosen)
            return
        for ledger in chosen:
            with refusals_told():
                folded = projection.rebuild(ledger.pk)
            self.stdout.write(f"{ledger.slug}: folded {folded} entries anew.")

    def _check(self, chosen: list[Ledger]) -> None:
        """Print what differs; leave with exit code 2 if anything does."""
        found = {ledger.slug: projection.compare(ledger.pk) for ledger in chosen}
        for slug, findings in found.items():
            if not findings:
                self.stdout.write(f"{slug}: the tables are what the entries come to.")
            for finding in findings[:SHOWN_AT_MOST]:
                self.stdout.write(f"{slug}: {finding.sentence()}")
            if len(findings) > SHOWN_AT_MOST:
                self.stdout.write(
                    f"{slug}: and {len(findings) - SHOWN_AT_MOST} more differences."
                )
        if any(found.values()):
            raise SystemExit(DIFFERS)
