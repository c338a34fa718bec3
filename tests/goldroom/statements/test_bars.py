"""Bars: stamped, weighed twice, drilled, weighed again; what does not add up."""

from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.figures import latest_mass
from goldroom.custody.records import Marker, Mass
from goldroom.statements.bars import BarReweighed
from goldroom.statements.record import RecordCorrected
from tests.goldroom import story
from tests.goldroom.room import codes, noticed, reading, say
from tests.goldroom.story import before, crossings, item, upto

DRILLED = story.values("reweighed")["taken"][0]


def test_a_numbered_bar_passes_to_the_vaults_balance_with_its_mean_mass():
    state = upto("numbered")
    bar = item(state, "BAR-1")
    assert (bar.label, bar.step, bar.status) == ("KR-0101", "vault", "held")
    assert crossings(state, "BAR-1")[-1] == ("smelt", "vault", "vault")
    weighed = latest_mass(state, "BAR-1")
    assert weighed is not None
    assert weighed.net_g == Decimal("6000.450")
    assert [each.coefficient for each in weighed.terms] == [Decimal("0.5")] * 2
    stamp = state.get(Marker, "stamp:KR-0101")
    assert stamp is not None
    assert stamp.value == "BAR-1"
    assert codes(state) == []


def test_two_readings_further_apart_than_a_division_are_noticed():
    state = before("numbered")
    story.tell(state, "numbered", second=reading("6000.6", "g", "BU1"))
    assert codes(state) == ["readings_differ"]


def test_a_stamped_number_seen_twice_is_recorded_and_noticed():
    state = before("numbered_2")
    story.tell(state, "numbered_2", stamped="KR-0101")
    assert item(state, "BAR-2").label == "KR-0101"
    assert [(each.code, each.level, each.item) for each in noticed(state)] == [
        ("stamped_number_twice", "exception", "BAR-2")
    ]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"item": "BAR-9"}, "unknown_item", id="a bar nobody cast"),
        pytest.param({"item": "SLAG-1"}, "wrong_sort", id="slag for a bar"),
        pytest.param({"item": "BAR-1"}, "not_in_this_state", id="numbered before"),
        pytest.param(
            # 11400.0 g charged less 6000.45 g of the other bar leaves 5399.55 g.
            {"first": reading("5399.5", "g", "BU1")},
            None,
            id="as heavy as the charge allows",
        ),
        pytest.param(
            {"first": reading("5399.6", "g", "BU1")},
            "bar_heavier_than_charge",
            id="heavier than its charge, with the other bar",
        ),
        pytest.param(
            {"second": reading("4.900", "kg", "PS1")},
            "more_digits_than_instrument",
            id="second reading from a coarse scale, with digits it lacks",
        ),
        pytest.param(
            {"second": reading("4.9", "kg", "PS1")},
            "bad_field",
            id="second reading from another balance",
        ),
        pytest.param(
            {"first": reading("4.9", "kg", "BU1")}, "wrong_unit", id="not its unit"
        ),
    ],
)
def test_numbering_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("numbered_2"), "numbered_2", changed) == code


def test_a_charge_with_a_source_never_weighed_bounds_no_bar():
    state = upto("table")
    story.add_item(state, "SLU-1", "sludge", step="smelt")
    story.tell(state, "charge", sources=[{"item": "SLU-1"}], opened=None)
    story.tell(state, "pour")
    assert story.refused(state, "numbered", {}) is None


def test_drillings_are_held_by_the_smelt_and_the_bars_newest_mass_ships():
    state = upto("reweighed")
    drillings, newest = item(state, "DRL-1"), latest_mass(state, "BAR-1")
    assert (drillings.sort, drillings.step, drillings.parents) == (
        "sample",
        "smelt",
        ("BAR-1",),
    )
    assert newest is not None
    assert (newest.version, newest.net_g) == (2, Decimal("5992.300"))
    first = state.get(Mass, "BAR-1/001")
    assert first is not None
    assert first.net_g == Decimal("6000.450")
    # 6000.45 - 8.2 = 5992.25: the balance's 5992.3 is explained.
    assert codes(state) == []


@pytest.mark.parametrize(
    ("grams", "code"),
    [
        pytest.param("5991.3", None, id="0.95 g short, let pass"),
        pytest.param("5991.2", "item_lost_mass", id="1.05 g short"),
        pytest.param("5993.2", None, id="0.95 g over, let pass"),
        pytest.param("5993.3", "item_gained_mass", id="1.05 g over"),
    ],
)
def test_a_mass_change_beyond_the_drillings_is_noticed(grams: str, code: str | None):
    state = before("reweighed")
    story.tell(state, "reweighed", first=reading(grams, "g", "BU1"))
    assert codes(state) == ([code] if code else [])


def test_drillings_not_listed_are_a_loss():
    state = before("reweighed")
    story.tell(state, "reweighed", taken=None)
    found = noticed(state)
    assert [each.code for each in found] == ["item_lost_mass"]
    assert found[0].expected == "6000.450 g within 1 g"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({"taken": [DRILLED, DRILLED]}, "item_id_used", id="one id twice"),
        pytest.param({"item": "SLAG-1"}, "wrong_sort", id="slag for a bar"),
        pytest.param(
            {"taken": [{**DRILLED, "item": "BAR-1"}]}, "item_id_used", id="bar's own id"
        ),
    ],
)
def test_reweighing_is_refused(changed: dict[str, Any], code: str | None):
    assert story.refused(before("reweighed"), "reweighed", changed) == code


def test_a_casting_without_number_is_not_reweighed():
    state = before("numbered")
    assert story.refused(state, "reweighed", {}) == "not_in_this_state"


def test_a_bar_in_a_sealed_safe_is_not_reweighed_unless_the_safe_is_opened():
    state = upto("placed")
    assert story.refused(state, "reweighed", {"item": "BAR-2"}) == "vessel_sealed"


def test_numbering_and_reweighing_read_aloud():
    state = before("numbered")
    assert story.tell(state, "numbered").sentence() == (
        "Bar BAR-1 was stamped KR-0101 and weighed 6000.4 g and 6000.5 g."
    )
    assert story.tell(state, "reweighed").sentence() == (
        "Bar BAR-1 was weighed again after DRL-1 (8.2 g, by drill) was taken off:"
        " 5992.3 g."
    )
    two = [{**DRILLED, "item": name} for name in ("DRL-2", "DRL-3")]
    again = story.tell(before("reweighed"), "reweighed", taken=two).sentence()
    assert "DRL-3 (8.2 g, by drill) were taken off" in again


def test_an_old_weighing_put_right_is_not_the_newest_though_both_name_one_minute():
    state = upto("numbered_2")
    minute = story.STAGES["numbered"][1]
    values = {**story.values("reweighed"), "taken": [DRILLED]}
    say(state, BarReweighed, values, at=minute, entry="entry-again")
    right = story.values("numbered", first=reading("6000.6", "g", "BU1"))
    correction = {
        "entry": story.entry_of("numbered"), "mode": "figures",
        "kind": "bar.numbered", "values": right, "reason": "read again",
    }  # fmt: skip
    people = (("p-odile", "accountant"), ("p-brandt", "manager"))
    say(
        state,
        RecordCorrected,
        correction,
        at="2026-10-07T08:00:00+02:00",
        people=people,
        corrects=story.entry_of("numbered"),
    )
    newest = latest_mass(state, "BAR-1")
    assert newest is not None
    assert newest.net_g == Decimal("5992.300")
    assert item(state, "BAR-1").masses == 3
