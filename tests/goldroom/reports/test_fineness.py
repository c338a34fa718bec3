"""What tells a bar's gold, and what is asked about a charge's flux."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from goldroom.custody.records import Assay, Item
from goldroom.errors import UnknownItem
from goldroom.metal.starting_uncertainties import STARTING
from goldroom.models import Row
from goldroom.reports import rows
from goldroom.reports.fineness import BarFineness, bar_fineness
from goldroom.reports.flux_questions import flux_questions
from goldroom.statements.fold import text_of


def bars(ledger_id):
    return [each.item for each in rows.every(ledger_id, Item) if each.sort == "bar"]


def test_every_bar_of_the_story_tells_its_results_and_asks_nothing(told):
    for bar in bars(told):
        found = bar_fineness(told, bar)
        assert found.bar == bar
        assert found.questions == ()
        for each in found.told:
            assert 0 < each.u_permille < 20
            assert 700 < each.gold_permille < 1000


def assayed_elsewhere(ledger_id: int, bar: str, gold: str) -> None:
    """Write another laboratory's result of another sample beside the bar's own."""
    first = next(each for each in rows.every(ledger_id, Assay) if each.item == bar)
    other = replace(
        first,
        version=99,
        assay_id="elsewhere",
        sample="another",
        sampler="another",
        laboratory="elsewhere",
        method="another",
        gold=Decimal(gold),
        at="2026-10-20T09:00:00Z",
        entry="elsewhere",
        measured_in="elsewhere",
    )
    Row.objects.create(
        ledger_id=ledger_id, record=other.table, key=other.key, status="", place="",
        at=other.at, seq=0, value=text_of(other),
    )  # fmt: skip


@pytest.mark.source("Aitken's mean of least variance by numpy, scipy.stats.chi2")
@pytest.mark.parametrize(
    ("apart", "is_asked"), [("0", False), ("1", False), ("40", True)]
)
def test_two_results_of_one_bar_share_its_unevenness_and_nothing_else(
    told, apart, is_asked
):
    bar = next(each for each in bars(told) if bar_fineness(told, each).told)
    (first,) = bar_fineness(told, bar).told
    gold = Decimal(repr(first.gold_permille)).quantize(Decimal("0.01")) - Decimal(apart)
    assayed_elsewhere(told, bar, str(gold))
    found = bar_fineness(told, bar)
    values = [each.gold_permille for each in found.told]
    shared = values[0] * values[1] * STARTING["bar_drilling"].random.u ** 2
    spread = np.diag([each.u_permille**2 for each in found.told])
    spread[0, 1] = spread[1, 0] = shared
    inverse = np.linalg.inv(spread)
    mean = inverse.sum(axis=0) @ values / inverse.sum()
    off = np.array(values) - mean
    assert found.mean_permille == pytest.approx(mean, abs=1e-6)
    assert found.mean_u_permille == pytest.approx(inverse.sum() ** -0.5, rel=1e-6)
    assert found.p == pytest.approx(stats.chi2.sf(off @ inverse @ off, 1), rel=1e-6)
    assert any("differ" in each for each in found.questions) is is_asked


@pytest.mark.parametrize(
    ("p", "z", "asked"),
    [
        pytest.param(0.001, 3.0, 0, id="at both limits"),
        pytest.param(0.0009, None, 1, id="results that cannot both be right"),
        pytest.param(None, 3.01, 1, id="richer than its charge"),
        pytest.param(0.0009, -3.01, 2, id="and poorer"),
    ],
)
def test_what_does_not_agree_is_asked_about(p, z, asked):
    found = BarFineness(
        bar="B-1", by_charge=None, told=(), mean_permille=None, mean_u_permille=None,
        p=p, z=z,
    )  # fmt: skip
    assert len(found.questions) == asked
    if z is not None and abs(z) > 3:
        side = "richer" if z > 0 else "poorer"
        assert f"B-1 is {side} than its charge" in found.questions[-1]


def test_bar_nobody_knows_is_refused_with_what_to_do(told):
    with pytest.raises(UnknownItem, match="Check it against its label"):
        bar_fineness(told, "no-such-bar")


def charge(ledger_id):
    return next(e for e in rows.every(ledger_id, Item) if e.sort == "charge")


@pytest.mark.source("ranges of goldroom.metal.flux: common practice, from memory")
@pytest.mark.parametrize(
    ("times", "names"),
    [
        pytest.param("1", [], id="usual"),
        pytest.param("0.4", ["flux"], id="too little"),
        pytest.param("2.1", ["flux"], id="too much"),
    ],
)
def test_flux_is_asked_about_beside_the_dry_mass_of_the_sources(told, times, names):
    (*sources,) = charge(told).parents
    weighed_g = dict.fromkeys(sources, Decimal(10000))
    whole_kg = Decimal(10 * len(sources)) * Decimal(times)
    flux_kg = {
        "Borax": whole_kg / 2,
        "silica": whole_kg / 5,
        "soda ash": whole_kg / 5,
        "nitre": whole_kg / 10,
    }
    found = flux_questions(told, sources=sources, flux_kg=flux_kg, weighed_g=weighed_g)
    assert [each.quantity for each in found] == names


def test_nothing_is_asked_while_a_sources_mass_is_not_known(told):
    assert flux_questions(told, sources=["none"], flux_kg={"borax": Decimal(9)}) == ()
