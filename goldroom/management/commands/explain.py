"""Tell how a kind of statement is said: fields, bounds, help, and its cautions.

    python manage.py explain [KIND] [--json]

Without a kind, every kind is listed.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.kinds_told import kind_told, kinds_by_name, text_of


class Command(BaseCommand):
    """Prints a kind's description."""

    help = "Tell how a kind of statement is said: its fields, and the usual cautions."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "kind", nargs="?", default="", help="such as hopper.weighed"
        )
        parser.add_argument("--json", action="store_true", help="for a machine")

    def handle(self, **options: Any) -> None:
        """Print the kind asked for, or the list of all."""
        with refusals_told():
            if not options["kind"]:
                self._list(as_json=options["json"])
                return
            told = kind_told(options["kind"])
            self.stdout.write(
                json_text(told.to_json()) if options["json"] else text_of(told)
            )

    def _list(self, *, as_json: bool) -> None:
        named = kinds_by_name()
        if as_json:
            self.stdout.write(json_text(dict(named)))
            return
        width = max(len(name) for name, _ in named)
        self.stdout.write(
            "\n".join(f"{name.ljust(width)}  {says}" for name, says in named)
        )
