"""Gross and tare as terms, with whose error is whose."""

from decimal import Decimal

import pytest

from goldroom.custody.reading import Reading
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    mean_g,
    mean_terms,
    net_g,
    net_terms,
)
from goldroom.errors import TareMissing, TareOverGross
from tests.goldroom.room import act, room, vessel


def kg(digits: str) -> Reading:
    """Return a reading on the platform scale."""
    return Reading(reading=Decimal(digits), unit="kg", instrument="PS1")


def state_with_box() -> State:
    """Return the room with a box of unknown tare."""
    state = room()
    state.put(vessel("B1", "box", "vault", {"lid": ""}))
    return state


@pytest.mark.parametrize(
    ("weighed", "expected_g", "ids"),
    [
        pytest.param(
            Weighed(gross=kg("30.7")), "30700.0", ["e1.x.gross"], id="no vessel"
        ),
        pytest.param(
            Weighed(gross=kg("30.7"), vessel="D1"),
            "12200.0",
            ["e1.x.gross", "tare.D1"],
            id="the drum's registered 18.5 kg",
        ),
        pytest.param(
            Weighed(gross=kg("30.7"), tare=kg("18.7"), vessel="D1"),
            "12000.0",
            ["e1.x.gross", "e1.x.tare"],
            id="a tare read now wins over the registered one",
        ),
    ],
)
def test_net_is_gross_less_tare(weighed: Weighed, expected_g: str, ids: list[str]):
    state = room()
    terms = net_terms(state, act("x.weighed", entry="e1"), weighed, "x")
    assert [each.reading_id for each in terms] == ids
    summed = sum((each.coefficient * each.grams for each in terms), Decimal(0))
    assert summed == net_g(state, weighed) == Decimal(expected_g)
    assert {each.calibration for each in terms} == {"PS1-c1"}


def test_mean_of_two_readings_is_two_terms_of_half_weight():
    readings = (kg("4.9"), kg("5.0"))
    terms = mean_terms(room(), act("x.weighed", entry="e1"), readings, "bar")
    assert [each.coefficient for each in terms] == [Decimal("0.5")] * 2
    assert mean_g(readings) == Decimal(4950)


def test_a_vessel_of_unknown_tare_needs_its_tare_read():
    weighed = Weighed(gross=kg("30.7"), vessel="B1")
    with pytest.raises(TareMissing, match="Weigh it empty") as refusal:
        check_weighed(state_with_box(), act("x.weighed"), weighed, "gross", "tare")
    assert refusal.value.field == "tare"


def test_a_tare_above_the_gross_is_refused():
    weighed = Weighed(gross=kg("18.4"), vessel="D1")
    with pytest.raises(TareOverGross, match="Check which is which"):
        check_weighed(room(), act("x.weighed"), weighed, "gross", "tare")
