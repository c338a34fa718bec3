"""One person's detector alarms, cleared by hand search again and again."""

from datetime import UTC, datetime

import pytest

from goldroom.custody.room import DetectorAlarm
from goldroom.findings.doors import alarms_cleared_by_hand
from tests.goldroom.findings.things import threshold

SOURCE = pytest.mark.source("common practice, no source")
NOW = datetime(2026, 11, 30, tzinfo=UTC)


def alarm(when: str, who: str = "p-leith", **more) -> DetectorAlarm:
    """Return an alarm at a time of 2026 ("10-05 06:00"), cleared by hand."""
    at = f"2026-{when.replace(' ', 'T')}:00Z"
    plain = {
        "entry": f"e-{when}-{who}",
        "who": who,
        "is_visitor": False,
        "place": "gold_room",
        "detector": "G1",
        "cleared": "hand_search",
        "cleared_by": "p-sefu",
        "at": at,
        "known_at": at,
    }
    return DetectorAlarm(**{**plain, **more})


def found(alarms, *, count="3", days="14", now=NOW):
    """Return what the rule finds under the limits as they come."""
    return alarms_cleared_by_hand(
        alarms,
        at_least=threshold("detector_alarms_count", count, "alarms"),
        within=threshold("detector_alarms_d", days, "d"),
        now=now,
    )


@SOURCE
@pytest.mark.parametrize(
    ("situation", "alarms", "is_found"),
    [
        ("two", [alarm("10-05 06:00"), alarm("10-06 06:00")], False),
        (
            "three in fourteen days to the minute",
            [alarm("10-05 06:00"), alarm("10-06 06:00"), alarm("10-19 06:00")],
            True,
        ),
        (
            "three in a minute more",
            [alarm("10-05 06:00"), alarm("10-06 06:00"), alarm("10-19 06:01")],
            False,
        ),
        (
            "three of two persons",
            [alarm("10-05 06:00"), alarm("10-06 06:00"), alarm("10-07 06:00", "p-x")],
            False,
        ),
        (
            "one that stayed silent the second time",
            [
                alarm("10-05 06:00"),
                alarm("10-06 06:00"),
                alarm("10-07 06:00", cleared="walked_again"),
            ],
            False,
        ),
        (
            "told in another order",
            [alarm("10-07 06:00"), alarm("10-05 06:00"), alarm("10-06 06:00")],
            True,
        ),
    ],
)
def test_alarms_of_one_person_cleared_by_hand(situation, alarms, is_found):
    assert bool(found(alarms)) == is_found, situation


def test_finding_names_the_person_the_alarms_and_the_limits():
    alarms = [alarm("10-05 06:00"), alarm("10-06 06:00"), alarm("10-07 06:00")]
    (each,) = found(alarms)
    assert (each.code, each.level, each.item) == (
        "detector_alarms_often",
        "exception",
        "p-leith",
    )
    assert each.at == "2026-10-07T06:00:00Z"
    assert each.found == (
        "3 alarms of p-leith cleared by hand search between 2026-10-05T06:00:00Z and"
        " 2026-10-07T06:00:00Z (gold_room)"
    )
    assert each.expected == (
        "fewer than 3 alarms (limit detector_alarms_count) in 14 d (limit"
        " detector_alarms_d)"
    )


def test_old_alarms_stay_found_and_a_later_stretch_is_a_later_finding():
    first = [alarm("08-05 06:00"), alarm("08-06 06:00"), alarm("08-07 06:00")]
    lone = alarm("09-30 06:00")
    assert [each.at for each in found([*first, lone])] == ["2026-08-07T06:00:00Z"]
    again = [alarm("10-01 06:00"), alarm("10-02 06:00")]
    (latest,) = found([*first, lone, *again])
    assert latest.at == "2026-10-02T06:00:00Z"


def test_a_visitor_is_known_by_name_whatever_the_spacing():
    alarms = [
        alarm(f"10-0{n} 06:00", name, is_visitor=True)
        for n, name in ((5, "Mirel Tanco"), (6, "mirel tanco"), (7, "MIREL  TANCO"))
    ]
    assert [each.item for each in found(alarms)] == ["MIREL  TANCO"]
    assert found([*alarms[:2], alarm("10-07 06:00", "mirel tanco")]) == []


@pytest.mark.parametrize(("count", "fewest"), [("2", 2), ("2.5", 3), ("0", 1)])
def test_limit_that_is_no_whole_number_counts_up(count, fewest):
    alarms = [alarm(f"10-0{n} 06:00") for n in range(1, 6)]
    assert bool(found(alarms[:fewest], count=count))
    assert not found(alarms[: fewest - 1], count=count)


def test_alarms_after_the_moment_asked_for_are_not_known_then():
    alarms = [alarm("10-05 06:00"), alarm("10-06 06:00"), alarm("10-07 06:00")]
    then = datetime(2026, 10, 7, 5, 59, tzinfo=UTC)
    assert found(alarms, now=then) == []
