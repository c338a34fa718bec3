"""Sign a checkpoint of a ledger as it stands.

python manage.py sign_checkpoint --log-key FILE [--ledger SLUG] [--out FILE]
"""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ledger import checkpoints
from ledger.core.errors import LedgerRefusal
from ledger.management import options as asked


class Command(BaseCommand):
    """Sign a checkpoint of a ledger as it stands."""

    help = "Sign a checkpoint: the ledger's name, size and root."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        asked.add_ledger(parser)
        asked.add_log_key(parser)
        parser.add_argument(
            "--out", type=Path, metavar="FILE", help="write the checkpoint here"
        )

    def handle(self, **options: Any) -> None:
        """Write the signed checkpoint, or say why it is not signed."""
        if options["log_key"] is None:
            raise CommandError("Name the log key with --log-key.")
        ledger = asked.chosen_ledger(options["ledger"])
        try:
            _, note = checkpoints.sign(
                ledger.id, options["log_key"], asked.passphrase()
            )
        except LedgerRefusal as error:
            raise CommandError(f"Not signed: {error.message}") from error
        if options["out"] is None:
            self.stdout.write(note.decode("utf-8"), ending="")
        else:
            options["out"].write_bytes(note)
