"""The smelt sheet on paper, read back."""

from dataclasses import replace

import pytest

from goldroom.custody.records import Item
from goldroom.papers.smelt_sheet import smelt_paper
from goldroom.reports import rows
from goldroom.reports.metal import NOT_KNOWN
from goldroom.reports.smelt_sheet import smelt_sheet

from .sheets_read import check_paper, draw, read_by_pypdf


@pytest.mark.reads_back
def test_sources_bars_and_cautions_are_on_the_paper(told, tmp_path):
    charge = next(e for e in rows.every(told, Item) if e.sort == "charge")
    report = smelt_sheet(told, charge.item)
    wanted = [each.item for each in (*report.sources, *report.bars)]
    wanted += ["steam explosion", "dry and preheated"]
    check_paper(smelt_paper, report, told, tmp_path, wanted=wanted)


def test_gold_in_and_out_and_what_they_lack_are_told(told):
    report = smelt_sheet(told, "CH-1")
    text = read_by_pypdf(draw(smelt_paper, report, told)[0])
    assert f"in with the sources {report.gold_in};" in text
    assert f"Resting on figures still to come: {', '.join(report.provisional)}." in text
    lacking = replace(report, gold_out=NOT_KNOWN, no_gold_known=("SLG-1",))
    text = read_by_pypdf(draw(smelt_paper, lacking, told)[0])
    assert "slag, skull and samples not known. Nothing tells the gold of SLG-1." in text
