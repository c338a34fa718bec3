"""A smelt sheet: what was charged and what came out, as the records have it."""

import pytest

from goldroom.custody.records import Item
from goldroom.errors import UnknownItem, WrongSort
from goldroom.reports import rows
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
