"""A leach sheet: its account is the leach report's, its acts are the entries'."""

from decimal import Decimal

from goldroom.custody.leach import LeachBatch
from goldroom.reports import rows
from goldroom.reports.entry import entries_told
from goldroom.reports.leach import leach_report
from goldroom.reports.leach_sheet import leach_sheet


def test_volumes_and_doses_are_as_signed(told):
    batches = rows.every(told, LeachBatch)
    for batch in batches:
        report = leach_sheet(told, batch.batch)
        assert report.account == leach_report(told, batch.batch)
        entries = entries_told(told, report.seqs).values()
        volumes = [
            Decimal(each.data["solution"]["volume_l"])
            for each in entries
            if each.kind in ("leach.drained", "leach.washed")
        ]
        assert [each.volume_l for each in report.drains] == volumes
        issued = sum(mass for each in report.doses for _, mass in each.reagents)
        assert issued == sum(each.mass_kg for each in report.account.reagents)
