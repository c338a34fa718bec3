"""The limits in force: as set by an entry, else the default that each comes with."""

from collections.abc import Mapping

from goldroom.custody.records import Limit
from goldroom.findings.found import Threshold
from goldroom.reports import rows
from goldroom.statements.limits import LIMITS


def thresholds(ledger_id: int) -> Mapping[str, Threshold]:
    """Return every limit in force, by name."""
    set_here = {each.name: each.value for each in rows.every(ledger_id, Limit)}
    return {
        name: Threshold(
            name=name, value=set_here.get(name, each.default), unit=each.unit
        )
        for name, each in LIMITS.items()
    }
