"""Rules about gold in process and counts as a whole. Common practice, no source."""

from decimal import Decimal

import pytest

from goldroom.findings.in_process import (
    CountTogether,
    InProcess,
    counts_apart_together,
    other_share_high,
)
from tests.goldroom.findings.things import threshold

TEN_PERCENT = threshold("in_process_other_percent", "10", "%")
PPM = threshold("count_together_ppm", "100", "ppm")


def held(item: str, sort: str, gold: str | None) -> InProcess:
    """Return something held in the smelt step."""
    gold_g = None if gold is None else Decimal(gold)
    return InProcess(
        item=item, sort=sort, gold_g=gold_g, held_from="2026-10-01T09:00:00Z"
    )


@pytest.mark.parametrize(
    ("sweepings", "other", "is_found"),
    [
        pytest.param("100", None, False, id="a tenth"),
        pytest.param("101", None, True, id="more"),
        pytest.param("60", "50", True, id="two sorts together"),
        pytest.param(None, None, False, id="nobody knows"),
    ],
)
def test_share_that_nobody_can_trace_is_noticed(sweepings, other, is_found):
    things = [
        held("SW-1", "sweepings", sweepings),
        held("OT-1", "other", other),
        held("CON-1", "concentrate", "900"),
        held("CON-2", "concentrate", None),
    ]
    found = other_share_high(things, at_most=TEN_PERCENT)
    assert bool(found) is is_found
    for each in found:
        assert (each.code, each.level) == ("other_share_high", "notice")
        assert "of gold in process" in each.found
        assert "weigh, assay and smelt them" in each.message


@pytest.mark.source("93 ppm of throughput is told of one large refinery's stock takes")
@pytest.mark.parametrize(
    ("grams", "side"),
    [("2", None), ("2.001", "heavier"), ("-2", None), ("-2.001", "lighter")],
)
def test_differences_of_a_count_add_up_against_the_months_throughput(grams, side):
    count = CountTogether(
        count="e-1",
        at="2026-10-30T09:00:00Z",
        bars=("B-1", "B-2"),
        difference_g=Decimal(grams),
        throughput_g=Decimal(20000),
    )
    found = counts_apart_together([count], within=PPM)
    assert [each.item for each in found] == (["e-1"] if side else [])
    for each in found:
        assert each.found == f"2.001 g {side} than the book over B-1 to 2"
        assert each.level == "exception"
