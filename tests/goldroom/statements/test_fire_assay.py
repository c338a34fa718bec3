"""A fire assay's worksheet: contents follow from what the balance showed."""

import math
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Assay, Limit
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities
from goldroom.statements.fire_assay import FireAssayReported
from goldroom.statements.fire_assay_notices import duplicates_limit
from goldroom.statements.limits import LIMITS, limit_value
from tests.goldroom import story
from tests.goldroom.room import codes, noticed
from tests.goldroom.statements.worksheets import (
    ENTRY,
    FIRE,
    changed,
    code_of,
    correct,
    laboratory,
    report,
)
from tests.goldroom.story import item

source = pytest.mark.source
FROM_MEMORY = "ISO 11426, 8: agreement of duplicates; from memory"


def found(state: Any, name: str = "BAR-1", version: int = 1) -> Assay:
    """Return a version of an item's assay."""
    assay = state.get(Assay, f"{name}/{version:03d}")
    assert assay is not None
    return assay


def sample(worksheet: dict[str, Any]) -> Any:
    return worksheet["samples"][0]


def portion(worksheet: dict[str, Any], n: int = 0) -> Any:
    return sample(worksheet)["portions"][n]


def proof(worksheet: dict[str, Any], n: int = 0) -> Any:
    return worksheet["proofs"][n]


def plain(portions: list[tuple[str, str]], proof_mg: str, **more: Any) -> Any:
    """Return a worksheet without beads: (portion, cornet) rows, perfect proofs."""
    row = {
        "sample": "DIP-1",
        "items": ["BAR-1"],
        "unit": "permille",
        "portions": [{"portion_mg": mass, "cornet_mg": c} for mass, c in portions],
        "silver": "5",
        **more,
    }
    proofs = [{"gold_taken_mg": proof_mg, "gold_found_mg": proof_mg}] * 2
    return {**FIRE, "samples": [row], "proofs": proofs}


def test_the_contents_are_worked_out_and_speak_for_all_items():
    state = laboratory()
    report(state, FIRE)
    assays = [found(state, name) for name in ("BAR-1", "BAR-2", "DIP-1")]
    assert {(each.gold, each.silver, each.base, each.unit) for each in assays} == {
        (Decimal("842.600"), Decimal("119.640"), Decimal("38.1"), "permille")
    }
    assert {(each.sample, each.method, each.wanted_for) for each in assays} == {
        ("DIP-1", "fire_assay", "bar")
    }
    assert {each.assay_id for each in assays} == {f"{ENTRY}.samples[0]"}
    assert codes(state) == []


@pytest.mark.source("form of ISO 11426 section 8, from memory; own figures")
def test_the_worked_worksheet_of_two_portions_and_two_proofs():
    """Alone they come to 916.520 and 916.480, each by its own proof."""
    worksheet = plain([("250.12", "229.35"), ("249.88", "229.10")], "229.00")
    worksheet["proofs"] = [
        {"gold_taken_mg": "229.00", "gold_found_mg": "229.11"},
        {"gold_taken_mg": "229.00", "gold_found_mg": "229.09"},
    ]
    state = laboratory()
    report(state, worksheet)
    assert found(state).gold == Decimal("916.500")
    assert codes(state) == []


def test_a_mean_of_two_portions_repeats_better_in_the_balance():
    state, alone = laboratory(), story.upto("assayed")
    report(state, FIRE)
    gold, before = (
        Quantities(LedgerRecords.from_held(each.all_held())).of("BAR-1").gold
        for each in (state, alone)
    )
    assert (gold.posted_g, before.posted_g) == (Decimal("5049.112"),) * 2
    repeat = gold.measured.effects[f"rep:{ENTRY}.samples[0]:gold"]
    repeat_alone = before.measured.effects["rep:entry-of-assayed.results[0]:gold"]
    assert repeat == pytest.approx(repeat_alone / math.sqrt(2))
    assert (found(state).gold_determinations, found(state).silver_determinations) == (
        2,
        2,
    )


