"""Shipments as a reader may see them: what has not left yet only by role.

To others a shipment that was only announced is not there at all: neither in the list
nor by its id. Who signed the announcement knows of it.
"""

from goldroom.errors import UnknownShipment
from goldroom.faces.reader import Reader
from goldroom.reports.shipment import ShipmentReport, shipment_report
from goldroom.reports.shipment_list import ShipmentLine, shipment_lines


def shipments(reader: Reader) -> tuple[ShipmentLine, ...]:
    """Return the shipments that the reader may know of, the newest first."""
    return tuple(
        each
        for each in shipment_lines(reader.ledger_id)
        if each.has_left
        or reader.may_read("shipments")
        or reader.person in each.advised_by
    )


def shipment(reader: Reader, shipment_id: str) -> ShipmentReport:
    """Return a shipment whole. Raises UnknownShipment."""
    if shipment_id not in {each.shipment for each in shipments(reader)}:
        raise UnknownShipment(
            f"shipment: you can read of no shipment {shipment_id[:60]!r}. Check its id"
            " in the list of shipments."
        )
    return shipment_report(reader.ledger_id, shipment_id)
