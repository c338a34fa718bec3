"""What the rules that look back read of a whole ledger."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.custody.dealings import Outturn
from goldroom.custody.records import Item, Mass
from goldroom.models import Row
from goldroom.reports import rows
from goldroom.reports.both_sides import melts_of_both
from goldroom.reports.limits import thresholds
from goldroom.reports.standing import (
    compositions,
    looking_back,
    reported_checks,
    slag_shares,
)
from goldroom.statements.fold import text_of

NOW = datetime(2026, 10, 20, tzinfo=UTC)
QUERIES = 40
"""Enough for every rule's few, and none for each thing on record."""


def found(ledger_id):
    limits = thresholds(ledger_id)
    return looking_back(ledger_id, limits=limits, now=NOW)


def rewrite(ledger_id, record):
    """Write a record over its row, as a later entry would."""
    Row.objects.filter(ledger_id=ledger_id, record=record.table, key=record.key).update(
        value=text_of(record)
    )


def test_small_story_has_no_family_yet_and_is_quiet(told):
    assert found(told) == []
    assert reported_checks(told) == [], "no period is closed"


def test_few_queries_whatever_is_on_record(told):
    with CaptureQueriesContext(connection) as asked:
        found(told)
    assert len(asked) <= QUERIES


def test_load_whose_flushes_are_gone_from_the_record_is_found(told):
    load = next(
        each for each in rows.every(told, Item) if each.sort == "load" and each.parents
    )
    rewrite(told, replace(load, parents=()))
    assert [(each.code, each.item) for each in found(told)] == [
        ("rise_without_flush", load.item)
    ]


def test_melt_is_told_as_both_sides_have_it(told):
    outturns = {each.melt: each for each in rows.every(told, Outturn)}
    for each in melts_of_both(told):
        bars = outturns[each.melt].items
        masses = [mass for mass in rows.every(told, Mass) if mass.item in bars]
        newest = {mass.item: mass.net_g for mass in masses}
        assert each.mine_g == sum(newest.values(), Decimal(0))
        assert each.refinery_g == outturns[each.melt].as_received_g
    assert len(melts_of_both(told)) == len(outturns) > 0


def weigh_slag(ledger_id):
    """Write that the story's slag weighed just half of its charge's dry mass."""
    charged = next(each for each in rows.every(ledger_id, Mass) if each.item == "CON-1")
    slag = replace(
        charged, item="SLG-1", version=1, wanted_for="slag", dry_g=charged.dry_g / 2
    )
    Row.objects.create(
        ledger_id=ledger_id, record=slag.table, key=slag.key, status="", place="",
        at=slag.at, seq=0, value=text_of(slag),
    )  # fmt: skip


def test_slag_is_held_against_its_charge(told):
    assert slag_shares(told) == [], "nobody weighed it"
    weigh_slag(told)
    assert [(each.item, each.value) for each in slag_shares(told)] == [
        ("SLG-1", Decimal("0.5"))
    ]


def test_slag_of_bars_melted_again_is_of_another_family(told):
    weigh_slag(told)
    charge = rows.one(told, Item, "CH-1")
    rewrite(told, replace(charge, parents=(*charge.parents, "BAR-1")))
    assert slag_shares(told) == []


def test_bullion_is_told_by_pour(told):
    (pour,) = compositions(told)
    assert pour.item == "CH-1"
    assert pour.gold_permille > 700
    assert pour.gold_permille + pour.silver_permille + pour.base_permille == 1000
