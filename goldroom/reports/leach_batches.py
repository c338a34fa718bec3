"""Every leach batch with its account, the newest first."""

from goldroom.custody.leach import LeachBatch, LeachReading, LeachReagent
from goldroom.reports import rows
from goldroom.reports.leach import LeachReport, leach_report


def leach_batches(ledger_id: int) -> tuple[LeachReport, ...]:
    """Return the accounts of all batches, by when each last changed."""
    with rows.read_together(ledger_id, LeachBatch, LeachReading, LeachReagent):
        found = sorted(rows.every(ledger_id, LeachBatch), key=lambda each: each.at)
        return tuple(leach_report(ledger_id, each.batch) for each in reversed(found))
