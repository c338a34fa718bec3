"""Limits, the gravity model and the mill's day."""

from decimal import Decimal

import pytest

from goldroom.custody.records import GravityModel, Limit, MillDay
from goldroom.statements.limits import (
    LIMITS,
    GravityModelSet,
    LimitSet,
    MillDayReported,
    limit_value,
)
from tests.goldroom.room import AT, codes, refused, room, say

LIMIT = {
    "limit": "stock_age_d",
    "value": "10",
    "unit": "d",
    "reason": "the insurer asks for it",
}
MODEL = {
    "model": "main",
    "grg_fraction": "0.55",
    "survival_b": "0.98",
    "to_underflow_c": "0.98",
    "treated_p": "0.25",
    "recovery_rho0": "0.65",
    "saturation_tau_min": "90",
    "silver_to_gold": "0.12",
}
DAY = {
    "day": "2026-10-04",
    "feed_t": "1812.5",
    "gold_gpt": "4.02",
    "silver_gpt": "1.10",
}


def test_a_limit_holds_its_default_until_it_is_set():
    state = room()
    assert limit_value(state, "stock_age_d") == 14
    said = say(state, LimitSet, LIMIT, entry="entry-5")
    assert limit_value(state, "stock_age_d") == 10
    assert state.get(Limit, "stock_age_d").set_by == "entry-5"
    assert said.sentence() == (
        "The limit stock_age_d (age of bars held in the vault) is 10 d from now on:"
        " the insurer asks for it."
    )


def test_a_limit_set_again_remembers_the_values_it_had():
    state = room()
    for value in ("10", "9", "8"):
        say(state, LimitSet, {**LIMIT, "value": value}, entry=f"entry-{value}")
    limit = state.get(Limit, "stock_age_d")
    assert limit is not None
    assert (limit.value, limit.known_at) == (8, "2026-10-05T04:20:00Z")
    assert [(each.value, each.set_by) for each in limit.earlier] == [
        (10, "entry-10"),
        (9, "entry-9"),
    ]


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("in its own unit", {}, None),
        ("in another unit", {"unit": "h"}, "bad_field"),
        ("a limit nobody knows", {"limit": "luck"}, "bad_field"),
        ("below zero", {"value": "-1"}, "bad_field"),
        ("not a figure", {"value": "ten"}, "not_a_figure"),
    ],
)
def test_limit_is_set_or_refused(situation, change, code):
    assert refused(room(), LimitSet, {**LIMIT, **change}) == code, situation


def test_the_limit_for_late_entries_is_the_one_the_fold_uses():
    state = room()
    say(
        state, LimitSet, {**LIMIT, "limit": "entered_late_h", "value": "8", "unit": "h"}
    )
    say(state, LimitSet, LIMIT, late_h=7)
    assert codes(state) == []
    say(state, LimitSet, LIMIT, late_h=9)
    assert codes(state) == ["entered_late"]


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_every_limit_can_be_set_in_its_own_unit(name):
    state = room()
    values = {"limit": name, "value": "3.5", "unit": LIMITS[name].unit, "reason": "so"}
    said = say(state, LimitSet, values)
    assert limit_value(state, name) == Decimal("3.5")
    assert LIMITS[name].meaning in said.sentence()


def test_a_gravity_model_is_kept_with_the_time_it_came_in_force():
    state = room()
    said = say(state, GravityModelSet, MODEL)
    model = state.get(GravityModel, "main/2026-10-05T04:10:00Z")
    assert model is not None
    assert model.known_at == "2026-10-05T04:20:00Z"
    assert model.grg_fraction == Decimal("0.55")
    assert "0.55 of the feed's gold" in said.sentence()
    assert "90 minutes" in said.sentence()


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("all fractions", {}, None),
        ("per cent for a fraction", {"grg_fraction": "55"}, "bad_field"),
        ("below zero", {"treated_p": "-0.1"}, "bad_field"),
        ("no time to fill up", {"saturation_tau_min": "0"}, "bad_field"),
    ],
)
def test_gravity_model_is_set_or_refused(situation, change, code):
    assert refused(room(), GravityModelSet, {**MODEL, **change}) == code, situation


def test_a_mill_day_reported_again_is_a_version_beside_the_first():
    state = room()
    said = say(state, MillDayReported, DAY)
    say(state, MillDayReported, {**DAY, "gold_gpt": "3.95"})
    first = state.get(MillDay, "2026-10-04/001")
    second = state.get(MillDay, "2026-10-04/002")
    assert (first.gold_gpt, second.gold_gpt) == (Decimal("4.02"), Decimal("3.95"))
    assert said.sentence() == (
        "On 2026-10-04 the mill was fed 1812.5 t of dry ore at 4.02 g/t gold and 1.10"
        " g/t silver."
    )


def test_a_mill_day_that_has_not_come_is_refused():
    values = {**DAY, "day": "2026-10-06"}
    assert refused(room(), MillDayReported, values, at=AT) == "occurred_in_future"
