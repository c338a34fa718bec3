"""Make a demonstration: an invented mine's month, from an empty folder to a bundle.

Everything is said through the front door, signed with keys of invented people that
derive from the seed, and verified again before the command ends.
"""

from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from goldroom.demo import going_on, month
from goldroom.demo.diary import play
from goldroom.demo.folder import DemoFolder, demo_keys
from goldroom.management import demo_ending
from goldroom.management.database import working_on
from goldroom.management.reporting import refusals_told
from goldroom.management.terminal import progress_bar
from ledger import attachments

MONTHS_MAX = 24


class Command(BaseCommand):
    """Works an invented mine's shifts into a ledger of its own."""

    help = "Make a demonstration ledger of an invented mine, and verify it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the seed, the length and the folder."""
        parser.add_argument(
            "--months", type=int, default=1, help=f"1 to {MONTHS_MAX}; 1 if left out"
        )
        parser.add_argument(
            "--seed", type=int, default=1, help="another seed, other figures"
        )
        parser.add_argument(
            "--into",
            type=Path,
            help="folder to make (var/demo); an earlier demonstration is replaced",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the folder and everything in it, and say what is there."""
        if not 1 <= options["months"] <= MONTHS_MAX:
            raise CommandError(f"--months: 1 to {MONTHS_MAX}.", returncode=1)
        folder = DemoFolder(options["into"] or Path(settings.VAR_DIR) / "demo")
        with refusals_told():
            for line in make(folder, seed=options["seed"], months=options["months"]):
                self.stdout.write(line)


def make(folder: DemoFolder, *, seed: int, months: int) -> list[str]:
    """Make a demonstration; return what there is to say about it."""
    folder.make(seed=seed, months=months)
    room = month.write(seed, months)
    keys = demo_keys(room.chance)
    folder.seal(keys)
    folder.write_papers(room.diary.papers)
    with working_on(folder.database, in_a_hurry=True):
        call_command("migrate", verbosity=0)
        ledger_id = play(
            room.diary, keys, attach=_attach, progress=progress_bar("working shifts")
        )
    folder.write_files(room.diary.lines(), month.cycles_table(room))
    folder.write_environment(
        clock=going_on.clock_begins(room), made_at=datetime.now(UTC)
    )
    with working_on(folder.database):
        demo_ending.check(ledger_id)
        demo_ending.write_out(folder, ledger_id)
        days = month.shown_days()
        return list(demo_ending.told(folder, ledger_id, seed=seed, days=days))


def _attach(ledger_id: int, name: str, content: bytes) -> None:
    attachments.put(ledger_id, content, name=name, media="text/plain")
