"""Usual ranges of the trade: common practice, no source; a question, no refusal."""

import pytest

from goldroom.metal import plausibility
from goldroom.metal.plausibility import USUAL

source = pytest.mark.source
TRADE = "common practice, no source"


@pytest.mark.parametrize(
    ("quantity", "usual", "unusual"),
    [
        pytest.param("semi_continuous_mass_pull", 0.05, 1.5, marks=source(TRADE)),
        pytest.param("continuous_mass_pull", 40, 41, marks=source(TRADE)),
        pytest.param("continuous_concentrate_solids", 72, 65, marks=source(TRADE)),
        pytest.param("unit_feed", 150, 151, marks=source(TRADE)),
        pytest.param("unit_feed", 1, 0.5, marks=source(TRADE)),
        pytest.param("semi_continuous_force", 200, 260, marks=source(TRADE)),
        pytest.param("continuous_force", 300, 301, marks=source(TRADE)),
        pytest.param("feed_per_bowl_surface", 150 / 6, 26, marks=source(TRADE)),
        pytest.param("flushes_per_day", 24, 51, marks=source(TRADE)),
        pytest.param("gold_current_efficiency", 6.192, 12, marks=source(TRADE)),
        pytest.param(
            "grg_fraction",
            63,
            95,
            marks=source("Laplante, a standardized test to determine GRG; seen"),
        ),
    ],
)
def test_unusual_figure_gets_a_question_and_a_usual_one_none(quantity, usual, unusual):
    assert USUAL[quantity].question(usual) is None
    asked = USUAL[quantity].question(unusual)
    assert asked is not None
    assert asked.quantity == quantity
    assert asked.sentence.endswith("Is that what was seen?")


def test_site_sets_its_own_limits():
    ours = USUAL["unit_feed"].with_limits(low=20, high=None)
    assert ours.question(200) is None
    assert ours.question(19) is not None
    assert ours.standing == "set by the site"
    assert USUAL["unit_feed"].question(200) is not None


def test_every_range_says_where_it_comes_from():
    standings = {usual.standing for usual in USUAL.values()}
    assert plausibility.COMMON_PRACTICE in standings
    assert all(standings)