def test_silver_of_another_method_is_one_determination():
    state = laboratory()
    report(state, plain([("250.00", "210.65"), ("250.00", "210.65")], "210.50"))
    assert (found(state).gold_determinations, found(state).silver_determinations) == (
        2,
        1,
    )


def test_concentrate_is_told_in_grams_a_tonne_and_judged_as_its_lot():
    worksheet = plain(
        [("25000", "8.52"), ("25000", "8.62")], "8.50",
        sample="SMP-1", items=["LOT-1", "SMP-1"], unit="gpt", silver="47.5",
    )  # fmt: skip
    state = laboratory()
    report(state, worksheet)
    for name in ("LOT-1", "SMP-1"):
        lot = found(state, name)
        assert (lot.gold, lot.silver) == (Decimal("342.800"), Decimal("47.5"))
        assert (lot.unit, lot.wanted_for) == ("gpt", "lot")
    assert codes(state) == []


def unsaid(key: str) -> Callable[[Any], object]:
    return lambda sheet: [row.pop(key) for row in sample(sheet)["portions"]]


REFUSALS: list[tuple[str, Callable[[Any], object], str | None, str]] = [
    ("as it was", lambda w: None, None, ""),
    (
        "a sample never taken",
        lambda w: sample(w).update(sample="E-77"),
        "unknown_sample",
        "samples[0].sample",
    ),
    (
        "a sample replaced",
        lambda w: sample(w).update(sample="SMP-9"),
        "sample_replaced",
        "samples[0].sample",
    ),
    (
        "a sample taken back",
        lambda w: sample(w).update(sample="SMP-0"),
        "item_not_held",
        "samples[0].sample",
    ),
    (
        "a bar for a sample",
        lambda w: sample(w).update(sample="BAR-1"),
        "wrong_sort",
        "samples[0].sample",
    ),
    (
        "a sample of a solution",
        lambda w: sample(w).update(sample="SMP-2"),
        "wrong_sort",
        "samples[0].sample",
    ),
    (
        "a sample twice",
        lambda w: w["samples"].append(sample(w)),
        "bad_field",
        "samples[1].sample",
    ),
    (
        "for a solution",
        lambda w: sample(w).update(items=["PREG-1"]),
        "wrong_sort",
        "samples[0].items[0]",
    ),
    (
        "for a charge",
        lambda w: sample(w).update(items=["CHG-1"]),
        "wrong_sort",
        "samples[0].items[0]",
    ),
    (
        "for a bar nobody cast",
        lambda w: sample(w).update(items=["BAR-9"]),
        "unknown_item",
        "samples[0].items[0]",
    ),
    (
        "by the vault",
        lambda w: w.update(laboratory="vault"),
        "wrong_sort",
        "laboratory",
    ),
    (
        "a portion of nothing",
        lambda w: portion(w).update(portion_mg="0"),
        "portion_of_nothing",
        "samples[0].portions[0].portion_mg",
    ),
    (
        "a cornet heavier than its portion",
        lambda w: portion(w, 1).update(cornet_mg="249.89"),
        "cornet_heavier_than_portion",
        "samples[0].portions[1].cornet_mg",
    ),
    (
        "a bead lighter than its cornet",
        lambda w: portion(w).update(bead_mg="210.85"),
        "bead_does_not_fit",
        "samples[0].portions[0].bead_mg",
    ),
    (
        "a bead heavier than all in the cupel",
        lambda w: portion(w).update(bead_mg="800.13"),
        "bead_does_not_fit",
        "samples[0].portions[0].bead_mg",
    ),
    ("no proof", lambda w: w.pop("proofs"), "proof_missing", "proofs"),
    ("one proof", lambda w: w["proofs"].pop(), "proof_missing", "proofs"),
    (
        "a proof of no gold",
        lambda w: proof(w).update(gold_taken_mg="0"),
        "portion_of_nothing",
        "proofs[0].gold_taken_mg",
    ),
    (
        "a proof's silver taken, not found",
        lambda w: proof(w).pop("silver_found_mg"),
        "bad_field",
        "proofs[0].silver_found_mg",
    ),
    (
        "beads, and one proof of silver",
        lambda w: [proof(w).pop(f"silver_{each}_mg") for each in ("taken", "found")],
        "proof_missing",
        "proofs",
    ),
    (
        "silver said twice",
        lambda w: sample(w).update(silver="119.6"),
        "bad_field",
        "samples[0].silver",
    ),
    ("silver not said", unsaid("bead_mg"), "bad_field", "samples[0].silver"),
    (
        "one bead of two",
        lambda w: portion(w).pop("bead_mg"),
        "bad_field",
        "samples[0].silver",
    ),
    (
        "gold over the whole",
        lambda w: [portion(w, n).update(cornet_mg="249.88", bead_mg="799.88")
                   for n in (0, 1)]
        + [proof(w, n).update(gold_found_mg="209.50") for n in (0, 1)],
        "fineness_over_1000",
        "samples[0]",
    ),
    (
        "a comma",
        lambda w: portion(w).update(cornet_mg="210,86"),
        "not_a_figure",
        "samples[0].portions[0].cornet_mg",
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [pytest.param(*row[1:], id=row[0]) for row in REFUSALS],
)
def test_a_worksheet_is_refused(
    change: Callable[[Any], object], code: str | None, field: str
):
    expected = None if code is None else (code, field)
    assert code_of(changed(FIRE, change), FireAssayReported) == expected


FINDINGS: list[tuple[str, Callable[[Any], object], list[str]]] = [
    (
        "portions apart",
        lambda w: portion(w).update(cornet_mg="210.99"),
        ["duplicates_differ"],
    ),
    (
        "proofs apart in gold",
        lambda w: proof(w).update(gold_found_mg="210.49"),
        ["proofs_differ"],
    ),
    (
        "proofs apart in silver",
        lambda w: proof(w).update(silver_found_mg="576.41"),
        ["proofs_differ"],
    ),
    (
        "metals over the whole by more than their errors",
        lambda w: sample(w).update(base="45"),
        ["fineness_sum_over_1000"],
    ),
    (
        "metals over the whole within their errors",
        lambda w: sample(w).update(base="42"),
        [],
    ),
    ("one portion", lambda w: sample(w)["portions"].pop(), ["worksheet_unusual"]),
    (
        "too little silver added",
        lambda w: portion(w).update(silver_added_mg="450.00", bead_mg="686.30"),
        ["worksheet_unusual"],
    ),
    (
        "proofs of another size",
        lambda w: [proof(w, n).update(gold_taken_mg="120.50", gold_found_mg="120.58")
                   for n in (0, 1)],
        ["worksheet_unusual"],
    ),
    (
        "rich bullion that lost gold",
        lambda w: [proof(w, n).update(gold_found_mg="210.20") for n in (0, 1)],
        ["worksheet_unusual"],
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "expected"), [pytest.param(*row[1:], id=row[0]) for row in FINDINGS]
)
def test_what_a_worksheet_shows_is_accepted_and_noticed(
    change: Callable[[Any], object], expected: list[str]
):
    state = laboratory()
    report(state, changed(FIRE, change))
    assert codes(state) == expected
    assert item(state, "BAR-1").assays == 1


def test_an_unusual_worksheet_says_all_at_once_and_what_to_do():
    state = laboratory()
    report(state, plain([("500.00", "25.00")], "125.00"))
    (told,) = noticed(state)
    assert told.found == (
        "1 portion, expected 2; 50.000 ‰ gold, the method is for 100 to 999.5;"
        " portion 1 of 500.00 mg, expected 125 to 300; portion 1 holds 25.00 mg of"
        " gold, the proofs 125.00 mg"
    )
    state = laboratory()
    short = changed(
        FIRE, lambda w: portion(w).update(silver_added_mg="450.00", bead_mg="686.30")
    )
    report(state, short)
    (told,) = noticed(state)
    assert told.found == (
        "portion 1 had 479.92 mg of silver to 210.77 mg of gold, expected 2.3 to 3"
        " times: add 47 mg more"
    )


def test_silver_that_the_proofs_take_away_whole_is_none():
    state = laboratory()
    poor = changed(
        FIRE,
        lambda w: [portion(w, n).update(bead_mg="755.00") for n in (0, 1)],
    )
    report(state, poor)
    assert found(state).silver == 0
    assert "metal_below_zero" in codes(state)


@pytest.mark.parametrize(
    ("gold", "white", "apart", "noticed_as"),
    [
        pytest.param("750", False, "0.49", [], marks=source(FROM_MEMORY)),
        pytest.param("750", False, "0.51", ["duplicates_differ"],
                     marks=source(FROM_MEMORY)),
        pytest.param("750", True, "0.99", [], marks=source(FROM_MEMORY)),
        pytest.param("750", True, "1.01", ["duplicates_differ"],
                     marks=source(FROM_MEMORY)),
        pytest.param("995", False, "0.19", [], marks=source(FROM_MEMORY)),
        pytest.param("995", False, "0.21", ["duplicates_differ"],
                     marks=source(FROM_MEMORY)),
    ],
)  # fmt: skip
def test_duplicates_agree_by_the_class_of_the_alloy(
    gold: str, white: bool, apart: str, noticed_as: list[str]
):
    cornet = Decimal(gold) / 4
    other = cornet + Decimal(apart) / 4
    portions = [("250.00", str(cornet)), ("250.00", str(other))]
    state = laboratory()
    report(state, plain(portions, str(cornet), white=white))
    assert codes(state) == noticed_as


@pytest.mark.parametrize(
    ("name", "value"),
    [
        pytest.param("portion_least_mg", "125",
                     marks=source("ISO 11426:2014, 7.2; seen")),
        pytest.param("portion_most_mg", "300",
                     marks=source("ISO 11426:2014, 7.2, table of lead; seen")),
        pytest.param("inquart_least", "2.3",
                     marks=source("ISO 11426:2014, 7.2; seen")),
        pytest.param("inquart_most", "3",
                     marks=source("ISO 11426:2014, 7.2; seen")),
        pytest.param("duplicates_gold_permille", "0.5", marks=source(FROM_MEMORY)),
        pytest.param("duplicates_white_gold_permille", "1",
                     marks=source(FROM_MEMORY)),
        pytest.param("duplicates_fine_gold_permille", "0.2",
                     marks=source(FROM_MEMORY)),
    ],
)  # fmt: skip
def test_limits_begin_as_the_standard_has_them(name: str, value: str):
    assert LIMITS[name].default == Decimal(value)


def test_a_site_sets_its_own_limits():
    state = laboratory()
    name = duplicates_limit(Decimal("842.6"), False)
    state.put(Limit(name=name, value=Decimal("0.1"), unit="permille", reason="ours",
                    set_by="entry-5"))  # fmt: skip
    assert limit_value(state, name) == Decimal("0.1")
    report(state, FIRE)
    assert codes(state) == ["duplicates_differ"]


def test_a_cornet_put_right_is_a_new_version_of_the_same_determination():
    state = laboratory()
    report(state, FIRE)
    right = changed(FIRE, lambda w: portion(w).update(cornet_mg="210.88"))
    correct(state, FireAssayReported, right)
    first, second = found(state), found(state, version=2)
    assert (first.gold, second.gold) == (Decimal("842.600"), Decimal("842.640"))
    assert first.assay_id == second.assay_id
    assert second.entry == "entry-correction"


def test_a_worksheet_is_taken_back_whole():
    state = laboratory()
    before = state.all_held()
    report(state, FIRE)
    correct(state, FireAssayReported, None)
    assert item(state, "BAR-1").assays == 0
    after = state.all_held()
    assert {at: after[at] for at in before} == before


def test_worksheet_reads_aloud():
    said = report(laboratory(), FIRE)
    assert said.sentence() == (
        "lab reported final fire assays, corrected by 2 proofs: sample DIP-1, for"
        " BAR-1, BAR-2 and DIP-1, at 842.600 ‰ gold and 119.640 ‰ silver, from 2"
        " portions."
    )
    alone = report(laboratory(), plain([("250.00", "210.65")], "210.50"))
    assert alone.sentence().endswith(
        "sample DIP-1, for BAR-1, at 842.600 ‰ gold and 5 ‰ silver by another"
        " method, from 1 portion."
    )
