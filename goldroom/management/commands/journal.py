"""Read entries aloud, the newest first, each with the id by which it is corrected.

    python manage.py journal [--item ID | --seal ID | --vessel ID | ...]
                             [--kind KIND] [--person ID] [--from DATE] [--to DATE]
                             [--most N] [--before NUMBER] [--ledger SLUG] [--json]

Days are production days, the last one included.
"""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from goldroom.management.reporting import day, json_text, refusals_told
from goldroom.reports.aloud import aloud
from goldroom.reports.journal import JournalPage, Wanted, journal
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.plain import as_plain
from ledger.management.options import add_ledger, chosen_ledger

THINGS = ("item", "seal", "vessel", "instrument", "concentrator", "place")
MOST = 20


class Command(BaseCommand):
    """Prints entries in words."""

    help = "Read entries aloud, the newest first, with their ids."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare what may be asked for."""
        things = parser.add_mutually_exclusive_group()
        for name in THINGS:
            things.add_argument(f"--{name}", metavar="ID", help=f"about this {name}")
        parser.add_argument(
            "--kind", default="", help="a kind, or a family with its dot (hopper.)"
        )
        parser.add_argument(
            "--person", default="", metavar="ID", help="signed by them, or naming them"
        )
        parser.add_argument("--from", dest="first_day", metavar="DATE")
        parser.add_argument("--to", dest="last_day", metavar="DATE", help="included")
        parser.add_argument(
            "--most", type=int, default=MOST, help=f"{MOST} if left out"
        )
        parser.add_argument(
            "--before", type=int, metavar="NUMBER", help="only entries older than this"
        )
        parser.add_argument("--json", action="store_true", help="report for a machine")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the entries."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            page = journal(
                ledger_id,
                _wanted(ledger_id, options),
                before=options["before"],
                most=options["most"],
            )
            if options["json"]:
                self.stdout.write(json_text(as_plain(page)))
            else:
                self.stdout.write(
                    "\n".join(_told(ledger_id, page, asked=_asked(options)))
                )


def _wanted(ledger_id: int, options: dict[str, Any]) -> Wanted:
    """Return what is asked for, its days as times of the site."""
    clock = site_clock(ledger_id)
    first, last = options["first_day"], options["last_day"]
    record = next((name for name in THINGS if options[name]), "item")
    return Wanted(
        kind=options["kind"],
        person=options["person"],
        thing=options[record] or "",
        record=record,
        from_at="" if first is None else clock.start_of(day(first, "--from")),
        to_at=""
        if last is None
        else clock.start_of(day(last, "--to") + timedelta(days=1)),
    )


def _asked(options: dict[str, Any]) -> str:
    """Return what the entries were to speak of: "vessel H1"; "" for anything."""
    named = (*THINGS, "person")
    return " and ".join(f"{each} {options[each]}" for each in named if options[each])


def _told(ledger_id: int, page: JournalPage, *, asked: str) -> Iterator[str]:
    clock, known = site_clock(ledger_id), names(ledger_id)
    read = aloud(ledger_id, (line.sentence for line in page.lines))
    if not page.lines:
        of = f" that speaks of {asked}" if asked else ""
        yield f"There is no such entry{of}. Check the ids, the kind and the days."
    for line in page.lines:
        yield (
            f"Entry {line.seq}, {clock.wall_text(line.occurred_at)}, {line.title},"
            f" by {known.people(line.people) or 'the server'}"
        )
        yield f"    {read.sentence(line.sentence)}"
        yield f"    {line.entry_id}"
    if page.before is not None:
        yield f"Older ones: --before {page.before}"
