"""What loads weighed per flush, and the limits of their own history."""

from decimal import Decimal

import pytest

from goldroom.reports.cleanups import D2, centre_and_spread, cleanups
from goldroom.reports.figures import dry_g


@pytest.mark.source(
    "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flowrate example,"
    " from memory"
)
def test_limits_are_those_of_the_handbooks_example():
    """Batches 1 to 10 of the handbook: mean 50.81, mean moving range 1.8778."""
    tenths = [496, 476, 499, 513, 478, 512, 526, 524, 536, 521]
    centre, spread = centre_and_spread([Decimal(each) / 10 for each in tenths])
    assert centre == Decimal("50.81")
    assert spread is not None
    assert round(centre + spread, 3) == Decimal("55.804")
    assert round(centre - spread, 3) == Decimal("45.816")
    assert Decimal("1.128") == D2


def test_below_eight_points_there_are_no_limits():
    assert centre_and_spread([Decimal(n) for n in range(7)]) == (None, None)
    assert centre_and_spread([Decimal(n) for n in range(8)])[0] is not None


def test_every_load_is_there_once_with_its_dry_mass(told_once):
    found = cleanups(told_once.ledger_id)
    loads = [each for family in found for each in family.cleanups]
    assert loads
    assert len({each.load for each in loads}) == len(loads)
    dry = dry_g(told_once.ledger_id, [each.load for each in loads])
    for each in loads:
        assert each.dry_kg * 1000 == dry[each.load]
        assert each.kg_per_flush * each.flushes == pytest.approx(each.dry_kg)


def test_a_load_of_two_concentrators_belongs_to_both(told_once):
    families = {each.units for each in cleanups(told_once.ledger_id)}
    assert ("U1", "U2") in families


def test_only_loads_of_the_days_asked_for_are_shown(told_once):
    whole = [one for each in cleanups(told_once.ledger_id) for one in each.cleanups]
    cut = sorted(one.at for one in whole)[-1]
    after = cleanups(told_once.ledger_id, from_at=cut)
    assert [one.at for each in after for one in each.cleanups] == [cut]
    before = cleanups(told_once.ledger_id, to_at=cut)
    assert len([one for each in before for one in each.cleanups]) == len(whole) - 1
