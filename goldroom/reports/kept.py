"""What was worked out of the records, kept while their rows stay the same.

Every call reads the rows from the database. Only if they are, to the last letter, the
rows of an earlier call, what was worked out then is handed out again: the figures of
a report follow from the rows, the period and the as-known time, and from nothing
else. So an entry taken down meanwhile (here or by another process), a rebuild and a
row changed past the program all show at once, and there is nothing to throw away in
time. The verification reads entries and tables itself and never comes here.

What is handed out is shared by all who ask: nobody may change it.
"""

from functools import cached_property, lru_cache

from goldroom.reconcile.ledger_records import READ, LedgerRecords
from goldroom.reconcile.period import PeriodReport, reconcile
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.production_days import Period
from goldroom.reports import rows

LEDGERS_KEPT = 2
"""How many sets of rows a process keeps: the ledger as it stands, and one more."""

PERIODS_KEPT = 6
"""How many periods of each are kept drawn."""


class WorkedOut:
    """The records that a reconciliation reads, with what they come to, once each."""

    def __init__(self, records: LedgerRecords) -> None:
        """Start with nothing worked out yet."""
        self.records = records
        self.reconciled = lru_cache(maxsize=PERIODS_KEPT)(self._reconciled)

    @cached_property
    def quantities(self) -> Quantities:
        """Return the contents of every item, as known now."""
        return Quantities(self.records)

    def _reconciled(self, period: Period) -> PeriodReport:
        return reconcile(self.records, period)


def worked_out(ledger_id: int) -> WorkedOut:
    """Return the ledger's records and what they come to, in one query."""
    return _worked_out(tuple(rows.stored(ledger_id, *READ)))


@lru_cache(maxsize=LEDGERS_KEPT)
def _worked_out(stored: tuple[rows.Stored, ...]) -> WorkedOut:
    return WorkedOut(LedgerRecords.from_records(rows.records_of(stored)))
