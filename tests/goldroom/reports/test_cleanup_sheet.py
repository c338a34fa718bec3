"""A cleanup sheet as a report: its flushes, and the load that they went into."""

import pytest

from goldroom.errors import WrongSort
from goldroom.models import JournalLine
from goldroom.reports.cleanup_sheet import cleanup_sheet
from goldroom.reports.entry import entry_told


def seqs_of(ledger_id, kind):
    found = JournalLine.objects.filter(ledger_id=ledger_id, kind=kind)
    return list(found.order_by("seq").values_list("seq", flat=True))


def test_every_flush_of_the_ranges_signed_is_listed_once(told):
    for seq in seqs_of(told, "cleanup.recorded"):
        report = cleanup_sheet(told, seq)
        ranges = entry_told(told, seq).data["flushes"]
        numbers = [
            (row["unit"], n)
            for row in ranges
            for n in range(row["first"], row["last"] + 1)
        ]
        assert [(each.unit, each.number) for each in report.flushes] == numbers
        assert sum(each.flushes for each in report.spans) == len(numbers)
        assert report.feed_t == sum(each.feed_t or 0 for each in report.flushes)
        assert seq in report.seqs


def test_another_kind_of_entry_is_refused(told):
    with pytest.raises(WrongSort, match="not a cleanup sheet"):
        cleanup_sheet(told, seqs_of(told, "hopper.weighed")[0])
