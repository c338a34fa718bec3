"""Rules about what is unlike the last twelve. Limits are common practice, no source."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from goldroom.findings.unusual import (
    Composition,
    Rise,
    composition_unusual,
    rises_unusual,
    rises_without_flush,
    slag_unusual,
    tails_above_usual,
)
from tests.goldroom.findings.things import points, threshold

TWO_S = threshold("tails_above_usual_s", "2", "s")
THREE_S = threshold("out_of_family_s", "3", "s")
FIVE_PERCENT = threshold("hopper_rise_percent", "5", "%")
ALWAYS = ""
AROUND_100 = [99, 101] * 6
"""Twelve of mean 100; squares of the differences sum to 12, over 11: s = 1.0445."""

S = math.sqrt(12 / 11)


@pytest.mark.source("s = sqrt(12/11) by the definition of the sample variance")
@pytest.mark.parametrize(
    ("last", "is_found"),
    [(100 + 2 * S - 1e-6, False), (100 + 2 * S + 1e-6, True), (90, False)],
)
def test_tails_richer_than_two_s_above_are_found_and_poorer_ones_never(last, is_found):
    found = tails_above_usual(points(*AROUND_100, last), above=TWO_S, since=ALWAYS)
    assert bool(found) is is_found


@pytest.mark.parametrize(
    ("last", "is_found"),
    [
        (100 + 3 * S - 1e-6, False),
        (100 + 3 * S + 1e-6, True),
        (100 - 3 * S + 1e-6, False),
        (100 - 3 * S - 1e-6, True),
    ],
)
def test_slag_of_either_side_is_found_beyond_three_s(last, is_found):
    found = slag_unusual(points(*AROUND_100, last), within=THREE_S, since=ALWAYS)
    assert bool(found) is is_found


def test_words_name_what_was_found_what_was_expected_and_what_to_look_at():
    (found,) = tails_above_usual(points(*AROUND_100, 110), above=TWO_S, since=ALWAYS)
    assert (found.code, found.level, found.item) == (
        "tails_above_usual", "notice", "P-12",
    )  # fmt: skip
    assert found.found == "110 g/t of gold"
    assert found.expected == (
        "100.000 ± 1.044 g/t, mean and s of the last 12, at most 2 s"
        " (limit tails_above_usual_s) above"
    )
    assert "look at the table or the leach" in found.message


def test_what_is_long_ago_is_history_only():
    late = "2026-11-01T00:00:00Z"
    known = points(*AROUND_100, 110)
    assert tails_above_usual(known, above=TWO_S, since=late) == []
    assert slag_unusual(known, within=THREE_S, since=late) == []


def pour(n: int, gold: str, silver: str) -> Composition:
    """Return a pour's composition."""
    return Composition(
        item=f"CH-{n:02d}",
        at=f"2026-{1 + n // 28:02d}-{1 + n % 28:02d}T09:00:00Z",
        gold_permille=Decimal(gold),
        silver_permille=Decimal(silver),
    )


def usual_pours() -> list[Composition]:
    """Return twelve pours of 860 gold, 120 silver, give or take one."""
    return [pour(n, "859" if n % 2 else "861", "120") for n in range(12)]


@pytest.mark.parametrize(
    ("gold", "silver", "named"),
    [
        pytest.param("860", "120", [], id="like the others"),
        pytest.param("800", "180", ["silver to gold"], id="other silver, same base"),
        pytest.param("826", "115.26", ["base metal"], id="base metal put in"),
        pytest.param("750", "150", ["silver to gold", "base metal"], id="both"),
    ],
)
def test_bullion_made_up_otherwise_is_found_once_a_pour(gold, silver, named):
    found = composition_unusual(
        [*usual_pours(), pour(12, gold, silver)], within=THREE_S, since=ALWAYS
    )
    assert len(found) == bool(named)
    for each in found:
        assert each.item == "CH-12"
        said = [name for name in ("silver to gold", "base metal") if name in each.found]
        assert said == named


def rise(n: int, kg: str, flushes: int = 16, hopper: str = "H1") -> Rise:
    """Return a rise of dry solids in a hopper that tells two kilograms apart."""
    return Rise(
        load=f"LD-{n:02d}",
        hopper=hopper,
        flushes=flushes,
        dry_g=1000 * Decimal(kg),
        resolution_g=Decimal(2000),
        at=f"2026-10-{1 + n:02d}T04:00:00Z",
    )


@pytest.mark.parametrize(
    ("kg", "flushes", "code"),
    [
        pytest.param("2", 0, None, id="nothing came, nothing rose"),
        pytest.param("2.001", 0, "rise_without_flush", id="rose without a flush"),
        pytest.param("2.001", 1, None, id="a flush that shows"),
        pytest.param("2", 1, "flush_without_rise", id="a flush that does not show"),
        pytest.param("-9", 3, "flush_without_rise", id="flushes and a fall"),
    ],
)
def test_rise_and_flushes_must_go_together(kg, flushes, code):
    found = rises_without_flush([rise(0, kg, flushes)], since=ALWAYS)
    assert [each.code for each in found] == ([code] if code else [])
    assert all(each.level == "exception" for each in found)


def test_flush_that_raised_nothing_is_said_in_kilograms():
    (found,) = rises_without_flush([rise(0, "1.5", 1)], since=ALWAYS)
    assert found.found == "1.5 kg of dry solids from 1 flush"
    assert found.expected == "a rise beyond 2 kg, which the cells can tell apart"


@pytest.mark.parametrize(
    ("spread", "last", "is_found"),
    [
        pytest.param(("285", "291"), "300", False, id="three s, not 5 %"),
        pytest.param(("285", "291"), "273.5", True, id="beyond both"),
        pytest.param(("285", "291"), "303", True, id="beyond both, above"),
        pytest.param(("260", "316"), "303", False, id="5 %, not three s"),
    ],
)
def test_rise_is_unusual_only_beyond_both_limits(spread, last, is_found):
    known = [rise(n, spread[n % 2]) for n in range(12)]
    found = rises_unusual(
        [*known, rise(12, last)], percent=FIVE_PERCENT, within=THREE_S, since=ALWAYS
    )
    assert bool(found) is is_found


def test_rises_are_compared_by_flush_and_within_their_hopper():
    known = [rise(n, ("285", "291")[n % 2]) for n in range(12)]
    half = replace(rise(12, "144", 8))
    other = rise(12, "100", 16, "H2")
    assert (
        rises_unusual(
            [*known, half, other], percent=FIVE_PERCENT, within=THREE_S, since=ALWAYS
        )
        == []
    )
