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
        out = options["out"]
        if out is not None:
            asked.refuse_taken(out)
        ledger = asked.chosen_ledger(options["ledger"])
        try:
            size, note = checkpoints.sign(
                ledger.id, options["log_key"], asked.passphrase()
            )
        except LedgerRefusal as error:
            raise CommandError(f"Not signed: {error.message}") from error
        if out is None:
            self.stdout.write(note.decode("utf-8"), ending="")
        else:
            out.write_bytes(note)
        self.stderr.write(
            f"Checkpoint of {ledger.slug} at {size} entries"
            + (f", in {out}" if out else "")
            + ". Keep it where nobody who can change this database\ncan change it too:"
            " it shows later that none of these entries was changed or removed.",
            self.style.NOTICE,
        )
