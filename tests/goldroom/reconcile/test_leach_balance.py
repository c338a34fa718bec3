"""The leach's balance over a whole batch told by statements. All invented.

Nothing is missing while the batch runs; what is missing shows when it ends.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.act import utc_text
from goldroom.custody.state import State
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.period import Period, PeriodReport, reconcile
from goldroom.reconcile.priors import Quantities
from goldroom.statements.assays import AssayReported
from tests.goldroom import leach_story as leach
from tests.goldroom.leach_story import STAGES, leach_room, results, tell, told
from tests.goldroom.room import say
from tests.goldroom.story import CHEMISTS

BEGIN, END, LATER = (
    "2026-09-30T04:00:00Z",
    "2026-11-01T04:00:00Z",
    "2027-01-01T00:00:00Z",
)
ENDED = "2026-10-08T08:00:00Z"
"""When the batch's residue was taken out."""


def period(
    state: State, from_at: str = BEGIN, to_at: str = END, known_at: str = LATER
) -> PeriodReport:
    """Return a period reconciled from the fold in memory."""
    data = LedgerRecords.from_held(state.all_held())
    return reconcile(data, Period(from_at, to_at, known_at, "UTC", "04:00"))


def assays_with(name: str, row: int, gold: str) -> dict[str, Any]:
    """Return a stage's results with one gold figure changed."""
    report = leach.values(name)
    report["results"][row]["gold"] = gold
    return report


def sixty_missing() -> State:
    """Return the story with SOL-1 assayed 20 mg/L lower: 3000 L less 60 g."""
    report = assays_with("solutions_assayed", 1, "580")
    return told(solutions_assayed={"results": report["results"]})


def moments() -> list[str]:
    """Return every time that something was said, and a second to each side of it."""
    return [
        utc_text(datetime.fromisoformat(at) + timedelta(seconds=second))
        for _, at, _ in STAGES.values()
        for second in (-1, 0, 1)
    ]


def unaccounted(report: PeriodReport) -> dict[tuple[str, str], Decimal]:
    """Return what is missing of each metal at each step that is drawn."""
    return {
        (step, metal): balance.unaccounted.posted_g
        for step, balances in report.steps.items()
        for metal, balance in balances.items()
        if balance.unaccounted is not None
    }


def test_a_whole_batch_closes_to_the_milligram():
    report = period(told())
    found = unaccounted(report)
    assert set(found.values()) == {Decimal("0.000")}
    assert ("leach", "dry_mass") in found
    gold = report.steps["leach"]["gold"]
    assert [each.posted_g for each in (gold.came_in, gold.went_out, gold.closing)] == [
        Decimal("1990.000"),
        Decimal("1989.900"),
        Decimal("0.100"),
    ]


@pytest.mark.parametrize("cut", moments())
def test_wherever_a_month_ends_nothing_is_missing_on_either_side(cut):
    state = told()
    first, second = period(state, BEGIN, cut), period(state, cut, END)
    assert set(unaccounted(first).values()) <= {Decimal("0.000")}
    assert set(unaccounted(second).values()) <= {Decimal("0.000")}
    for step in set(first.steps) & set(second.steps):
        for metal, balance in first.steps[step].items():
            opening = second.steps[step][metal].opening
            assert balance.closing.posted_g == opening.posted_g, (step, metal)
            assert balance.closing.measured == opening.measured, (step, metal)


@pytest.mark.parametrize("cut", moments())
def test_sixty_grams_are_missed_at_the_batchs_end_and_nowhere_else(cut):
    state = sixty_missing()
    first, second = period(state, BEGIN, cut), period(state, cut, END)
    sides = [unaccounted(each).get(("leach", "gold"), Decimal(0)) for each in
             (first, second)]  # fmt: skip
    is_over = cut > ENDED
    assert sides == [Decimal(60) if is_over else 0, 0 if is_over else Decimal(60)]
    others = {
        at: each
        for report in (first, second)
        for at, each in unaccounted(report).items()
        if at != ("leach", "gold")
    }
    assert set(others.values()) == {Decimal("0.000")}


def test_sixty_grams_missing_are_sixty_grams_overall():
    found = period(sixty_missing())
    assert unaccounted(found)["leach", "gold"] == Decimal("60.000")
    assert found.overall["gold"].unaccounted.posted_g == Decimal("60.000")
    assert found.overall["silver"].unaccounted.posted_g == Decimal("0.000")


def test_solids_missing_from_the_residue_are_missed_dry():
    row = leach.values("discharged")["residues"][0]
    row["gross"] = {**row["gross"], "reading": "505.7"}
    found = unaccounted(period(told(discharged={"residues": [row]})))
    assert found["leach", "dry_mass"] == Decimal("8000.000")
    assert found["leach", "gold"] > 0


