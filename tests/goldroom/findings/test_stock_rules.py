"""Rules about stock: over what is insured, left out of a count, unsigned for long."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.stock import StockCount
from goldroom.findings.signing import WaitingStatement, second_signatures_late
from goldroom.findings.stock import (
    HeldBar,
    PlacedItem,
    not_in_last_count,
    stock_over_insured,
)
from tests.goldroom.findings.things import bar, threshold

INSURED = threshold("stock_insured_g", "1000", "g")
HALF_AN_HOUR = threshold("second_signature_late_min", "30", "min")


def held(name: str, gold: str | None, day: str = "01", **more: Any) -> HeldBar:
    """Return a bar held since a day of October, with its fine gold."""
    since = f"2026-10-{day}T09:00:00Z"
    gold_g = None if gold is None else Decimal(gold)
    return HeldBar(bar=bar(name, held_from=since, **more), gold_g=gold_g)


@pytest.mark.parametrize(
    ("golds", "is_found"),
    [
        pytest.param(["600", "400"], False, id="just what is insured"),
        pytest.param(["600", "400.001"], True, id="a milligram more"),
        pytest.param(["600", None], False, id="one of unknown gold"),
        pytest.param([], False, id="nothing held"),
    ],
)
@pytest.mark.source("common practice, no source")
def test_more_gold_on_site_than_is_insured_is_noticed(golds, is_found):
    bars = [held(f"B-{n}", gold) for n, gold in enumerate(golds)]
    assert bool(stock_over_insured(bars, at_most=INSURED)) == is_found


def test_the_bar_that_went_over_is_named_and_what_nobody_knows_is_said():
    bars = [
        held("B-3", "500", day="09"),
        held("B-1", "600"),
        held("B-2", "600", day="05"),
        held("B-4", None, day="06"),
    ]
    (found,) = stock_over_insured(bars, at_most=INSURED)
    assert (found.code, found.level, found.item) == (
        "stock_over_insured", "notice", "B-2",
    )  # fmt: skip
    assert found.at == "2026-10-05T09:00:00Z"
    assert found.found == (
        "1700 g of fine gold in 4 bars, and B-4 (1 bar) of unknown gold"
    )
    assert found.expected == "at most 1000 g (limit stock_insured_g)"


def test_bars_on_their_way_are_not_on_site():
    bars = [held("B-1", "600"), held("B-2", "600", status="in_transit")]
    assert stock_over_insured(bars, at_most=INSURED) == []


# --- counts of places ------------------------------------------------------


def count(place: str = "vault", at: str = "2026-10-20T08:00:00Z", **more: Any):
    """Return a count of a place."""
    plain: dict[str, Any] = {
        "count": f"count-{at}", "place": place, "vessel": "", "found": (),
        "missing": (), "unknown": (), "at": at, "entry": f"count-{at}",
        "known_at": at,
    }  # fmt: skip
    return StockCount(**{**plain, **more})


def placed(name: str, seen_at: str = "2026-10-02T09:00:00Z", **more: Any) -> PlacedItem:
    """Return a bar in the vault, last seen on the second of October."""
    return PlacedItem(item=bar(name, **more), seen_at=seen_at)


@pytest.mark.parametrize(
    ("counts", "items", "left_out"),
    [
        pytest.param([count()], [placed("B-1")], ["B-1"], id="nobody named it"),
        pytest.param([count(found=("B-1",))], [placed("B-1")], [], id="found"),
        pytest.param(
            [count(missing=("B-1",))], [placed("B-1")], [], id="told as missing already"
        ),
        pytest.param([count("gold_room")], [placed("B-1")], [], id="another place"),
        pytest.param(
            [count("", vessel="S1")], [placed("B-1")], [], id="a count of a vessel"
        ),
        pytest.param(
            [count()], [placed("B-1", status="in_transit")], [], id="on its way"
        ),
        pytest.param(
            [count()], [placed("F-1", sort="flush")], [], id="a flush in a hopper"
        ),
        pytest.param(
            [count()], [placed("B-1", "2026-10-20T08:00:00Z")], [],
            id="moved as it was counted",
        ),
        pytest.param(
            [count()], [placed("B-1", held_from="2026-10-21T08:00:00Z")], [],
            id="made since",
        ),
        pytest.param(
            [count(), count(at="2026-10-25T08:00:00Z", found=("B-1",))],
            [placed("B-1")], [], id="found by the last count",
        ),
        pytest.param(
            [count(at="2026-10-25T08:00:00Z"), count(found=("B-1",))],
            [placed("B-1")], ["B-1"], id="found by an earlier count only",
        ),
    ],
)  # fmt: skip
@pytest.mark.source("common practice, no source")
def test_what_the_book_has_in_a_counted_place_and_nobody_named(counts, items, left_out):
    assert [each.item for each in not_in_last_count(counts, items)] == left_out


def test_one_count_gives_one_finding():
    (found,) = not_in_last_count([count()], [placed("B-2"), placed("B-1")])
    assert (found.code, found.level, found.item) == ("not_in_count", "exception", "B-1")
    assert found.found == "B-1 to 2 (2 items) in vault by the book, named by nobody"
    assert found.at == "2026-10-20T08:00:00Z"


# --- signatures ------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "is_found"),
    [("2026-10-20T08:30:00", False), ("2026-10-20T08:30:01", True)],
)
@pytest.mark.source("common practice, no source")
def test_a_statement_that_waits_for_half_an_hour_is_noticed(now, is_found):
    waiting = WaitingStatement(
        entry="e-1", kind="slag.weighed", since="2026-10-20T08:00:00Z"
    )
    found = second_signatures_late(
        [waiting],
        within=HALF_AN_HOUR,
        now=datetime.fromisoformat(now).replace(tzinfo=UTC),
    )
    assert bool(found) == is_found
    for each in found:
        assert (each.code, each.level, each.item) == (
            "second_signature_late", "notice", "e-1",
        )  # fmt: skip
        assert each.expected == "signed by all within 30 min" + (
            " (limit second_signature_late_min)"
        )
        assert each.at == "2026-10-20T08:30:00Z"
