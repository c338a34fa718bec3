"""The flow's plot: every gram drawn and tabled once, no word over another."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import combinations, pairwise

import pytest
from reportlab.graphics.shapes import Drawing, String

from goldroom.plots.flow import NOTHING_SAID, flow_plot
from goldroom.plots.flow_layout import ROOM, laid_out
from goldroom.plots.flow_steps import UNACCOUNTED, StepFlow, Way, steps_of, ways_of
from goldroom.plots.plot import WIDTH
from goldroom.reports.flow import Flow, Unaccounted, flow
from goldroom.reports.month import reconciliation
from tests.goldroom.plots.drawn import drawn_words
from tests.goldroom.plots.flows import ALL_STEPS, FLOWS, WITH_LEACH, flow_of, left_over

EACH_FLOW = pytest.mark.parametrize("name", FLOWS)


def kept_at(step: StepFlow, ways: tuple[Way, ...]) -> Decimal:
    """Return what the drawing brings to a step less what it takes away."""
    came = [way.grams for way in ways if way.to_name == step.name]
    went = [way.grams for way in ways if way.from_name == step.name]
    into = [abs(each.grams) for each in step.branches_in]
    out = [abs(each.grams) for each in step.branches_out]
    return sum(came + into, Decimal(0)) - sum(went + out, Decimal(0))


@EACH_FLOW
def test_what_is_drawn_into_a_step_is_drawn_out_of_it(name):
    for step in steps_of(FLOWS[name]):
        assert kept_at(step, ways_of(FLOWS[name])) == 0


def test_every_step_of_a_told_month_comes_to_its_unaccounted_gold(told):
    report = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    found = flow(report)
    assert steps_of(found)
    for step in steps_of(found):
        assert kept_at(step, ways_of(found)) == 0
    for each in found.unaccounted:
        gold = report.steps[each.step]["gold"]
        assert each.grams == gold.unaccounted.posted_g
        assert left_over(found.edges, each.step) == each.grams


def test_table_gives_every_edge_and_every_balance_as_reported(told):
    report = reconciliation(
        told, first_day=date(2026, 10, 1), last_day=date(2026, 10, 31)
    )
    found = flow(report)
    plot = flow_plot(found)
    edges, balances = plot.rows[: len(found.edges)], plot.rows[len(found.edges) :]
    assert [row[3] for row in edges] == [format(e.grams, "f") for e in found.edges]
    assert [(row[0], row[3]) for row in balances] == [
        (step.capitalize(), each["gold"].to_json()["unaccounted"])
        for step, each in report.steps.items()
    ]
    assert [row[4] for row in balances] == [
        each["gold"].to_json()["u"] for each in report.steps.values()
    ]


def test_missing_gold_points_out_and_gold_found_too_much_points_in():
    steps = {step.name: step for step in steps_of(FLOWS["all steps"])}
    found = flow_of(WITH_LEACH, ALL_STEPS)
    signs = {each.step: each.grams for each in found.unaccounted}
    assert signs["table"] > 0 > signs["hopper"]
    assert UNACCOUNTED in [each.sort for each in steps["table"].branches_out]
    assert UNACCOUNTED in [each.sort for each in steps["hopper"].branches_in]
    assert UNACCOUNTED not in [each.sort for each in steps["hopper"].branches_out]
    words = drawn_words(flow_plot(found).drawing)
    assert "Found too much (u 2.0 g)" in words
    assert "10 g" in words


def test_widths_are_grams_and_have_room():
    found = FLOWS["all steps"]
    layout = laid_out(steps_of(found), ways_of(found), 0)
    for level in layout.levels:
        for slot in (*level.above, *level.below, *level.passing):
            grams = abs(float(slot.thing.grams))
            assert slot.wide == pytest.approx(max(4.0, grams * layout.scale))
        assert level.right <= ROOM


@EACH_FLOW
def test_no_slot_lies_over_another(name):
    found = FLOWS[name]
    for level in laid_out(steps_of(found), ways_of(found), 0).levels:
        for side in (level.above, level.below):
            slots = sorted((*level.passing, *side), key=lambda slot: slot.x)
            for left, right in pairwise(slots):
                assert left.x + left.wide < right.x


@EACH_FLOW
def test_no_words_lie_over_others_or_off_the_drawing(name):
    drawing = flow_plot(FLOWS[name]).drawing
    boxes = words_boxes(drawing)
    for left, low, right, high in boxes:
        assert left >= 0
        assert low >= 0
        assert right <= WIDTH
        assert high <= drawing.height
    for one, other in combinations(boxes, 2):
        aside = one[2] <= other[0] or other[2] <= one[0]
        assert aside or one[3] <= other[1] or other[3] <= one[1]


@EACH_FLOW
def test_no_words_are_drawn_too_small_to_read(name):
    for each in flow_plot(FLOWS[name]).drawing.contents:
        if isinstance(each, String):
            assert each.fontSize >= 11


def words_boxes(drawing: Drawing) -> list[tuple[float, ...]]:
    """Return the rectangle that each text of the drawing takes."""
    return [each.getBounds() for each in drawing.contents if isinstance(each, String)]


def test_steps_without_gold_are_left_out():
    assert [step.name for step in steps_of(FLOWS["one load"])] == ["hopper"]
    words = drawn_words(flow_plot(FLOWS["one load"]).drawing)
    assert "Hopper" in words
    assert "Vault" not in words


def test_many_sorts_are_drawn_as_most_and_others_and_all_tabled():
    plot = flow_plot(FLOWS["many sorts"])
    words = drawn_words(plot.drawing)
    assert "Slag out" in words
    assert "2 other sorts out" in words
    assert "70 g" in words
    assert ("Table", "Outside", "Sweepings", "30.000", "1.000") in plot.rows


def test_less_than_nothing_stands_on_the_other_side_with_its_sign():
    leach = next(s for s in steps_of(FLOWS["less than nothing held"]))
    assert leach.name == "leach"
    assert [each.grams for each in leach.branches_in] == [
        Decimal("-4.500"),
        Decimal("50.000"),
    ]
    assert "-4 g" in drawn_words(flow_plot(FLOWS["less than nothing held"]).drawing)


def test_joined_steps_are_named_together_and_what_passes_within_is_only_tabled():
    plot = flow_plot(FLOWS["hopper and table as one"])
    words = drawn_words(plot.drawing)
    assert "Hopper and table" in words
    assert "On to table" not in words
    assert ("Hopper", "Table", "Lot", "1010.250", "1.000") in plot.rows


def test_many_joined_steps_are_drawn_by_first_and_last_and_told_in_full():
    plot = flow_plot(FLOWS["all but the vault as one"])
    assert "Back to hopper\N{EN DASH}smelt" in drawn_words(plot.drawing)
    joined = "Hopper, table, leach, electrowinning and smelt"
    assert f"{joined}: 35 g missing (standard uncertainty 2.0 g)." in plot.sentence
    assert plot.rows[-2][:2] == (joined, "Not accounted for")


def test_empty_period_says_that_nothing_moved():
    plot = flow_plot(FLOWS["empty"])
    assert plot.sentence == NOTHING_SAID
    assert drawn_words(plot.drawing) == [NOTHING_SAID]


def test_balance_without_a_figure_is_named_as_not_balanced():
    found = FLOWS["all steps"]
    unknown = Unaccounted(step="leach", grams=None, u_g=None)
    told = Flow(
        edges=found.edges,
        unaccounted=tuple(
            unknown if each.step == "leach" else each for each in found.unaccounted
        ),
        unmeasured=tuple(f"SOL-{n}" for n in range(7)),
    )
    plot = flow_plot(told)
    assert "Leach (not balanced)" in drawn_words(plot.drawing)
    assert "Not balanced: leach." in plot.sentence
    assert "SOL-4 and 2 more." in plot.sentence
    assert ("Leach", "Not accounted for", "", "no figure", "") in plot.rows


def test_sentence_sums_what_was_held_came_and_went():
    assert flow_plot(FLOWS["all steps"]).sentence.startswith(
        "40 g of gold was held at the start, 960 g came in, 577 g went out"
        " and 388 g was held at the end."
    )


def test_period_in_which_gold_only_lay_still_says_so():
    lying = tuple(
        replace(each, role=role, from_step=start, to_step=end)
        for each in FLOWS["one load"].edges[:1]
        for role, start, end in (("opening", "", "hopper"), ("closing", "hopper", ""))
    )
    assert flow_plot(flow_of(lying, ("hopper",))).sentence == (
        "Nothing passed in these days; 27 g of gold was held at the start and"
        " 27 g at the end."
    )
