"""Effect keys: who shares an error with whom."""

import inspect

import pytest

from goldroom.metal import effect_keys
from goldroom.metal.starting_uncertainties import STARTING, WELL_RUN, Spread


@pytest.mark.parametrize(
    ("key", "written"),
    [
        (effect_keys.scale_slope("B1", "c2"), "scale:B1:slope:c2"),
        (effect_keys.reading("w7"), "reading:w7"),
        (effect_keys.oven_bias("o1"), "oven:o1:bias"),
        (effect_keys.moisture_repeat("d1"), "moist:d1"),
        (effect_keys.sampler_bias("spear", "2"), "sampler:spear:bias:2"),
        (effect_keys.fse("s1"), "fse:s1"),
        (effect_keys.lab_bias("mine", "fa", "Au", "q3"), "lab:mine:fa:Au:q3"),
        (effect_keys.assay_repeat("a1", "Ag"), "rep:a1:Ag"),
        (effect_keys.tank_table("t1", "c1"), "tank:t1:table:c1"),
        (effect_keys.holding("h1"), "hold:h1"),
    ],
)
def test_key_is_written_as_the_table_says(key, written):
    assert key == written
    assert effect_keys.kind_of(key) == written.split(":")[0]


def test_no_two_kinds_of_error_share_a_key():
    keys = []
    for name, make in inspect.getmembers(effect_keys, inspect.isfunction):
        if name.startswith("_") or name == "kind_of":
            continue
        count = len(inspect.signature(make).parameters)
        keys.append(make(*["a", "b", "c", "d"][:count]))
    assert len(keys) > 12
    assert len(set(keys)) == len(keys)


def test_colon_in_a_name_cannot_forge_another_key():
    """A laboratory named "mine:fa" must not share the errors of another."""
    forged = effect_keys.lab_bias("mine:fa", "Au", "q3", "x")
    plain = effect_keys.lab_bias("mine", "fa", "Au:q3", "x")
    assert forged != plain
    assert effect_keys.reading("a%3Ab") != effect_keys.reading("a:b")


def test_renewal_makes_a_new_error():
    before = effect_keys.scale_slope("B1", "c1")
    assert before != effect_keys.scale_slope("B1", "c2")


def test_starting_figures_are_never_tighter_than_a_well_run_rooms():
    assert set(STARTING) == set(WELL_RUN)
    for quantity, start in STARTING.items():
        reached = WELL_RUN[quantity]
        for ours, theirs in [
            (start.random, reached.random),
            (start.shared, reached.shared),
        ]:
            assert ours.basis != theirs.basis or ours.u >= theirs.u, quantity
        assert start.standing == "engineering judgement, no published source"


@pytest.mark.parametrize(
    ("spread", "expected"),
    [
        (Spread(0.05), 10.0),
        (Spread(0.3, "kg"), 0.3),
        (Spread(0.4, "points"), 0.4),
        (Spread(0.005, "span"), 2.5),
    ],
)
def test_spread_becomes_an_amount(spread, expected):
    assert spread.absolute(value=-200.0, span=500.0) == pytest.approx(expected)
