"""The leach sheet on paper, read back."""

from goldroom.custody.leach import LeachBatch
from goldroom.papers.leach_sheet import leach_paper
from goldroom.reports import rows
from goldroom.reports.leach_sheet import leach_sheet

from .sheets_read import check_paper


def test_solutions_and_cautions_are_on_the_paper(told, tmp_path):
    for batch in rows.every(told, LeachBatch):
        report = leach_sheet(told, batch.batch)
        wanted = [each.item for each in (*report.drains, *report.residues)]
        wanted += ["hydrogen cyanide", "Acid where cyanide was"]
        check_paper(leach_paper, report, told, tmp_path, wanted=wanted)
