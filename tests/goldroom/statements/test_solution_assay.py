"""A solution assay's worksheet: readings, blanks, dilutions, detection limits."""

import math
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody import figures
from goldroom.custody.records import Assay
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.statements.solution_assay import SolutionAssayReported
from tests.goldroom.room import act, codes, noticed
from tests.goldroom.statements.worksheets import (
    SOLUTION,
    changed,
    code_of,
    correct,
    laboratory,
    report,
)
from tests.goldroom.story import item, put


def reading(worksheet: dict[str, Any], n: int = 0) -> Any:
    return worksheet["solutions"][0]["readings"][n]


def found(state: Any, name: str = "PREG-1", version: int = 1) -> Assay:
    """Return a version of an item's assay."""
    assay = state.get(Assay, f"{name}/{version:03d}")
    assert assay is not None
    return assay


BARREN: dict[str, Any] = {
    **SOLUTION,
    "solutions": [
        {
            "items": ["BARREN-1"],
            "readings": [
                {
                    "sample": "BARREN-1",
                    "dilution": "1",
                    "gold_below": True,
                    "silver_mg_l": "0.25",
                }
            ],
        }
    ],
}


def test_two_samples_of_one_solution_give_their_mean():
    state = laboratory()
    report(state, SOLUTION, SolutionAssayReported)
    liquor = found(state)
    assert (liquor.gold, liquor.silver, liquor.unit) == (
        Decimal("408"),
        Decimal("60"),
        "mg_l",
    )
    assert (liquor.method, liquor.wanted_for) == ("atomic_absorption", "solution")
    assert (liquor.gold_determinations, liquor.silver_determinations) == (2, 2)
    assert (liquor.gold_limit, liquor.silver_limit) == (None, None)
    assert codes(state) == []


def test_a_sample_of_a_solution_is_told_as_the_solution_is():
    state = laboratory()
    both = changed(
        SOLUTION, lambda w: w["solutions"][0].update(items=["PREG-1", "SMP-2"])
    )
    report(state, both, SolutionAssayReported)
    kept = found(state, "SMP-2")
    assert (kept.gold, kept.wanted_for) == (Decimal("408"), "solution")


@pytest.mark.source("JCGM 100:2008, 4.3.7: anything from nothing to the limit")
def test_below_detection_flows_into_the_balance_as_half_the_limit():
    """5000 L below 0.03 mg/L hold 0.075 g of gold, within 0.15 over root 12."""
    state = laboratory()
    report(state, BARREN, SolutionAssayReported)
    done = act("leach.drained", at="2026-10-12T09:00:00+02:00")
    put(state, figures.volume(state, done, item="BARREN-1", litres=Decimal(5000),
                              tank="T9", path="dip"))  # fmt: skip
    barren = found(state, "BARREN-1")
    assert (barren.gold, barren.gold_limit) == (Decimal("0.0150"), Decimal("0.0300"))
    assert (barren.silver, barren.silver_limit) == (Decimal("0.2500"), None)
    held = Quantities(LedgerRecords.from_held(state.all_held())).of("BARREN-1")
    assert held.gold.posted_g == Decimal("0.075")
    own = held.gold.measured.effects[f"rep:{barren.assay_id}:gold"]
    assert own == pytest.approx(0.15 / math.sqrt(12))


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        pytest.param(lambda w: None, None, "", id="as it was"),
        pytest.param(
            lambda w: reading(w).pop("dilution"),
            "dilution_missing", "solutions[0].readings[0].dilution",
            id="no dilution said",
        ),
        pytest.param(
            lambda w: reading(w).update(dilution="0.5"),
            "bad_field", "solutions[0].readings[0].dilution", id="made stronger",
        ),
        pytest.param(
            lambda w: reading(w).update(gold_below=True),
            "bad_field", "solutions[0].readings[0].gold_mg_l", id="read and below",
        ),
        pytest.param(
            lambda w: reading(w).pop("silver_mg_l"),
            "bad_field", "solutions[0].readings[0].silver_mg_l", id="neither",
        ),
        pytest.param(
            lambda w: reading(w).update(sample="SMP-77"),
            "unknown_sample", "solutions[0].readings[0].sample",
            id="a sample never taken",
        ),
        pytest.param(
            lambda w: reading(w).update(sample="SMP-9"),
            "sample_replaced", "solutions[0].readings[0].sample",
            id="a sample replaced",
        ),
        pytest.param(
            lambda w: reading(w).update(sample="SMP-1"),
            "wrong_sort", "solutions[0].readings[0].sample", id="a sample of solids",
        ),
        pytest.param(
            lambda w: reading(w).update(sample="BAR-1"),
            "wrong_sort", "solutions[0].readings[0].sample", id="a bar for a sample",
        ),
        pytest.param(
            lambda w: reading(w, 1).update(sample="SMP-2"),
            "bad_field", "solutions[0].readings[1].sample", id="one sample twice",
        ),
        pytest.param(
            lambda w: w["solutions"][0].update(items=["BAR-1"]),
            "wrong_sort", "solutions[0].items[0]", id="for a bar",
        ),
        pytest.param(
            lambda w: w["solutions"][0].update(items=["PREG-9"]),
            "unknown_item", "solutions[0].items[0]", id="for nothing known",
        ),
        pytest.param(
            lambda w: w.update(laboratory="vault"),
            "wrong_sort", "laboratory", id="by the vault",
        ),
        pytest.param(
            lambda w: reading(w).update(gold_mg_l="20000"),
            "fineness_over_1000", "solutions[0]", id="over a kilogram in a litre",
        ),
    ],
)  # fmt: skip
def test_a_worksheet_is_refused(
    change: Callable[[Any], object], code: str | None, field: str
):
    expected = None if code is None else (code, field)
    assert code_of(changed(SOLUTION, change), SolutionAssayReported) == expected


