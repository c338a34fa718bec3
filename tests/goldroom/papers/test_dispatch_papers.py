"""Packing list and dispatch note, read back; an unsent shipment's is marked."""

from dataclasses import replace

import pytest

from goldroom.custody.records import Shipment
from goldroom.papers.dispatch_note import dispatch_note
from goldroom.papers.packing_list import packing_list
from goldroom.reports import rows
from goldroom.reports.shipment import shipment_report

from .sheets_read import check_paper

NAMED = "FOR NAMED READERS ONLY"


@pytest.mark.reads_back
@pytest.mark.parametrize("paper", [packing_list, dispatch_note])
def test_bars_seals_and_cautions_are_on_the_paper(paper, told, tmp_path):
    shipment = rows.every(told, Shipment)[0]
    report = shipment_report(told, shipment.shipment)
    wanted = [each.stamped for each in report.bars]
    wanted += [seal.seal for box in report.boxes for seal in box.seals]
    wanted += ["Metal is never worth a life", "Two people or a lifting aid"]
    text = check_paper(paper, report, told, tmp_path, wanted=wanted)
    assert (NAMED in text) != report.is_dispatched
    unsent = replace(report, status="advised")
    assert NAMED in check_paper(paper, unsent, told, tmp_path, wanted=[])
