"""Export a whole ledger into one file that can be verified without us.

    python manage.py export_bundle FILE [--ledger SLUG] [--log-key FILE]

With the log key, a checkpoint of the ledger as it stands is signed and put in.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db.models import Max

from ledger import chain, checkpoints, stored
from ledger.core.bundle import write_bundle
from ledger.core.errors import LedgerRefusal
from ledger.management import options as asked
from ledger.models import Attachment, Entry
from ledger.moment import one_moment


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
            with one_moment():
                size = stored_size(ledger.id)
                write_bundle(
                    target,
                    chain.rows(ledger.id, 0, size),
                    origin=ledger.origin,
                    checkpoints=notes,
                    attachments=attachments(ledger.id),
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


def stored_size(ledger_id: int) -> int:
    """Return the number of entries up to the last, also in a damaged ledger."""
    last = Entry.objects.filter(ledger_id=ledger_id).aggregate(last=Max("seq"))["last"]
    return 0 if last is None else min(int(last) + 1, chain.PLACES_MAX)


def attachments(ledger_id: int) -> Iterator[tuple[str, bytes]]:
    """Yield the recorded files, by digest."""
    rows = Attachment.objects.filter(ledger_id=ledger_id).order_by("sha256")
    for row in rows.iterator(chunk_size=10):
        yield row.sha256, stored.octets(row.content)
