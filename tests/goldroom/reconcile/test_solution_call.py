"""Solution calls: what went in by flow x assay, against sludge and heel.

All worked examples are ours: the metal of `tests.goldroom.cell_story` is known.
"""

import math
from decimal import Decimal

import periodictable
import pytest
from scipy import constants

from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.state import State
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.reconcile.solution_call import SolutionCall, solution_calls
from goldroom.statements.assays import AssayReported
from tests.goldroom import cell_story as story
from tests.goldroom.cell_story import CALLED, FOUND, MISSING, STAGES, upto
from tests.goldroom.room import say
from tests.goldroom.story import CHEMISTS

METALS = ("gold", "silver")


def calls(state: State, *, with_runs: bool = True) -> tuple[SolutionCall, ...]:
    """Return the calls of a room's loads."""
    held = state.all_held().values()
    data = LedgerRecords.from_held(state.all_held())
    return solution_calls(
        Quantities(data),
        [each for each in held if isinstance(each, CellLoad)],
        [each for each in held if isinstance(each, CellRun)] if with_runs else (),
    )


def text(amount) -> str | None:
    return None if amount is None else format(amount.posted_g, "f")


@pytest.mark.parametrize("metal", METALS)
def test_the_call_is_what_went_in_less_what_was_drawn_off(metal: str):
    (call,) = calls(upto("assayed"))
    assert text(call.called.amount(metal)) == CALLED[metal]
    assert text(call.found.amount(metal)) == FOUND[metal]
    assert text(call.missing(metal)) == MISSING[metal]
    assert (call.waiting, call.is_provisional) == ((), True)


def test_the_difference_is_a_share_of_the_call():
    (call,) = calls(upto("assayed"))
    percent = call.percent("gold")
    assert percent == pytest.approx(100 * 7.9 / 2777.9, rel=1e-12)


@pytest.mark.source("JCGM 100:2008, 5.1.2: independent errors add in squares")
def test_the_difference_is_as_uncertain_as_both_its_sides():
    """Both sides share no determination, so their variances add."""
    (call,) = calls(upto("assayed"))
    called, found, missing = (
        call.called.gold,
        call.found.gold,
        call.missing("gold"),
    )
    assert called is not None
    assert found is not None
    assert missing is not None
    assert missing.u_g == pytest.approx(math.hypot(called.u_g, found.u_g), rel=1e-9)
    assert missing.u_g > 40


@pytest.mark.parametrize("stage", ["first_run", "second_run", "opened"])
def test_while_the_load_runs_it_is_called_and_nothing_is_found(stage: str):
    (call,) = calls(upto(stage))
    assert call.called.gold is not None
    assert call.missing("gold") is None
    assert call.percent("gold") is None
    assert call.found_in == ()
    assert call.to_json()["cleaned_at"] is None


@pytest.mark.parametrize("stage", ["cleaned", "dried", "anodes_dried"])
def test_before_its_sludge_is_assayed_a_cleanup_is_pending_and_not_even(stage: str):
    (call,) = calls(upto(stage))
    assert set(call.waiting) == {"SLU-1", "SLU-2"}
    assert call.missing("gold") is None
    found = [each["gold"] for each in call.to_json()["found_in"]]
    assert found == [None, None, "30.000"]


def test_one_sludge_without_a_result_keeps_the_call_pending():
    state = upto("anodes_dried")
    first = STAGES["assayed"][2]["results"][0]
    values = story.values("assayed", results=[first])
    say(state, AssayReported, values, at=STAGES["assayed"][1], people=CHEMISTS)
    (call,) = calls(state)
    assert call.waiting == ("SLU-2",)
    assert call.missing("gold") is None


def test_a_calcine_assayed_in_place_of_its_sludge_ends_the_call():
    state = upto("anodes_dried")
    story.tell(state, "calcined")
    result = {"items": ["CAL-1"], "sample": "E-21", "unit": "gpt", "gold": "750000",
              "silver": "87000"}  # fmt: skip
    anodes = STAGES["assayed"][2]["results"][1]
    values = story.values("assayed", results=[result, anodes])
    say(state, AssayReported, values, at="2026-10-11T12:00:00+02:00", people=CHEMISTS)
    (call,) = calls(state)
    assert text(call.missing("gold")) == "27.900"


def test_the_next_load_begins_with_the_heel_and_calls_are_in_order_of_cleanup():
    first, second = calls(upto("calcined"))
    assert (first.load.load, second.load.load) == ("CL-1", "CL-2")
    assert text(second.called.gold) == "427.000"  # 30 + 400 - 3
    assert text(second.plated.gold) == "397.000"
    assert text(first.plated.gold) == CALLED["gold"]


@pytest.mark.source("IUPAC atomic weights by periodictable, CODATA by scipy.constants")
def test_current_efficiency_is_faradays_share_of_all_runs():
    (call,) = calls(upto("assayed"))
    moles = 2777.9 / periodictable.Au.mass + 323.07 / periodictable.Ag.mass
    useful_ah = moles * constants.N_A * constants.e / constants.hour
    assert call.charge_ah == Decimal("10450.000")
    assert call.efficiency_percent == pytest.approx(100 * useful_ah / 10450, rel=1e-6)


def test_a_run_whose_current_nobody_knows_leaves_the_loads_unknown():
    (call,) = calls(upto("assayed"), with_runs=False)
    assert call.charge_ah is None
    assert call.efficiency_percent is None
    assert call.to_json()["current_efficiency_percent"] is None


def test_a_call_is_told_as_plain_values():
    (call,) = calls(upto("assayed"))
    plain = call.to_json()
    assert plain["metals"]["gold"]["missing"] == "7.900"
    assert plain["metals"]["gold"]["percent"] == "0.284"
    assert plain["found_in"][0] == {
        "item": "SLU-1",
        "how": "assay",
        "gold": "2720.000",
        "silver": "316.000",
        "dry_mass": "4000.000",
    }
    assert (plain["source"], plain["runs"], plain["cathodes"]) == ("mixed", 2, 12)
