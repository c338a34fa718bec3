"""Checking the whole record from a page, and what the last check found.

A check reads every entry, signature, table and trigger; its report is kept beside the
record, never in it. A check on the machine itself proves nothing against whoever
controls it: the pages say so.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from goldroom.faces.clock import now
from goldroom.faces.models import LastCheck
from goldroom.faces.reader import Reader
from ledger.audit import Audit, audit
from ledger.core.report import (
    COULD_NOT_CHECK,
    NEVER_PROVED,
    TAMPERED,
    VERIFIED,
    Finding,
    told,
)


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """A check's outcome: up to which entry the record holds, or where it first breaks.

    `checked_at` is UTC text; `findings` and `not_checked` are sentences, `unpinned`
    says what could have been taken off unseen. `first_break` is "" where all holds.
    """

    checked_at: str
    size: int
    holds: bool
    is_broken: bool
    first_break: str
    findings: tuple[str, ...]
    not_checked: tuple[str, ...]
    unpinned: tuple[str, ...]

    @property
    def last_entry(self) -> int:
        """Return the number of the last entry that was checked."""
        return self.size - 1


def check_whole_record(reader: Reader) -> Verdict:
    """Check the reader's ledger and its database; keep and return the verdict.

    Raises CouldNotCheck.
    """
    found = audit(reader.slug)
    report = _report(found)
    size = max((each.report.size for each in found.ledgers), default=0)
    kept, _made = LastCheck.objects.update_or_create(
        ledger_id=reader.ledger_id,
        defaults={
            "checked_at": now(reader.ledger_id),
            "size": size,
            "exit_code": found.exit_code,
            "report": json.dumps(report),
        },
    )
    return _verdict(kept)


def last_verdict(reader: Reader) -> Verdict | None:
    """Return what the last check found; None if nobody has checked from here yet."""
    kept = LastCheck.objects.filter(ledger_id=reader.ledger_id).first()
    return None if kept is None else _verdict(kept)


def never_proved() -> tuple[str, ...]:
    """Return what no check of the record can show, in plain words."""
    return NEVER_PROVED


def _report(found: Audit) -> dict[str, Any]:
    """Return an audit as it is kept: sentences by sort."""
    findings = [*found.findings, *(f for each in found.ledgers for f in each.findings)]
    ledgers = found.ledgers
    return {
        "first_break": _first(findings),
        "findings": told(findings),
        "not_checked": [said for each in ledgers for said in each.could_not_check],
        "unpinned": [said for each in ledgers for said in each.report.unpinned()],
    }


def _first(findings: Iterable[Finding]) -> str:
    """Return the finding at the earliest entry; those of no entry come last."""
    known = list(findings)
    placed = [(each.seq, n) for n, each in enumerate(known) if each.seq is not None]
    if placed:
        return known[min(placed)[1]].sentence()
    return known[0].sentence() if known else ""


def _verdict(kept: LastCheck) -> Verdict:
    assert kept.exit_code in (VERIFIED, COULD_NOT_CHECK, TAMPERED)
    report = json.loads(kept.report)
    return Verdict(
        checked_at=kept.checked_at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        size=kept.size,
        holds=kept.exit_code == VERIFIED,
        is_broken=kept.exit_code == TAMPERED,
        first_break=report["first_break"],
        findings=tuple(report["findings"]),
        not_checked=tuple(report["not_checked"]),
        unpinned=tuple(report["unpinned"]),
    )
