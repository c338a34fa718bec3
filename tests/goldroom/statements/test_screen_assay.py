"""A screen assay's worksheet: the coarse assayed whole, the fines by portions."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Assay
from goldroom.statements.limits import LIMITS
from goldroom.statements.screen_assay import ScreenAssayReported
from tests.goldroom.room import codes, noticed
from tests.goldroom.statements.worksheets import (
    SCREEN,
    changed,
    code_of,
    correct,
    laboratory,
    report,
)
from tests.goldroom.story import item

source = pytest.mark.source


def sample(worksheet: dict[str, Any]) -> Any:
    return worksheet["samples"][0]


def test_the_grade_is_that_of_the_fractions_by_their_masses():
    state = laboratory()
    report(state, SCREEN, ScreenAssayReported)
    lot = state.get(Assay, "LOT-1/001")
    assert lot is not None
    # 18.62 g at 1250 g/t and 981.38 g at 8.42: 31.538; silver 200 and 2.0: 5.687
    assert (lot.gold, lot.silver, lot.unit) == (
        Decimal("31.538"),
        Decimal("5.687"),
        "gpt",
    )
    assert (lot.method, lot.sample, lot.wanted_for) == (
        "screen_fire_assay",
        "SMP-1",
        "lot",
    )
    assert lot.gold_determinations == 1
    assert codes(state) == []


@pytest.mark.source("Beringer, A Text-Book of Assaying (metallics); seen")
def test_beringers_metallics_as_a_worksheet():
    state = laboratory()
    beringer = changed(
        SCREEN,
        lambda w: sample(w).update(
            unit="percent",
            sample_g="400",
            coarse_g="1",
            coarse_silver="84.2",
            coarse_gold="0",
            fines_g="399",
            fines=[{"gold": "0", "silver": "0.525"}],
        ),
    )
    report(state, beringer, ScreenAssayReported)
    lot = state.get(Assay, "LOT-1/001")
    assert lot is not None
    assert (lot.silver, lot.gold) == (Decimal("0.734"), Decimal(0))
    assert codes(state) == []


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        pytest.param(lambda w: None, None, "", id="as it was"),
        pytest.param(
            lambda w: sample(w).update(sample="E-77"),
            "unknown_sample", "samples[0].sample", id="a sample never taken",
        ),
        pytest.param(
            lambda w: sample(w).update(sample="SMP-9"),
            "sample_replaced", "samples[0].sample", id="a sample replaced",
        ),
        pytest.param(
            lambda w: sample(w).update(sample="DIP-1"),
            "wrong_sort", "samples[0].sample", id="a sample of bullion",
        ),
        pytest.param(
            lambda w: w["samples"].append(sample(w)),
            "bad_field", "samples[1].sample", id="a sample twice",
        ),
        pytest.param(
            lambda w: sample(w).update(items=["BAR-1"]),
            "wrong_sort", "samples[0].items[0]", id="for a bar",
        ),
        pytest.param(
            lambda w: sample(w).update(items=["PREG-1"]),
            "wrong_sort", "samples[0].items[0]", id="for a solution",
        ),
        pytest.param(
            lambda w: w.update(laboratory="vault"),
            "wrong_sort", "laboratory", id="by the vault",
        ),
        pytest.param(
            lambda w: sample(w).update(coarse_g="0"),
            "portion_of_nothing", "samples[0].coarse_g", id="nothing on the screen",
        ),
        pytest.param(
            lambda w: sample(w).update(fines_g="0"),
            "portion_of_nothing", "samples[0].fines_g", id="nothing through it",
        ),
        pytest.param(
            lambda w: sample(w).update(sample_g="0"),
            "portion_of_nothing", "samples[0].sample_g", id="a sample of nothing",
        ),
        pytest.param(
            lambda w: sample(w).update(coarse_gold="1000001"),
            "fineness_over_1000", "samples[0].coarse_gold", id="coarse over the whole",
        ),
        pytest.param(
            lambda w: sample(w)["fines"][1].update(silver="1000001"),
            "fineness_over_1000", "samples[0].fines[1].silver",
            id="fines over the whole",
        ),
        pytest.param(
            lambda w: w.update(screen_um=0), "bad_field", "screen_um", id="no screen"
        ),
    ],
)  # fmt: skip
def test_a_worksheet_is_refused(
    change: Callable[[Any], object], code: str | None, field: str
):
    expected = None if code is None else (code, field)
    assert code_of(changed(SCREEN, change), ScreenAssayReported) == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        pytest.param(lambda w: sample(w).update(fines_g="972.00"), [], id="0.9 % lost"),
        pytest.param(
            lambda w: sample(w).update(fines_g="971.00"),
            ["fractions_not_whole"], id="1.04 % lost",
        ),
        pytest.param(
            lambda w: sample(w).update(fines_g="992.00"),
            ["fractions_not_whole"], id="1.06 % too much",
        ),
        pytest.param(
            lambda w: sample(w)["fines"][1].update(gold="9.30"),
            ["duplicates_differ"], id="fines 10.2 % apart",
        ),
        pytest.param(
            lambda w: sample(w)["fines"][1].update(gold="9.20"), [],
            id="fines 9.1 % apart",
        ),
    ],
)  # fmt: skip
def test_what_the_fractions_show_is_accepted_and_noticed(
    change: Callable[[Any], object], expected: list[str]
):
    state = laboratory()
    report(state, changed(SCREEN, change), ScreenAssayReported)
    assert codes(state) == expected
    assert item(state, "LOT-1").assays == 1


@pytest.mark.source("common practice, no source")
def test_fractions_may_lack_a_hundredth_of_the_sample():
    assert LIMITS["screen_fractions_percent"].default == 1


def test_the_finding_says_what_was_weighed():
    state = laboratory()
    lost = changed(SCREEN, lambda w: sample(w).update(fines_g="900.00"))
    report(state, lost, ScreenAssayReported)
    (told,) = noticed(state)
    assert (told.item, told.found, told.expected) == (
        "LOT-1",
        "18.62 g and 900.00 g",
        "1000.00 g together, within 1 %",
    )


def test_a_fraction_put_right_is_a_new_version_and_a_worksheet_is_taken_back():
    state = laboratory()
    report(state, SCREEN, ScreenAssayReported)
    right = changed(SCREEN, lambda w: sample(w).update(coarse_gold="1240"))
    correct(state, ScreenAssayReported, right)
    second = state.get(Assay, "LOT-1/002")
    assert second is not None
    assert second.gold == Decimal("31.352")
    state = laboratory()
    report(state, SCREEN, ScreenAssayReported)
    correct(state, ScreenAssayReported, None)
    assert item(state, "LOT-1").assays == 0


def test_worksheet_reads_aloud():
    said = report(laboratory(), SCREEN, ScreenAssayReported)
    assert said.sentence() == (
        "lab reported final screen assays at 106 µm: sample SMP-1, for LOT-1, at"
        " 31.538 g/t gold and 5.687 g/t silver (18.62 g of 1000.00 g on the screen)."
    )
