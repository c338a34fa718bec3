"""What is held now, by step and place, with its metal as known."""

import pytest

from goldroom.reports.holdings import holdings
from tests.goldroom import small_mine


def step(found, name):
    return next(each for each in found.steps if each.step == name)


def items(found, name):
    return [each.item for each in step(found, name).holdings]


def test_what_left_the_room_is_no_longer_held(told):
    found = holdings(told)
    assert items(found, "hopper") == []
    assert items(found, "table") == ["MID-1"]
    assert sorted(items(found, "smelt")) == ["DIP-1", "SLG-0", "SLG-1"]
    assert items(found, "vault") == []


@pytest.mark.parametrize(
    ("upto", "held"),
    [
        ("LD-2", {"hopper": ["LD-1", "LD-2"], "table": []}),
        ("emptied", {"hopper": [], "table": ["LOT-1"]}),
        ("charge", {"table": ["MID-1"], "smelt": ["SLG-0", "CON-1"]}),
        ("placed", {"vault": ["BAR-1", "BAR-2"]}),
        ("handed over", {"vault": ["BAR-1", "BAR-2"]}),
    ],
)
def test_metal_is_held_by_the_step_it_is_in(fresh_db, upto, held):
    found = holdings(small_mine.tell(upto=upto))
    for name, expected in held.items():
        assert items(found, name) == expected


def test_flushes_listed_and_not_yet_weighed_wait_without_metal(fresh_db):
    found = holdings(small_mine.tell(upto="sheet/1"))
    assert found.waiting_flushes == (
        *(f"U1-1-{n}" for n in range(11, 15)),
        *(f"U2-1-{n}" for n in range(21, 25)),
    )
    assert items(found, "hopper") == []


def test_holding_says_where_it_is_and_under_which_seals(fresh_db):
    found = step(holdings(small_mine.tell(upto="placed")), "vault")
    bar = found.holdings[0]
    assert (bar.place, bar.vessel, bar.seals) == ("vault", "S1", ("S-0008",))
    assert (bar.label, bar.standing, bar.is_provisional) == (
        "KR-0101",
        "provisional",
        True,
    )


def test_gold_of_bars_is_mass_times_fineness(fresh_db):
    """Fine gold = mass x fineness: 120.7 g and 118.0 g at 860.0 permille."""
    found = step(holdings(small_mine.tell(upto="placed")), "vault")
    assert [bar.gold.grams for bar in found.holdings] == ["103.802", "101.480"]
    assert found.gold.grams == "205.282"
    assert found.is_provisional


def test_estimate_is_shown_with_its_own_uncertainty(told):
    slag = next(
        each for each in step(holdings(told), "smelt").holdings if each.item == "SLG-0"
    )
    assert slag.how == "estimate"
    assert str(slag.gold) == "14.0 ± 4.0 g"
