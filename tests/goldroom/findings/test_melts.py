"""Rules of mine against refinery. Limits: a refinery's public terms, or practice."""

from dataclasses import replace
from decimal import Decimal

import pytest

from goldroom.findings.melts import (
    MeltOfBoth,
    assays_apart,
    assays_one_way,
    masses_one_way,
)
from tests.goldroom.findings.things import threshold

GOLD = threshold("splitting_gold_percent", "0.05", "%")
SILVER = threshold("splitting_silver_percent", "0.20", "%")
BIAS = threshold("refinery_bias_percent", "0.02", "%")


def melt(
    n: int, gold: str = "860", silver: str = "120", grams: str = "5000"
) -> MeltOfBoth:
    """Return a melt that the mine made 5000 g of 860 gold and 120 silver."""
    return MeltOfBoth(
        melt=f"M-{n}",
        refinery="marrowby",
        at=f"2026-10-{n:02d}T12:00:00Z",
        mine_g=Decimal(5000),
        refinery_g=Decimal(grams),
        mine_permille={"gold": Decimal(860), "silver": Decimal(120)},
        refinery_permille={"gold": Decimal(gold), "silver": Decimal(silver)},
        is_exchanged=True,
    )


@pytest.mark.source("public terms of a refinery: 0.05 % gold, 0.20 % silver")
@pytest.mark.parametrize(
    ("gold", "silver", "metals"),
    [
        ("860.5", "118", []),
        ("860.51", "118", ["gold"]),
        ("859.5", "117.99", ["silver"]),
        ("859.4", "122.1", ["gold", "silver"]),
    ],
)
def test_assays_beyond_the_splitting_limit_are_found(gold, silver, metals):
    found = assays_apart([melt(1, gold, silver)], gold=GOLD, silver=SILVER, since="")
    assert len(found) == bool(metals)
    for each in found:
        assert [one.split()[0] for one in each.found.split("; ")] == metals
        assert "call the umpire" in each.message


def test_melt_of_long_ago_or_without_an_assay_is_let_be():
    apart = melt(1, "850")
    assert assays_apart([apart], gold=GOLD, silver=SILVER, since="2026-12") == []
    own = replace(apart, is_exchanged=False)
    assert assays_apart([own], gold=GOLD, silver=SILVER, since="") == []
    unknown = MeltOfBoth(
        melt="M-2", refinery="marrowby", at="2026-10-02T12:00:00Z", mine_g=None,
        refinery_g=None, mine_permille={}, refinery_permille={},
        is_exchanged=True,
    )  # fmt: skip
    assert assays_apart([unknown], gold=GOLD, silver=SILVER, since="") == []
    assert masses_one_way([unknown] * 9) == []


@pytest.mark.source("chance of eight on one side: 1 in 128, scipy in test_family")
@pytest.mark.parametrize(
    ("grams", "is_found"),
    [
        pytest.param(["4999.9"] * 8, True, id="eight lighter"),
        pytest.param(["4999.9"] * 7, False, id="seven"),
        pytest.param(["4999.9"] * 7 + ["5000.1"], False, id="the eighth heavier"),
        pytest.param(["5000.1"] + ["4999.9"] * 8, True, id="the last eight"),
    ],
)
def test_masses_that_keep_differing_the_same_way_are_found(grams, is_found):
    found = masses_one_way([melt(n, grams=each) for n, each in enumerate(grams, 1)])
    assert bool(found) is is_found
    for each in found:
        assert (each.code, each.item) == ("refinery_mass_one_way", "marrowby")
        assert each.found.startswith("less than the mine")
        assert each.found.endswith("by 0.002 % on the mean")


@pytest.mark.parametrize(
    ("gold", "is_found"),
    [
        pytest.param(["859.8"] * 8, False, id="0.02 % on the mean: at the limit"),
        pytest.param(["859.79"] * 8, True, id="beyond it"),
        pytest.param(["859.5"] * 7 + ["860.1"], False, id="not all one way"),
    ],
)
def test_assays_that_lean_one_way_beyond_the_limit_are_found(gold, is_found):
    found = assays_one_way(
        [melt(n, each) for n, each in enumerate(gold, 1)], within=BIAS
    )
    assert bool(found) is is_found
