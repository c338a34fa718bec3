"""Shipments by their state: which have been announced and have not left yet."""

from goldroom.custody.records import Shipment
from goldroom.reports import rows


def undispatched(ledger_id: int) -> tuple[str, ...]:
    """Return the ids of the entries that announced shipments still to leave."""
    return tuple(each.entry for each in rows.every(ledger_id, Shipment, "advised"))
