"""Tell how a kind of statement is said: fields, bounds, help, and its cautions.

    python manage.py explain [KIND] [--example [all]] [--json]

Without a kind, every kind is listed. An example is one line as `record` reads it, with
values made up: the fields a statement must have, or all of them.
"""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import json_text, refusals_told
from goldroom.reports.example import OPAQUE, example_of, left_out_of
from goldroom.reports.kinds_told import kind_told, kinds_by_name, text_of


class Command(BaseCommand):
    """Prints a kind's description."""

    help = "Tell how a kind of statement is said: its fields, and the usual cautions."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "kind", nargs="?", default="", help="such as hopper.weighed"
        )
        parser.add_argument(
            "--example",
            nargs="?",
            const="short",
            choices=("short", "all"),
            help="print a line with values made up; all: with every field",
        )
        parser.add_argument("--json", action="store_true", help="for a machine")

    def handle(self, **options: Any) -> None:
        """Print the kind asked for, or the list of all."""
        with refusals_told():
            if not options["kind"]:
                self._list(as_json=options["json"])
                return
            if options["example"]:
                self._example(options["kind"], whole=options["example"] == "all")
                return
            told = kind_told(options["kind"])
            self.stdout.write(
                json_text(told.to_json()) if options["json"] else text_of(told)
            )

    def _example(self, name: str, *, whole: bool) -> None:
        line = example_of(name, whole=whole)
        self.stdout.write(json.dumps(line, ensure_ascii=False))
        if OPAQUE in line["data"].values():
            self.stderr.write(
                "Nobody types what stands as made by the program: make_key and"
                " policy_line print it, and record fills in what it needs to open a"
                " ledger."
            )
        left_out = () if whole else left_out_of(name)
        if left_out:
            self.stderr.write(
                f"Left out here, as they may be: {', '.join(left_out)}."
                " --example all writes them too."
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
