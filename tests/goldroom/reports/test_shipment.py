"""A shipment as a report: every bar in one box, hands and seals as signed."""

import pytest

from goldroom.custody.records import Shipment
from goldroom.errors import UnknownShipment
from goldroom.reports import rows
from goldroom.reports.entry import entries_told
from goldroom.reports.shipment import shipment_report


def test_boxes_hold_the_bars_and_carry_the_seals_that_were_signed(told):
    shipments = rows.every(told, Shipment)
    assert shipments
    for shipment in shipments:
        report = shipment_report(told, shipment.shipment)
        entries = entries_told(told, report.seqs)
        assert report.is_dispatched == bool(report.boxes)
        assert set(shipment.items) <= {each.item for each in report.bars}
        handed = [e for e in entries.values() if e.kind == "dispatch.handed_over"]
        signed = [
            (row["box"], fitted["point"], fitted["seal"])
            for each in handed
            for row in each.data["boxes"]
            for fitted in row["seals_fitted"]
        ]
        assert signed == [
            (box.box, each.point, each.seal)
            for box in report.boxes
            for each in box.seals
        ]


def test_an_unknown_shipment_is_refused(told):
    with pytest.raises(UnknownShipment, match="ever advised"):
        shipment_report(told, "SH-NEVER")
