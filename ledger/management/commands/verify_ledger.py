"""Verify the ledgers of this database.

    python manage.py verify_ledger [--ledger SLUG] [--json]

Exit code 0: everything holds; 2: evidence of tampering, damage or mismatch; 1: could
not check. A database cannot pin its own newest entries: compare with a checkpoint
kept elsewhere, or verify an exported bundle on another machine.
"""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ledger.audit import Audit, audit
from ledger.core.errors import CouldNotCheck
from ledger.core.report import (
    COULD_NOT_CHECK,
    NEVER_PROVED,
    TAMPERED,
    VERIFIED,
    fit_for,
    one_line,
    told,
)
from ledger.management.options import add_ledger

VERDICTS = {
    VERIFIED: "everything holds; tail not pinned",
    TAMPERED: "evidence of tampering, damage or mismatch",
    COULD_NOT_CHECK: "could not check",
}


MEANINGS = {
    VERIFIED: "Every entry, signature, table and trigger is as it should be. A "
    "database cannot vouch for its own newest entries: compare size and root above "
    "with the last checkpoint kept elsewhere, or verify an exported bundle against it.",
    TAMPERED: "Each line above in [brackets] names a place where something was "
    "changed, removed, added or damaged. Keep a copy of the database as it is now, "
    "record nothing more, and compare it with a copy or checkpoint that somebody else "
    "holds. Where only [projection] lines stand, the entries themselves are whole and "
    "the tables can be made from them anew; first find out who changed them, or "
    "whether the program was upgraded since.",
    COULD_NOT_CHECK: "Nothing here speaks against the ledger, and nothing for it: see "
    "the lines above.",
}


class Command(BaseCommand):
    """Verify the ledgers of this database."""

    help = "Verify the ledgers of this database. Exit code 0, 2 or 1."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the options."""
        add_ledger(parser)
        parser.add_argument("--json", action="store_true", help="report for a machine")

    def handle(self, **options: Any) -> None:
        """Print the report; leave with its exit code."""
        try:
            found = audit(options["ledger"])
        except CouldNotCheck as error:
            raise CommandError(error.message, returncode=COULD_NOT_CHECK) from error
        if options["json"]:
            self.stdout.write(json.dumps(to_json(found), indent=2))
        else:
            self.stdout.write(fit_for(self.stdout, text(found)))
        if found.exit_code != VERIFIED:
            raise SystemExit(found.exit_code)


def to_json(found: Audit) -> dict[str, Any]:
    """Return the audit for a machine."""
    return {
        "exit_code": found.exit_code,
        "findings": [finding.to_json() for finding in found.findings],
        "ledgers": [
            {
                **item.report.to_json(),
                "could_not_check": list(item.could_not_check),
                "findings": [finding.to_json() for finding in item.findings],
                "slug": item.row.slug,
            }
            for item in found.ledgers
        ],
        "tail": "not pinned",
        "verdict": VERDICTS[found.exit_code],
    }


def text(found: Audit) -> str:
    """Return the audit for a person."""
    lines = [f"Database: {finding.sentence()}" for finding in found.findings]
    for item in found.ledgers:
        lines += [
            f"Ledger {one_line(item.row.slug)}: {item.report.size} entries, root "
            f"{item.report.root.hex()}",
            *(f"  {line}" for line in told(item.findings)),
        ]
        if item.report.findings_left_off:
            lines.append(f"  ... and {item.report.findings_left_off} more findings")
        lines += [
            *(f"  [could not check] {one_line(said)}" for said in item.could_not_check),
            *(f"  cannot be proved: {said}" for said in item.report.unpinned()),
        ]
    if not found.ledgers:
        lines.append("There is no ledger here that could be read.")
    code = found.exit_code
    return "\n".join(
        [
            *lines,
            "",
            f"Verdict: {VERDICTS[code]}",
            MEANINGS[code],
            "",
            "What this can never prove:",
            *(f"- {line}" for line in NEVER_PROVED),
        ]
    )
