"""Print the line of a policy.set that gives rules to the kinds that have none.

    python manage.py policy_line --signer PERSON:ROLE --signer PERSON:ROLE
                                 [--at TIME] [--ledger SLUG] > policy.jsonl
    python manage.py record policy.jsonl --keys FOLDER

A ledger that an earlier version opened has no rule for kinds that came later, so
nobody can say them (`kind_without_rule`). The line holds the present rules unchanged,
and for each such kind the group that a new ledger would give it. Read it before it
is signed: from the entry on, it decides who signs what.
"""

import json
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from goldroom.management.policy_text import completed_rules, kinds_without_rule
from goldroom.management.reporting import moment, refusals_told
from ledger.management.options import add_ledger, chosen_ledger


class Command(BaseCommand):
    """Prints one line for `record`."""

    help = "Print the policy.set line that gives rules to kinds that have none yet."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare who will sign, and when."""
        parser.add_argument(
            "--signer",
            action="append",
            required=True,
            metavar="PERSON:ROLE",
            help="who will sign and in which role; give it once for each signer",
        )
        parser.add_argument("--at", metavar="TIME", help="when; now, if left out")
        add_ledger(parser)

    def handle(self, **options: Any) -> None:
        """Print the line; say on the error stream which kinds get a rule."""
        with refusals_told():
            ledger_id = chosen_ledger(options["ledger"]).pk
            without = kinds_without_rule(ledger_id)
            if not without:
                self.stderr.write("Every kind has its rule: there is nothing to set.")
                return
            line = {
                "kind": "policy.set",
                "occurred_at": _time(options["at"]),
                "data": completed_rules(ledger_id),
                "signers": [_signer(each) for each in options["signer"]],
            }
            self.stderr.write(f"Rules are added for: {', '.join(without)}.")
            self.stdout.write(json.dumps(line, ensure_ascii=False))


def _time(text: str | None) -> str:
    found = datetime.now(UTC) if text is None else moment(text, "--at")
    return found.replace(microsecond=0).isoformat()


def _signer(text: str) -> dict[str, str]:
    person, colon, role = text.partition(":")
    if not (person and colon and role):
        raise CommandError(
            f"--signer: found {text!r}, expected a person and the role they sign in,"
            " such as p-one:security."
        )
    return {"person": person, "role": role}
