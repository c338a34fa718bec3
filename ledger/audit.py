"""Everything that this database can be caught at.

For each ledger: its stored rows through the verifier that also judges exported
files (`audit_rows`), and its derived tables (setting LEDGER_PROJECTIONS). For the
database: the fence, the schema, the migrations applied, and rows that belong to no
ledger.

What cannot be read is a finding, not a crash, and what could not be checked is
said. A database cannot pin its own newest entries, so an audit ends unpinned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.conf import settings
from django.db import DatabaseError, OperationalError, connection
from django.utils.module_loading import import_string

from ledger import fence, fenced, stored
from ledger.applied import check_migrations, is_migrated
from ledger.audit_rows import LedgerRow, guarded, report_of
from ledger.core.errors import CouldNotCheck
from ledger.core.report import COULD_NOT_CHECK, TAMPERED, VERIFIED, Finding, Report
from ledger.moment import one_moment

OWNED = ("ledger_entry", "ledger_head", "ledger_attachment")


@dataclass(frozen=True)
class LedgerAudit:
    """One ledger: its row, the verifier's report and what derived tables show."""

    row: LedgerRow
    report: Report
    derived: tuple[Finding, ...] = ()
    not_compared: tuple[str, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything found about this ledger."""
        return self.report.findings + self.derived

    @property
    def could_not_check(self) -> tuple[str, ...]:
        """Everything about this ledger that could not be judged."""
        return self.report.could_not_check + self.not_compared


@dataclass(frozen=True)
class Audit:
    """The outcome for a database; `findings` are those of no single ledger."""

    findings: tuple[Finding, ...]
    ledgers: tuple[LedgerAudit, ...]

    @property
    def exit_code(self) -> int:
        """0 holds, 2 tampering or mismatch, 1 could not check."""
        if self.findings or any(item.findings for item in self.ledgers):
            return TAMPERED
        if any(item.could_not_check for item in self.ledgers):
            return COULD_NOT_CHECK
        return VERIFIED


def audit(slug: str | None = None) -> Audit:
    """Check the ledger of this slug, or all, and the database they are kept in.

    Raises CouldNotCheck if there is nothing here that could be checked.
    """
    try:
        connection.ensure_connection()
    except OperationalError as error:
        raise CouldNotCheck(f"The database cannot be opened: {error}.") from error
    except DatabaseError as error:
        return Audit((_unreadable(str(error)),), ())
    findings: list[Finding] = []
    with one_moment():
        list(
            guarded("the schema", lambda: _database_findings(findings), findings.append)
        )
        with stored.plain_reading():
            rows = list(
                guarded("ledger_ledger", lambda: _rows(findings), findings.append)
            )
            reports = [
                (row, report_of(row)) for row in rows if slug in (None, row.slug)
            ]
    if not reports and not findings:
        raise CouldNotCheck(_nothing_here(slug, [row.slug for row in rows]))
    compared = (_compared(row, report) for row, report in reports)
    return Audit(tuple(findings), tuple(compared))


def _nothing_here(slug: str | None, known: list[str]) -> str:
    """Say that there is nothing to check, and what is here or may have been."""
    if slug is not None and known:
        return f"There is no ledger {slug!r} here; there are: {', '.join(known)}."
    return (
        "There is no ledger in this database. If there was one, it is gone: look for "
        "the newest copy and compare it with the last checkpoint."
    )


def _database_findings(findings: list[Finding]) -> Iterator[None]:
    if not is_migrated(connection):
        raise CouldNotCheck("There are no ledgers here: run migrate first.")
    findings += fence.check(connection)
    yield
    findings += check_migrations()


def _rows(findings: list[Finding]) -> Iterator[LedgerRow]:
    """Yield every ledger's row; note rows of other tables that belong to none.

    Where there are ledgers, derived rows of none are found by their own comparison.
    """
    known = set()
    for ledger_id, origin, slug in stored.rows(
        "SELECT id, origin, slug FROM ledger_ledger ORDER BY id"
    ):
        known.add(ledger_id)
        yield LedgerRow(
            ledger_id,
            stored.text(origin) or stored.shown(origin),
            stored.text(slug) or stored.shown(slug),
        )
    derived = [model._meta.db_table for model in fenced.derived_models()]
    for table in OWNED if known else (*OWNED, *derived):
        sql = f"SELECT ledger_id, count(*) FROM {table} GROUP BY ledger_id"
        for ledger_id, count in stored.rows(sql):
            if ledger_id not in known:
                findings.append(
                    Finding(
                        "store",
                        "orphan_rows",
                        f"{count} rows of {table} belong to no ledger.",
                        expected="ledger " + " or ".join(map(stored.shown, known)),
                        found=stored.shown(ledger_id),
                    )
                )


def _compared(row: LedgerRow, report: Report) -> LedgerAudit:
    """Compare the derived tables of one ledger with its entries."""
    derived: list[Finding] = []
    not_compared: list[str] = []
    for name in settings.LEDGER_PROJECTIONS:
        try:
            compare: Callable[[int], list[Finding]] = import_string(name)
            derived += compare(row.ledger_id)
        except Exception as error:  # whatever it was, the tables were not compared
            not_compared.append(f"{name}: {type(error).__name__}: {error}")
    return LedgerAudit(row, report, tuple(derived), tuple(not_compared))


def _unreadable(text: str) -> Finding:
    return Finding("store", "unreadable", "The database cannot be read.", found=text)
