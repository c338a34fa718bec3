"""A smelt sheet: what was charged and what came out, as the records have it."""

from decimal import Decimal

import pytest

from goldroom.custody.records import Item
from goldroom.errors import UnknownItem, WrongSort
from goldroom.models import Row
from goldroom.reports import rows
from goldroom.reports.kept import worked_out
from goldroom.reports.smelt_sheet import smelt_sheet


def test_sources_and_castings_are_the_charge_s_parents_and_bars(told):
    charges = [each for each in rows.every(told, Item) if each.sort == "charge"]
    assert charges
    for charge in charges:
        if charge.status == "void":
            continue
        report = smelt_sheet(told, charge.item)
        assert tuple(each.item for each in report.sources) == charge.parents
        made = {each.item for each in (*report.bars, *report.slags, *report.samples)}
        assert made <= set(charge.children)
        known = [each.mass_g for each in report.bars if each.mass_g is not None]
        if report.bars and len(known) == len(report.bars):
            assert report.bars_g == sum(known)
        else:
            assert report.bars_g is None


def test_what_is_no_charge_is_refused(told):
    bar = next(each for each in rows.every(told, Item) if each.sort == "bar")
    with pytest.raises(WrongSort, match="expected a charge"):
        smelt_sheet(told, bar.item)
    with pytest.raises(UnknownItem):
        smelt_sheet(told, "never-heard-of")


def test_gold_in_and_out_are_sums_of_what_is_known_of_each(told):
    report = smelt_sheet(told, "CH-1")
    known = worked_out(told).quantities
    into = [known.of(each.item).gold for each in report.sources]
    assert all(into)
    assert Decimal(report.gold_in.grams) == sum(each.posted_g for each in into)
    out = [known.of(each).gold for each in rows.one(told, Item, "CH-1").children]
    assert all(out)
    assert Decimal(report.gold_out.grams) == sum(each.posted_g for each in out)


def test_what_rests_on_a_figure_to_come_is_named(told):
    before = smelt_sheet(told, "CH-1")
    assert "BAR-1" in before.provisional
    assert "CON-1" not in before.provisional
    assert before.no_gold_known == ()
    figures = Row.objects.filter(ledger_id=told)
    figures.filter(record__in=("mass", "assay"), key__startswith="CON-1/").delete()
    report = smelt_sheet(told, "CH-1")
    assert "CON-1" in report.provisional
    assert report.gold_in != before.gold_in
