"""A leach sheet: its account is the leach report's, its acts are the entries'."""

from decimal import Decimal

from goldroom.reports.entry import entries_told
from goldroom.reports.leach import leach_report
from goldroom.reports.leach_sheet import leach_sheet

from .test_leach import leached


def test_volumes_doses_and_samples_are_as_signed(fresh_db):
    ledger_id = leached("residue results")
    report = leach_sheet(ledger_id, "LB-1")
    assert report.account == leach_report(ledger_id, "LB-1")
    entries = entries_told(ledger_id, report.seqs).values()
    volumes = [
        Decimal(each.data["solution"]["volume_l"])
        for each in entries
        if each.kind in ("leach.drained", "leach.washed")
    ]
    assert [each.volume_l for each in report.drains] == volumes == [Decimal(20)]
    issued = sum(mass for each in report.doses for _, mass in each.reagents)
    assert issued == sum(each.mass_kg for each in report.account.reagents)
    (drain,) = report.drains
    assert (drain.gold_mg_l, drain.silver_mg_l) == (Decimal(340), Decimal(45))
    (sample,) = report.samples
    assert (sample.item, sample.volume_ml) == ("SS-1", Decimal(25))
    assert (sample.gold_mg_l, sample.silver_mg_l) == (Decimal(320), Decimal(40))
    assert [each.item for each in report.residues] == ["RES-1"]


def test_a_sample_without_its_result_has_no_figure(fresh_db):
    ledger_id = leached("dosed")
    (sample,) = leach_sheet(ledger_id, "LB-1").samples
    assert (sample.gold_mg_l, sample.silver_mg_l, sample.standing) == (None, None, "")
    assert leach_sheet(ledger_id, "LB-1").drains == ()
