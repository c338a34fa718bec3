"""The leach sheet on paper, read back."""

from dataclasses import replace

import pytest

from goldroom.papers.leach_sheet import leach_paper
from goldroom.reports.entry import entries_told, mark
from goldroom.reports.leach_sheet import leach_sheet
from tests.goldroom.reports.test_leach import leached

from .sheets_read import check_paper, read_by_pypdf


@pytest.mark.reads_back
def test_solutions_samples_and_cautions_are_on_the_paper(fresh_db, tmp_path):
    ledger_id = leached("residue results")
    report = leach_sheet(ledger_id, "LB-1")
    wanted = [
        "hydrogen cyanide",
        "Acid where cyanide was",
        "SS-1 25 Amara Venn 320 final 40",
        "SOL-1",
        "20 (tank table)",
        "drain 340 final 45",
        "RES-1",
        "0.3 kg",
    ]
    check_paper(leach_paper, report, ledger_id, tmp_path, wanted=wanted)
    told = tuple(entries_told(ledger_id, report.seqs).values())
    none = replace(report, samples=())
    text = read_by_pypdf(leach_paper(none, mark(ledger_id), told))
    assert "No sample of the running solution was taken." in text
