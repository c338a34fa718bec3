"""Who held an item at a time: by the latest act before, whoever tells it when.

Custody by the last signed act is common practice; no source.
"""

import itertools

import pytest

from goldroom.errors import OutOfRange
from goldroom.reports.held_at import held_at, wall_moment
from goldroom.reports.metal import site_clock
from goldroom.reports.trail import trail


def stay_by(found, act):
    return next(each for each in found.item.stays if each.act == act)


def test_from_the_handing_over_on_the_carrier_holds_it(told):
    found, clock = trail(told, "BAR-1"), site_clock(told)
    given = stay_by(found, "Handed over")
    answer = held_at(found, given.at, clock)
    (shipment,) = found.shipments
    assert shipment.carrier in answer.sentence
    assert shipment.carrier_person in answer.sentence
    assert answer.is_covered
    assert answer.stay == given


def test_every_stay_is_the_answer_from_its_act_to_the_next(told):
    clock = site_clock(told)
    for item in ("BAR-1", "LOT-1", "CON-1", "SLG-1"):
        found = trail(told, item)
        stays = found.item.stays
        for stay, following in itertools.pairwise(stays):
            if stay.at == following.at:
                continue
            answer = held_at(found, stay.at, clock)
            assert (answer.stay, answer.following) == (stay, following)
            assert clock.wall_text(stay.at) in answer.sentence
            assert found.people.people(stay.hands) in answer.sentence


def test_before_it_was_made_and_after_it_was_used_nobody_holds_it(told):
    found, clock = trail(told, "LOT-1"), site_clock(told)
    before = held_at(found, "2020-01-01T00:00:00Z", clock)
    after = held_at(found, "2030-01-01T00:00:00Z", clock)
    assert not before.is_covered
    assert "was not there yet" in before.sentence
    assert not after.is_covered
    assert "was gone into CON-1" in after.sentence


@pytest.mark.source("IANA time zone database: Africa/Johannesburg is UTC+02:00")
@pytest.mark.parametrize(
    ("typed", "at"),
    [
        ("2026-10-12T14:00", "2026-10-12T12:00:00Z"),
        (" 2026-10-12 14:00 ", "2026-10-12T12:00:00Z"),
        ("2026-10-12T14:00+00:00", "2026-10-12T14:00:00Z"),
    ],
)
def test_a_time_is_read_on_the_sites_clock(told, typed, at):
    clock = site_clock(told)
    assert clock.zone == "Africa/Johannesburg"
    assert wall_moment(typed, clock) == at


@pytest.mark.parametrize("typed", ["", "noon", "2026-13-01 00:00", "0001-01-01 00:00"])
def test_what_is_no_time_says_how_to_write_one(told, typed):
    with pytest.raises(OutOfRange, match="Write it as 2026-10-12 14:00"):
        wall_moment(typed, site_clock(told))
