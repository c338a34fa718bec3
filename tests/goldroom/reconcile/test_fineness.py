"""A casting's fineness before its assay, from its charge; held against an oracle."""

import pytest
from uncertainties import ufloat

from goldroom.custody.state import State
from goldroom.metal.uncertainty import corr
from goldroom.reconcile.fineness import EstimatedFineness, estimated_fineness
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.statements.assays import AssayReported
from tests.goldroom.room import say
from tests.goldroom.story import CHEMISTS, tell, upto


def assayed(state: State) -> State:
    """Return the room with the concentrate assayed at 83.0 % gold and 11.8 % silver."""
    result = {
        "items": ["CON-1"],
        "sample": "E-7",
        "unit": "percent",
        "gold": "83.0",
        "silver": "11.8",
    }
    values = {
        "laboratory": "lab",
        "method": "fire_assay",
        "standing": "final",
        "sampler": "spear",
        "results": [result],
    }
    say(state, AssayReported, values, at="2026-10-06T14:30:00+02:00", people=CHEMISTS)
    return state


def found(state: State, bar: str = "BAR-1") -> EstimatedFineness | None:
    data = LedgerRecords.from_held(state.all_held())
    return estimated_fineness(Quantities(data), bar)


def expected(state: State) -> tuple[float, float]:
    """Return gold per thousand: sources less slag, over bars, dip and drillings."""
    data = LedgerRecords.from_held(state.all_held())
    source = Quantities(data).of("CON-1").gold
    assert source is not None
    gold = ufloat(source.measured.value, source.measured.u) - ufloat(9.5, 3)
    slope = ufloat(1, 2e-5)
    weighed = ufloat(5992.3, 0.2) * slope + ufloat(4900.0, 0.2) * slope
    bench = ufloat(1, 1e-4)
    weighed += ufloat(8.2, 0.5) * bench + ufloat(12.4, 0.5) * bench
    fineness = 1000 * gold / weighed
    return fineness.nominal_value, fineness.std_dev


@pytest.mark.source("the uncertainties package; run in the test")
def test_fineness_is_the_sources_metal_less_the_slags_over_all_that_was_cast():
    state = assayed(upto("reweighed"))
    told = found(state)
    assert told is not None
    value, u = expected(state)
    assert told.gold_permille.value == pytest.approx(value, rel=1e-12)
    assert told.gold_permille.u == pytest.approx(u, rel=1e-6)
    assert (told.sources, told.castings) == (("CON-1",), ("BAR-1", "BAR-2"))
    assert told.uncounted == ()


def test_fineness_by_hand():
    """Own example: the table's 12.5 kg of wet concentrate, at 8 % moisture."""
    state = assayed(upto("reweighed"))
    told = found(state)
    assert told is not None
    dry_g = (30_700 - 18_200) * 0.92
    mass_g = 5992.3 + 4900.0 + 8.2 + 12.4
    gold = 1000 * (dry_g * 0.83 - 9.5) / mass_g
    silver = 1000 * (dry_g * 0.118 - 4) / mass_g
    assert told.gold_permille.value == pytest.approx(gold, rel=1e-9)
    assert told.silver_permille.value == pytest.approx(silver, rel=1e-9)


def test_castings_of_one_pour_have_one_fineness_and_one_error():
    state = assayed(upto("reweighed"))
    first, second = found(state, "BAR-1"), found(state, "BAR-2")
    assert first is not None
    assert second is not None
    assert first.gold_permille.value == second.gold_permille.value
    assert corr(first.gold_permille, second.gold_permille) == pytest.approx(1.0)


def test_gold_and_silver_of_a_pour_err_together():
    told = found(assayed(upto("reweighed")))
    assert told is not None
    assert corr(told.gold_permille, told.silver_permille) > 0.5


def test_slag_that_nobody_weighed_is_named():
    state = upto("pour")
    for stage in ("numbered", "numbered_2"):
        tell(state, stage)
    told = found(assayed(state))
    assert told is not None
    assert told.uncounted == ("SLAG-1",)


@pytest.mark.parametrize(
    ("stage", "bar"),
    [
        pytest.param("numbered", "BAR-1", id="a casting of the pour not weighed yet"),
        pytest.param("charge", "BAR-1", id="nothing cast yet"),
        pytest.param("reweighed", "LOT-1", id="from no charge"),
    ],
)
def test_fineness_is_not_told_where_the_record_cannot(stage: str, bar: str):
    assert found(assayed_or_not(stage), bar) is None


def assayed_or_not(stage: str) -> State:
    return assayed(upto(stage)) if stage != "charge" else upto(stage)
