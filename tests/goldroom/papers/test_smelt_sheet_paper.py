"""The smelt sheet on paper, read back."""

from goldroom.custody.records import Item
from goldroom.papers.smelt_sheet import smelt_paper
from goldroom.reports import rows
from goldroom.reports.smelt_sheet import smelt_sheet

from .sheets_read import check_paper


def test_sources_bars_and_cautions_are_on_the_paper(told, tmp_path):
    charge = next(e for e in rows.every(told, Item) if e.sort == "charge")
    report = smelt_sheet(told, charge.item)
    wanted = [each.item for each in (*report.sources, *report.bars)]
    wanted += ["steam explosion", "dry and preheated"]
    check_paper(smelt_paper, report, told, tmp_path, wanted=wanted)
