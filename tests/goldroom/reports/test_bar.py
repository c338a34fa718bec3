"""A bar as a report: masses and assays as signed, fine metal exactly, its number."""

import json
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from stdnum.iso7064 import mod_37_36

from goldroom.custody.number_series import NumberSeries, Series
from goldroom.custody.records import Assay, Item
from goldroom.errors import UnknownItem, WrongSort
from goldroom.models import Row
from goldroom.reports import rows
from goldroom.reports.bar import (
    BROKEN,
    HOLDS,
    NO_CHECK,
    NO_SERIES,
    bar_report,
    bars_on_hand,
)
from goldroom.reports.entry import entries_told
from goldroom.statements.fold import text_of


def stored(ledger_id, record):
    """Write a record past the program."""
    Row.objects.update_or_create(
        ledger_id=ledger_id,
        record=record.table,
        key=record.key,
        defaults={
            "status": getattr(record, "status", ""),
            "place": "",
            "at": record.at,
            "seq": 0,
            "value": text_of(record),
        },
    )


def numbered_in_a_series(ledger_id, label, *, with_check):
    """Set a series of bar numbers from the start, and stamp BAR-1 with a label."""
    stored(
        ledger_id,
        NumberSeries(
            numbers="bar",
            series=(
                Series(
                    prefix="KR-",
                    digits=4,
                    with_check=with_check,
                    from_at="2026-01-01T00:00:00Z",
                ),
            ),
            at="2026-01-01T00:00:00Z",
            entry="set",
        ),
    )
    stored(ledger_id, replace(rows.one(ledger_id, Item, "BAR-1"), label=label))


def test_a_bar_is_found_by_its_id_and_by_its_number(told):
    assert bar_report(told, "BAR-1") == bar_report(told, "KR-0101")
    assert bar_report(told, "BAR-1").stamped == "KR-0101"


def test_masses_are_what_was_signed_in_order_the_last_ships(told):
    report = bar_report(told, "BAR-1")
    entries = entries_told(told, [each.seq for each in report.masses])
    assert report.masses
    for each in report.masses:
        signed = entries[each.seq].data
        first = signed.get("values", signed)["first"]
        assert each.mass_g == Decimal(first["reading"])
        assert first["unit"] == "g"
        assert Decimal(each.u_g) > 0
    assert report.shipping_mass_g == report.masses[-1].mass_g


@pytest.mark.source("exact arithmetic by fractions.Fraction")
def test_fine_metal_is_the_exact_product_by_the_assay_that_is_used(told):
    for bar in ("BAR-1", "BAR-2"):
        report = bar_report(told, bar)
        mass_g, used = Fraction(report.shipping_mass_g), report.used
        assert Fraction(report.fine_gold_g) == mass_g * Fraction(
            used.gold_permille
        ) / Fraction(1000)
        assert Fraction(report.fine_silver_g) == mass_g * Fraction(
            used.silver_permille
        ) / Fraction(1000)


def test_every_result_stands_side_by_side_and_the_refiners_is_not_gone_by(told):
    first = next(e for e in rows.every(told, Assay) if e.item == "BAR-1")
    count = rows.one(told, Item, "BAR-1").assays
    before = bar_report(told, "BAR-1")
    refiners = replace(
        first, version=count + 1, standing="refiner", gold=Decimal("700.1"),
        sample="REF-1", entry="elsewhere", assay_id="elsewhere",
    )  # fmt: skip
    stored(told, refiners)
    stored(told, replace(rows.one(told, Item, "BAR-1"), assays=count + 1))
    report = bar_report(told, "BAR-1")
    assert len(report.assays) == len(before.assays) + 1
    assert report.assays[-1].standing == "the refiner's"
    assert report.assays[-1].gold_permille == Decimal("700.1")
    assert not report.assays[-1].is_used
    assert report.fine_gold_g == before.fine_gold_g


def test_a_result_below_its_limit_gives_no_fine_metal(told):
    newest = [e for e in rows.every(told, Assay) if e.item == "BAR-1"]
    for each in newest:
        stored(told, replace(each, silver=Decimal("0.5"), silver_limit=Decimal(1)))
    report = bar_report(told, "BAR-1")
    assert report.fine_silver_g is None
    assert report.fine_gold_g is not None


@pytest.mark.source("python-stdnum, stdnum.iso7064.mod_37_36, for the character")
def test_a_number_says_whether_it_holds_where_its_series_has_a_check_character(told):
    assert bar_report(told, "BAR-1").number_check == NO_SERIES
    whole = "KR-0101" + mod_37_36.calc_check_digit("KR0101")
    numbered_in_a_series(told, whole, with_check=True)
    assert bar_report(told, "BAR-1").number_check == HOLDS
    wrong = "KR-0107" + whole[-1]
    assert not mod_37_36.is_valid(wrong.replace("-", ""))
    numbered_in_a_series(told, wrong, with_check=True)
    assert bar_report(told, "BAR-1").number_check == BROKEN
    numbered_in_a_series(told, "KR-0101", with_check=False)
    assert bar_report(told, "BAR-1").number_check == NO_CHECK


def test_sources_flushes_and_identity_are_the_trails(told):
    report = bar_report(told, "BAR-1")
    shares = [Fraction(e.gold.percent) for e in report.sources.groups]
    assert abs(sum(shares) - 100) < Fraction(1, 1000)
    assert len(report.flushes) == 12
    assert report.identity.startswith("From the pour on this metal keeps its identity.")


def test_its_entries_are_those_its_figures_rest_on(told):
    report = bar_report(told, "BAR-1")
    kinds = [each.kind for each in report.acts]
    assert "charge.poured" in kinds
    assert "bar.numbered" in kinds
    assert {e.seq for e in (*report.masses, *report.assays)} <= set(report.seqs)
    assert list(report.seqs) == sorted(set(report.seqs))
    assert json.loads(json.dumps(report.to_json()))["stamped"] == "KR-0101"


def test_what_is_no_bar_is_refused(told):
    with pytest.raises(WrongSort, match="LOT-1 is a lot, not a bar"):
        bar_report(told, "LOT-1")
    with pytest.raises(UnknownItem):
        bar_report(told, "BAR-9")


def test_bars_on_hand_are_those_of_the_vaults_balance(told):
    held = {
        each.item
        for each in rows.every(told, Item, "held")
        if each.sort == "bar" and each.step == "vault"
    }
    assert {each.item for each in bars_on_hand(told)} == held
    back = replace(rows.one(told, Item, "BAR-1"), status="held", step="vault")
    stored(told, back)
    assert "BAR-1" in {each.item for each in bars_on_hand(told)}
