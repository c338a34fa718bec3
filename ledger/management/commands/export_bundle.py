"""Export a whole ledger into one file that can be verified without us.

    python manage.py export_bundle FILE [--ledger SLUG] [--log-key FILE]

With the log key, a checkpoint of the ledger as it stands is signed and put in.
"""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ledger import checkpoints
from ledger.core.errors import LedgerRefusal
from ledger.exporting import write_whole
from ledger.management import options as asked


class Command(BaseCommand):
    """Export a whole ledger into one file."""

    help = "Export a ledger into a bundle; verify it with ledger.core.verify."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("file", type=Path, metavar="FILE")
        asked.add_ledger(parser)
        asked.add_log_key(parser)

    def handle(self, **options: Any) -> None:
        """Write the bundle."""
        target = options["file"]
        asked.refuse_taken(target)
        ledger = asked.chosen_ledger(options["ledger"])
        notes = []
        try:
            if options["log_key"] is not None:
                notes.append(
                    checkpoints.sign(ledger.id, options["log_key"], asked.passphrase())
                )
            size = write_whole(
                target, ledger.id, origin=ledger.origin, checkpoints=notes
            )
        except LedgerRefusal as error:
            raise CommandError(f"Not exported: {error.message}") from error
        except (ValueError, OSError) as error:
            raise CommandError(
                f"Not exported: {error}. If the disk is in order, run verify_ledger."
            ) from error
        self.stdout.write(
            f"{size} entries of {ledger.slug} are in {target}.\n"
            "Whoever gets it can check it without this database:\n"
            f"    python -m ledger.core.verify {target} --policy POLICY"
            " --anchor CHECKPOINT\n"
            "Policy and checkpoint must reach them by another way than the file, which"
            " cannot\nvouch for itself. README.txt in the file says the rest."
        )
