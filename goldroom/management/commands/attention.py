"""List what wants attention, the newest first.

    python manage.py attention [--level exception|notice] [--since DATE] [--open]
                               [--ledger SLUG] [--json]

Both what single entries show (a seal that is not the one fitted) and what only time
or several entries show (a shipment not received). Each comes with the latest review,
or with the values by which a `finding.reviewed` names it.
"""

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import day, json_text, refusals_told
from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.attention import Concern, attention
from goldroom.reports.journal import Line, lines_of
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints findings."""

    help = "List what wants attention: exceptions and notices, the newest first."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument("--level", default="", choices=("exception", "notice"))
        parser.add_argument(
            "--since", metavar="DATE", help="only what arose on this day or later"
        )
        parser.add_argument(
            "--open",
            action="store_true",
            help="leave out what a review explained or saw to",
        )
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print what wants attention, as it stands now."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            since = options["since"]
            found = attention(
                ledger_id,
                now=datetime.now(UTC),
                level=options["level"],
                only_open=options["open"],
                since=""
                if since is None
                else site_clock(ledger_id).start_of(day(since, "--since")),
            )
            if options["json"]:
                self.stdout.write(json_text(as_plain(found)))
            else:
                self.stdout.write("\n".join(_told(ledger_id, found)))


def _told(ledger_id: int, found: Sequence[Concern]) -> Iterator[str]:
    clock, known = site_clock(ledger_id), names(ledger_id)
    read = aloud(ledger_id, (_texts(each) for each in found))
    reviews = {each.review.entry for each in found if each.review is not None}
    lines = lines_of(ledger_id, reviews | {each.entry for each in found if each.entry})
    if not found:
        yield "Nothing wants attention."
    for each in found:
        yield (
            f"{clock.wall_text(each.at)}  {each.level}, {each.code}:"
            f" {read.words(each.message)}"
            f"{_where(lines.get(each.entry))}"
        )
        yield f"    {_what(each, read)}"
        if each.review is None:
            yield f"    not reviewed: {_to_review(each)}"
        else:
            yield (
                f"    reviewed {clock.wall_text(each.review.at)} by"
                f" {known.people(each.review.people)},"
                f" {each.review.outcome.replace('_', ' ')}:"
                f" {each.review.words}{_where(lines.get(each.review.entry))}"
            )


def _texts(each: Concern) -> str:
    return " ".join((each.message, each.found, each.expected))


def _what(each: Concern, read: Aloud) -> str:
    found, expected = read.words(each.found), read.words(each.expected)
    return f"found {found}; expected {expected}"


def _to_review(each: Concern) -> str:
    """Return the values by which a review names the finding."""
    if each.entry:
        number = int(each.finding.rpartition("/")[2])
        return json.dumps({"entry": each.entry, "number": number})
    return json.dumps({"code": each.code, "item": each.item}, ensure_ascii=False)


def _where(line: Line | None) -> str:
    return "" if line is None else f" (entry {line.seq})"
