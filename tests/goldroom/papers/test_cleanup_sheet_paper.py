"""The cleanup sheet on paper, read back."""

from dataclasses import replace

import pytest

from goldroom.models import JournalLine
from goldroom.papers.cleanup_sheet import cleanup_paper
from goldroom.reports.cleanup_sheet import cleanup_sheet

from .sheets_read import check_paper


@pytest.mark.reads_back
def test_every_flush_is_on_the_paper(told, tmp_path):
    found = JournalLine.objects.filter(ledger_id=told, kind="cleanup.recorded")
    report = cleanup_sheet(told, found.order_by("seq").first().seq)
    wanted = [each.flush for each in report.flushes]
    check_paper(cleanup_paper, report, told, tmp_path, wanted=wanted)


@pytest.mark.reads_back
def test_many_flushes_and_a_long_name_run_over_pages(told, tmp_path):
    found = JournalLine.objects.filter(ledger_id=told, kind="cleanup.recorded")
    report = cleanup_sheet(told, found.order_by("seq").first().seq)
    flushes = tuple(
        replace(report.flushes[0], flush=f"U1-1-{n}", number=n) for n in range(40)
    )
    long = replace(report, flushes=flushes, hopper_name="Hopper " * 30)
    text = check_paper(
        cleanup_paper, long, told, tmp_path, wanted=[e.flush for e in flushes]
    )
    assert "page 2 of" in text