def test_every_sample_is_found_again_where_it_is():
    report = period(told())
    closings = {
        (parcel.way.from_step, parcel.item): parcel.contents.gold.posted_g
        for parcel in report.parcels
        if parcel.way.role == "closing"
    }
    # 2 kg of the lot, 50 mL of 600 mg/L each, 400 g dry of residue at 100.35 g/t.
    assert closings == {
        ("table", "LS-1"): Decimal("10.000"),
        ("leach", "SS-1"): Decimal("0.030"),
        ("leach", "SS-2"): Decimal("0.030"),
        ("leach", "RS-1"): Decimal("0.040"),
        ("electrowinning", "SOL-1"): Decimal("1799.940"),
        ("electrowinning", "SOL-1-1"): Decimal("0.030"),
        ("electrowinning", "SOL-1-2"): Decimal("0.030"),
        ("electrowinning", "SOL-2"): Decimal("100.000"),
        ("electrowinning", "SOL-3"): Decimal("50.000"),
    }


@pytest.mark.parametrize(
    ("goes_to", "electrowinning", "leach_closing", "to_mill"),
    [
        ("electrowinning", "1950.000", "0.100", "39.900"),
        ("next_batch", "1850.000", "100.100", "39.900"),
        ("mill", "1850.000", "0.100", "139.900"),
    ],
)
def test_wash_solution_is_counted_where_it_went(
    goes_to, electrowinning, leach_closing, to_mill
):
    row = leach.values("washed")["solution"]
    if goes_to == "mill":
        del row["tank"]
    report = period(told(washed={"goes_to": goes_to, "solution": row}))
    leach_gold = report.steps["leach"]["gold"]
    cells = report.steps["electrowinning"]["gold"]
    assert cells.closing.posted_g == Decimal(electrowinning)
    assert leach_gold.closing.posted_g == Decimal(leach_closing)
    assert leach_gold.unaccounted.posted_g == 0
    milled = sum(
        parcel.contents.gold.posted_g
        for parcel in report.parcels
        if parcel.way.where_to == "mill"
    )
    assert milled == Decimal(to_mill)


def test_what_should_be_in_the_vessel_is_known_by_difference_with_its_uncertainty():
    state = told()
    data = LedgerRecords.from_held(state.all_held())
    found = Quantities(data).of("LB-1", at="2026-10-07T06:00:00Z")
    # 1990 charged, less 0.06 in samples and 1800 drained; the wash comes later.
    assert found.gold.posted_g == Decimal("189.940")
    alone = Quantities(data).of("LOT-1", drawn=1).gold
    assert found.gold.u_g > alone.u_g
    assert found.how == "book"


def told_with_results() -> State:
    """Return the story with every result reported half an hour after its thing."""
    state = leach_room()
    tell_result(state, "2026-10-05T10:00:00+02:00", "lot_assayed", 0)
    after = {
        "sampled": [("solutions_assayed", 0)],
        "drained": [("solutions_assayed", 1)],
        "washed": [("solutions_assayed", 2)],
        "drained_again": [("solutions_assayed", 3)],
        "discharged": [("residue_assayed", 0)],
    }
    for stage, (_, at, _) in STAGES.items():
        if stage.endswith("assayed"):
            continue
        tell(state, stage)
        later = datetime.fromisoformat(at) + timedelta(minutes=30)
        for report, row in after.get(stage, []):
            tell_result(state, later.isoformat(), report, row)
    return state


def tell_result(state: State, at: str, stage: str, row: int) -> None:
    """Report one row of a stage's results, at a time."""
    report = leach.values(stage)
    unit = report["results"][row]["unit"]
    one = {
        **results(unit, method=report["method"]),
        "results": [report["results"][row]],
    }
    say(state, AssayReported, one, at=at, people=CHEMISTS)


def known_times() -> list[str]:
    """Return times at which the ledger knew something more than before."""
    return [
        utc_text(datetime.fromisoformat(at) + timedelta(minutes=minutes))
        for stage, (_, at, _) in STAGES.items()
        if not stage.endswith("assayed")
        for minutes in (9, 10, 11, 41)
    ]


@pytest.mark.parametrize("known_at", known_times())
def test_as_known_at_any_time_nothing_is_missing_of_a_batch_that_runs(known_at):
    state = told_with_results()
    report = period(state, BEGIN, known_at, known_at)
    found = {at: each for at, each in unaccounted(report).items() if at[1] != "silver"}
    if known_at < "2026-10-08T08:10:00Z":
        assert set(found.values()) <= {Decimal("0.000")}
    gold = report.steps.get("leach", {}).get("gold")
    assert gold is None or gold.is_drawn


def test_residue_without_a_result_is_pending_until_it_has_one():
    state = told_with_results()
    before = period(state, BEGIN, END, "2026-10-08T08:20:00Z")
    after = period(state, BEGIN, END, "2026-10-08T08:41:00Z")
    assert {each.item for each in before.pending} >= {"RES-1"}
    assert unaccounted(after)["leach", "gold"] == Decimal("0.000")
    assert after.pending == ()
