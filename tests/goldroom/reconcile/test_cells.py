"""Balances around the cells: nothing while a load runs, what is missing when it ends.

All worked examples are ours: the metal of `tests.goldroom.cell_story` is known.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.act import utc_text
from goldroom.custody.state import State
from goldroom.reconcile.balance import balance_of
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import parcels_of
from goldroom.reconcile.period import Period, PeriodReport, reconcile
from goldroom.reconcile.priors import Quantities
from goldroom.statements.assays import AssayReported
from goldroom.statements.cells import CellsRun
from tests.goldroom import cell_story as story
from tests.goldroom.cell_story import MISSING, STAGES, add_solution, barren, upto
from tests.goldroom.room import say
from tests.goldroom.story import CHEMISTS

START, END = "2026-10-01T04:00:00Z", "2026-11-01T04:00:00Z"
LATER = "2027-06-01T00:00:00Z"
METALS = ("gold", "silver")
CLEANED = utc_text(datetime.fromisoformat(STAGES["cleaned"][1]))


def data(state: State) -> LedgerRecords:
    return LedgerRecords.from_held(state.all_held())


def month(state: State, from_at: str = START, to_at: str = END) -> PeriodReport:
    period = Period(from_at, to_at, LATER, "Africa/Johannesburg", "06:00")
    return reconcile(data(state), period)


def unaccounted(
    state: State, step: str, metal: str, from_at: str = START, to_at: str = END
) -> Decimal:
    """Return what a step's balance lacks, to the milligram."""
    known = data(state)
    parcels = parcels_of(known, Quantities(known), from_at=from_at, to_at=to_at)
    found = balance_of(parcels, frozenset({step}), metal).unaccounted
    assert found is not None
    return found.posted_g


def moments() -> list[str]:
    """Return cut-offs just before, at and just after every act, and far from any."""
    second = timedelta(seconds=1)
    times = [datetime.fromisoformat(at) for _, at, _ in STAGES.values()]
    around = [at + step * second for at in times for step in (-1, 0, 1)]
    return [START, *(utc_text(at) for at in around), END]


CUTS = moments()
ALL = data(upto("calcined"))


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize("stage", list(STAGES))
def test_the_cells_lack_nothing_until_the_cleanup_and_then_just_what_is_missing(
    stage: str, metal: str
):
    state = upto(stage)
    is_assayed = list(STAGES).index(stage) >= list(STAGES).index("assayed")
    expected = Decimal(MISSING[metal]) if is_assayed else Decimal(0)
    assert unaccounted(state, "electrowinning", metal) == expected
    for step in ("leach", "smelt"):
        assert unaccounted(state, step, metal) == 0


@pytest.mark.parametrize("from_at", CUTS[:-1])
def test_at_every_cut_off_the_loss_is_in_the_period_of_the_cleanup(from_at: str):
    quantities = Quantities(ALL)
    for to_at in CUTS[CUTS.index(from_at) + 1 :]:
        parcels = parcels_of(ALL, quantities, from_at=from_at, to_at=to_at)
        holds_cleanup = from_at <= CLEANED < to_at
        for metal in METALS:
            lost = Decimal(MISSING[metal]) if holds_cleanup else Decimal(0)
            for step, missing in (
                ("electrowinning", lost),
                ("leach", Decimal(0)),
                ("smelt", Decimal(0)),
            ):
                balance = balance_of(parcels, frozenset({step}), metal)
                assert balance.unaccounted is not None
                assert balance.unaccounted.posted_g == missing, (step, metal, to_at)


@pytest.mark.parametrize("metal", METALS)
def test_a_closing_is_the_next_opening_at_every_cut_off(metal: str):
    state = upto("calcined")
    for cut in CUTS[1:-1]:
        before = month(state, START, cut).steps.get("electrowinning")
        after = month(state, cut, END).steps.get("electrowinning")
        closing = None if before is None else before[metal].to_json()["closing"]
        opening = None if after is None else after[metal].to_json()["opening"]
        assert (closing or "0.000") == (opening or "0.000"), cut


def test_the_month_has_the_cells_as_a_step_of_their_own_with_what_they_hold():
    gold = month(upto("calcined")).steps["electrowinning"]["gold"].to_json()
    assert (gold["in"], gold["out"], gold["closing"], gold["unaccounted"]) == (
        "3200.000",  # three solutions
        "2762.100",  # sludge 2740, barren 11.8 + 9.9, wash water 0.4
        "430.000",  # 430 less 3 of barren in the cell, 3 in its tank
        "7.900",
    )


def test_barren_kept_for_the_leach_is_out_of_the_cells_and_into_the_leach_once():
    report = month(upto("calcined"))
    ways = [
        (each.way.from_step, each.way.to_step)
        for each in report.parcels
        if each.item == "BRN-2" and each.way.role == "passed"
    ]
    assert ways == [("electrowinning", "leach")]
    leach = report.steps["leach"]["gold"].to_json()
    assert (leach["in"], leach["closing"], leach["unaccounted"]) == (
        "9.900",
        "9.900",
        "0.000",
    )


def test_barren_run_again_is_counted_once():
    state = upto("third_run")
    add_solution(state, "SOL-4", "500", "300", "20", at="2026-10-10T09:00:00+02:00")
    run: dict[str, Any] = {
        "cell": "EC1",
        "solutions": ["BRN-3", "SOL-4"],
        "started_at": "2026-10-10T15:00:00+02:00",
        "ended_at": "2026-10-10T20:00:00+02:00",
        "charge_ah": "2500",
        "barren": barren("BRN-4", "1500", "3", "1"),
    }
    say(state, CellsRun, run, at="2026-10-10T20:00:00+02:00")
    assert unaccounted(state, "electrowinning", "gold") == Decimal("7.900")
    load = Quantities(data(state)).of("CL-2").gold
    assert load is not None
    # 30 heel + 400 + 3 run again + 150 put in, 3 and 4.5 drawn off
    assert load.posted_g == Decimal("575.500")