def test_a_missing_dilution_says_what_to_write():
    unsaid = changed(SOLUTION, lambda w: reading(w).pop("dilution"))
    with pytest.raises(Exception, match="1 if undiluted"):
        report(laboratory(), unsaid, SolutionAssayReported)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        pytest.param(lambda w: reading(w).update(gold_mg_l="4.28"), [], id="4.8 %"),
        pytest.param(
            lambda w: reading(w).update(gold_mg_l="4.30"),
            ["solution_samples_differ"], id="5.3 %",
        ),
        pytest.param(
            lambda w: reading(w).update(silver_mg_l="0.63"),
            ["solution_samples_differ"], id="6.6 % in silver",
        ),
        pytest.param(
            lambda w: [reading(w, n).update(gold_below=True, gold_mg_l=None,
                                            dilution=each)
                       for n, each in ((0, "1"), (1, "2"))]
            + [reading(w, n).update(silver_mg_l=each)
               for n, each in ((0, "0.60"), (1, "0.30"))],
            [], id="both below, at different dilutions",
        ),
    ],
)  # fmt: skip
def test_samples_that_disagree_are_accepted_and_noticed(
    change: Callable[[Any], object], expected: list[str]
):
    state = laboratory()
    report(state, changed(SOLUTION, change), SolutionAssayReported)
    assert codes(state) == expected
    assert item(state, "PREG-1").assays == 1


def test_samples_ten_times_apart_hint_at_the_dilution():
    state = laboratory()
    forgotten = changed(SOLUTION, lambda w: reading(w, 1).update(dilution="10"))
    report(state, forgotten, SolutionAssayReported)
    gold, silver = noticed(state)
    assert gold.found == "410.0000 and 40.6000 mg/L gold"
    assert gold.message == (
        "samples of PREG-1 disagree in gold; they are about ten times apart: look at"
        " the dilution"
    )
    assert silver.message.endswith("look at the dilution")
    apart = changed(SOLUTION, lambda w: reading(w).update(gold_mg_l="8.20"))
    state = laboratory()
    report(state, apart, SolutionAssayReported)
    (told,) = noticed(state)
    assert told.message == "samples of PREG-1 disagree in gold"


def test_a_sample_that_could_not_be_read_leaves_the_mean_wide():
    state = laboratory()
    mixed = changed(
        SOLUTION, lambda w: reading(w).update(gold_below=True, gold_mg_l=None)
    )
    report(state, mixed, SolutionAssayReported)
    # half of 0.03 x 100, and 4.06 x 100: anything from nothing to twice their mean
    liquor = found(state)
    assert (liquor.gold, liquor.gold_limit) == (Decimal("203.75"), Decimal("407.5"))


def test_a_dilution_put_right_is_a_new_version_and_a_worksheet_is_taken_back():
    state = laboratory()
    report(state, SOLUTION, SolutionAssayReported)
    right = changed(SOLUTION, lambda w: [reading(w, n).update(dilution="10")
                                         for n in (0, 1)])  # fmt: skip
    correct(state, SolutionAssayReported, right)
    first, second = found(state), found(state, version=2)
    assert (first.gold, second.gold) == (Decimal(408), Decimal("40.8"))
    assert first.assay_id == second.assay_id
    state = laboratory()
    report(state, SOLUTION, SolutionAssayReported)
    correct(state, SolutionAssayReported, None)
    assert item(state, "PREG-1").assays == 0


def test_worksheet_reads_aloud():
    said = report(laboratory(), SOLUTION, SolutionAssayReported)
    assert said.sentence() == (
        "lab reported final solution assays by atomic absorption: PREG-1 at 408"
        " mg/L gold and 60 mg/L silver (SMP-2 and SMP-3)."
    )
    said = report(laboratory(), BARREN, SolutionAssayReported)
    assert said.sentence() == (
        "lab reported final solution assays by atomic absorption: BARREN-1 at less"
        " than 0.03 mg/L gold and 0.25 mg/L silver (BARREN-1)."
    )
