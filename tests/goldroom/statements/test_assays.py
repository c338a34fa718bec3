"""Assays: results stand side by side; a sum above the whole is noticed."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.records import Assay, Marker
from goldroom.statements.assays import AssayReported
from tests.goldroom import story
from tests.goldroom.room import codes, say
from tests.goldroom.story import CHEMISTS, before, item, upto

RESULT = story.values("assayed")["results"][0]


def report(state: Any, *, at: str = "2026-10-12T10:00:00+02:00", **changed: Any) -> Any:
    """Say the story's report with some values changed."""
    return say(
        state, AssayReported, story.values("assayed", **changed), at=at, people=CHEMISTS
    )


def test_one_result_speaks_for_all_its_items_and_they_share_the_sample():
    state = upto("assayed")
    found = [state.get(Assay, f"{name}/001") for name in ("BAR-1", "BAR-2", "DIP-1")]
    assert all(each is not None for each in found)
    known = [each for each in found if each is not None]
    assert {(each.gold, each.sample, each.wanted_for) for each in known} == {
        (Decimal("842.6"), "E-1", "bar")
    }
    assert {each.assay_id for each in known} == {"entry-of-assayed.results[0]"}


def test_standings_stack_and_nothing_is_overwritten():
    state = upto("assayed")
    report(state, standing="final", results=[{**RESULT, "gold": "843.1"}])
    first, second = (state.get(Assay, f"BAR-1/00{n}") for n in (1, 2))
    assert first is not None
    assert second is not None
    assert (first.standing, first.gold) == ("provisional", Decimal("842.6"))
    assert (second.standing, second.gold) == ("final", Decimal("843.1"))
    assert item(state, "BAR-1").assays == 2


def test_things_that_left_or_were_used_up_are_still_assayed():
    state = upto("melted")
    report(state, results=[{**RESULT, "items": ["TAILS-1", "BAR-1", "MELT-1"]}])
    wanted = {name: state.get(Assay, f"{name}/00{n}") for name, n in
              (("TAILS-1", 1), ("BAR-1", 2), ("MELT-1", 2))}  # fmt: skip
    assert {name: each.wanted_for for name, each in wanted.items() if each} == {
        "TAILS-1": "table_tails",
        "BAR-1": "bar",
        "MELT-1": "melt",
    }


@pytest.mark.parametrize(
    ("unit", "gold", "silver", "base", "code"),
    [
        pytest.param("permille", "842.6", "119.2", "38.2", None, id="1000.0 together"),
        pytest.param(
            "permille", "842.6", "119.2", "38.3", "fineness_sum_over_1000", id="1000.1"
        ),
        pytest.param("percent", "60", "40", None, None, id="100 per cent together"),
        pytest.param(
            "percent", "60", "40.1", None, "fineness_sum_over_1000", id="100.1 per cent"
        ),
        pytest.param("gpt", "25000", "9000", None, None, id="rich concentrate"),
    ],
)
def test_metals_that_add_up_to_more_than_the_whole_are_noticed(
    unit: str, gold: str, silver: str, base: str | None, code: str | None
):
    state = before("assayed")
    row = {**RESULT, "unit": unit, "gold": gold, "silver": silver, "base": base}
    story.tell(state, "assayed", results=[row])
    assert codes(state) == ([code] if code else [])


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({"gold": "1000.1"}, "fineness_over_1000", id="gold over 1000 ‰"),
        pytest.param(
            {"unit": "percent", "gold": "100.01"}, "fineness_over_1000", id="over 100 %"
        ),
        pytest.param(
            {"unit": "gpt", "silver": "1000001"}, "fineness_over_1000", id="over 1 t/t"
        ),
        pytest.param({"items": ["BAR-9"]}, "unknown_item", id="a bar nobody cast"),
        pytest.param({"items": ["CHG-1"]}, "wrong_sort", id="a charge"),
        pytest.param({"items": ["BAR-1", "BAR-1"]}, "bad_field", id="a bar twice"),
        pytest.param({"gold": "8,4"}, "not_a_figure", id="a comma"),
        pytest.param({"unit": "oz"}, "bad_field", id="no such unit"),
    ],
)
def test_a_result_is_refused(changed: dict[str, Any], code: str | None):
    rows = {"results": [{**RESULT, **changed}]}
    assert story.refused(before("assayed"), "assayed", rows) == code


def test_a_vault_is_no_laboratory():
    changed = {"laboratory": "vault"}
    assert story.refused(before("assayed"), "assayed", changed) == "wrong_sort"


def test_a_sample_that_was_replaced_yields_no_result():
    state = before("assayed")
    state.put(Marker(name="replaced:E-1", value="E-2", entry="entry-again"))
    assert story.refused(state, "assayed", {}) == "sample_replaced"
    row = {**RESULT, "sample": "E-2"}
    assert story.refused(state, "assayed", {"results": [row]}) is None


@pytest.mark.parametrize(
    ("parent", "wanted_for"),
    [
        pytest.param("CON-1", "table_concentrate", id="of concentrate"),
        pytest.param("BAR-1", "bar", id="of a bar"),
        pytest.param("CHG-1", "bar", id="of a melt"),
        pytest.param("CUT-1", "table_concentrate", id="split off one of concentrate"),
        pytest.param("LEACH-1", "solution", id="of what leaches"),
    ],
)
def test_a_samples_own_result_tells_of_what_it_was_taken_from(
    parent: str, wanted_for: str
):
    state = before("assayed")
    for name, sort, source in (
        ("CUT-1", "sample", "CON-1"),
        ("LEACH-1", "leach_batch", "LOT-1"),
    ):
        story.add_item(state, name, sort, step="leach")
        state.put(replace(item(state, name), parents=(source,)))
    dip = item(state, "DIP-1")
    state.put(replace(dip, parents=(parent,)))
    report(state, results=[{**RESULT, "items": ["DIP-1"]}])
    found = state.get(Assay, "DIP-1/001")
    assert found is not None
    assert found.wanted_for == wanted_for


def test_what_leaches_is_not_assayed_itself():
    state = before("assayed")
    story.add_item(state, "LEACH-1", "leach_batch", step="leach")
    rows = {"results": [{**RESULT, "items": ["LEACH-1"]}]}
    assert story.refused(state, "assayed", rows) == "wrong_sort"


def test_report_reads_aloud():
    assert story.tell(before("assayed"), "assayed").sentence() == (
        "lab reported provisional assays by fire assay: BAR-1, BAR-2 and DIP-1 at"
        " 842.6 ‰ gold and 119.2 ‰ silver (sample E-1)."
    )
