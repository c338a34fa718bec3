"""Print the line that closes a period, or restates a closed one, for `record`.

    python manage.py close_period --from DATE --to DATE [--period NAME]
                                  --signer PERSON:accountant
                                  --signer PERSON:metallurgist
                                  [--at TIME] [--ledger SLUG] > close.jsonl
    python manage.py close_period --restate NAME --reason WORDS --signer ...
    python manage.py record close.jsonl

The figures are those that `reconcile` shows now. Read them first: whoever signs the
line says that these were reported. Nothing is recorded here.
"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom.management.one_line import add_signing, occurred_at, signer
from goldroom.management.reporting import day, refusals_told
from goldroom.reports.closing import closing, restatement
from goldroom.sayings import Saying, line_of
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints one line for `record`."""

    help = "Print the line that closes a period, or restates one, with its figures."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        parser.add_argument(
            "--from", dest="first_day", metavar="DATE", help="first production day"
        )
        parser.add_argument(
            "--to",
            dest="last_day",
            metavar="DATE",
            help="last production day, included",
        )
        parser.add_argument(
            "--period", metavar="NAME", help="its name; the month's, if left out"
        )
        parser.add_argument(
            "--restate", metavar="NAME", help="a closed period, to report anew"
        )
        parser.add_argument(
            "--reason", metavar="WORDS", help="why it is restated: what became known"
        )
        add_signing(parser)
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the line."""
        at = occurred_at(options["at"])
        signers = tuple(signer(each) for each in options["signer"])
        kind, data = _said(options)
        self.stdout.write(
            line_of(Saying(kind=kind, data=data, occurred_at=at, signers=signers))
        )


def _said(options: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Return the kind and the values that the options ask for."""
    days = (options["first_day"], options["last_day"])
    is_closing = all(days) and not (options["restate"] or options["reason"])
    is_restating = options["restate"] and options["reason"] and not any(days)
    if not (is_closing or is_restating):
        raise CommandError(
            "Give --from and --to to close a period, or --restate and --reason to"
            " report a closed one anew."
        )
    with refusals_told():
        ledger_id = chosen_ledger(options["ledger"]).pk
        if is_restating:
            return "period.restated", restatement(
                ledger_id, period=options["restate"], reason=options["reason"]
            )
        return "period.closed", closing(
            ledger_id,
            first_day=day(days[0], "--from"),
            last_day=day(days[1], "--to"),
            period=options["period"] or "",
        )
