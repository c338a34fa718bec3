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
from goldroom.reports.standing import looking_back, reported_checks
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