def test_a_drawn_sample_of_barren_is_held_beside_it():
    state = upto("first_run")
    held = Quantities(data(state))
    whole, sample = held.of("BRN-1", drawn=0).gold, held.of("BRN-1-1").gold
    left = held.of("BRN-1").gold
    assert whole is not None
    assert sample is not None
    assert left is not None
    assert left.posted_g + sample.posted_g == whole.posted_g == Decimal("11.800")


# --- pending -----------------------------------------------------------------


def test_sludge_pending_its_assay_counts_by_the_call_less_the_heel():
    state = upto("anodes_dried")
    held = Quantities(data(state))
    parts = [held.of(each) for each in ("SLU-1", "SLU-2")]
    assert [each.how for each in parts] == ["prior", "prior"]
    golds = [each.gold.posted_g for each in parts if each.gold is not None]
    assert sum(golds) == Decimal("2747.900")
    assert golds[0] == Decimal("2198.320")  # 4.0 of 5.0 kg dry
    assert "taken by the solution call of CL-1" in parts[0].said
    pending = [each.item for each in month(state).pending]
    assert {"SLU-1", "SLU-2"} <= set(pending)


def test_the_sludge_still_waiting_takes_what_the_assayed_one_leaves():
    state = upto("anodes_dried")
    (first, _) = STAGES["assayed"][2]["results"]
    values = story.values("assayed", results=[first])
    say(state, AssayReported, values, at=STAGES["assayed"][1], people=CHEMISTS)
    anodes = Quantities(data(state)).of("SLU-2").gold
    assert anodes is not None
    assert anodes.posted_g == Decimal("27.900")  # 2777.9 - 30 - 2720
    assert unaccounted(state, "electrowinning", "gold") == 0


def test_sludge_that_holds_more_than_the_call_leaves_nothing_for_the_rest():
    state = upto("anodes_dried")
    first = {**STAGES["assayed"][2]["results"][0], "gold": "700000"}
    values = story.values("assayed", results=[first])
    say(state, AssayReported, values, at=STAGES["assayed"][1], people=CHEMISTS)
    anodes = Quantities(data(state)).of("SLU-2").gold
    assert anodes is not None
    assert anodes.posted_g == 0
    assert unaccounted(state, "electrowinning", "gold") == Decimal("-52.100")


def test_an_assayed_calcine_speaks_for_the_sludge_it_was_made_from():
    """3600 g of calcine at 750 000 g/t: 2700 g of gold, so 27.9 g are missing."""
    state = upto("anodes_dried")
    story.tell(state, "calcined")
    result = {"items": ["CAL-1"], "sample": "E-21", "unit": "gpt", "gold": "750000",
              "silver": "87000"}  # fmt: skip
    anodes = STAGES["assayed"][2]["results"][1]
    values = story.values("assayed", results=[result, anodes])
    say(state, AssayReported, values, at="2026-10-11T12:00:00+02:00", people=CHEMISTS)
    held = Quantities(data(state)).of("SLU-1")
    assert held.gold is not None
    assert (held.how, held.gold.posted_g) == ("lineage", Decimal("2700.000"))
    assert unaccounted(state, "electrowinning", "gold") == Decimal("27.900")
    assert unaccounted(state, "smelt", "gold") == 0
    assert set(month(state).steps) >= {"electrowinning", "smelt"}


def test_a_calcine_without_an_assay_holds_what_its_sludge_does():
    held = Quantities(data(upto("calcined"))).of("CAL-1")
    assert held.gold is not None
    assert (held.how, held.gold.posted_g) == ("lineage", Decimal("2720.000"))


def test_a_pregnant_solution_without_a_result_is_not_valued_by_barren_ones():
    state = upto("third_run")
    add_solution(state, "SOL-5", "1000", "1", "1", at="2026-10-10T09:00:00+02:00")
    known = data(state)
    without = {name: each for name, each in known.assays.items() if name != "SOL-5"}
    quantities = Quantities(
        LedgerRecords(**{**vars(known), "assays": without}),
    )
    gold = quantities.of("SOL-5").gold
    assert gold is not None
    assert gold.posted_g == Decimal("533.333")  # 3200 g in 6000 L of pregnant solution


def test_a_barren_solution_without_a_result_is_valued_by_barren_ones_alone():
    known = data(upto("third_run"))
    without = {name: each for name, each in known.assays.items() if name != "BRN-3"}
    gold = Quantities(LedgerRecords(**{**vars(known), "assays": without})).of("BRN-3")
    assert gold.gold is not None
    assert gold.gold.posted_g == Decimal("4.308")  # 22.1 g in 5130 L of the others


# --- mixed sources -----------------------------------------------------------


def test_gravity_and_other_metal_of_one_load_are_told_apart_by_what_went_in():
    """1800 g of gravity gold and 1000 g of other went in: 9/14 of the call."""
    state = upto("assayed")
    check = month(state).gravity
    assert check.holdings_rise is not None
    assert check.went_out is not None
    share = float(Decimal(1800) / Decimal(2800))
    assert float(check.went_out.posted_g) == pytest.approx(
        11.8 + 0.4 * share, abs=0.002
    )
