"""The family of the last twelve, against reference libraries."""

from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from goldroom.findings.family import LAST, same_side, with_usual
from tests.goldroom.findings.things import points


@pytest.mark.source("numpy's mean and sample standard deviation as oracle")
def test_each_point_is_held_against_the_twelve_before_it():
    values = [148.2, 120.4, 138.7, 132.6, 133.4, 158.2, 129.3, 175.0, 137.4, 163.0]
    values += [156.9, 150.9, 221.5, 135.9]
    found = list(with_usual(points(*values)))
    assert [each.point.value for each in found] == [Decimal("221.5"), Decimal("135.9")]
    for n, each in enumerate(found):
        before = np.array(values[n : n + LAST])
        assert float(each.mean) == pytest.approx(before.mean(), rel=1e-12)
        assert float(each.s) == pytest.approx(before.std(ddof=1), rel=1e-12)


def test_fewer_than_twelve_before_are_no_family():
    assert list(with_usual(points(*range(LAST)))) == []
    assert len(list(with_usual(points(*range(LAST + 1))))) == 1


def test_order_is_that_of_time_whatever_order_they_come_in():
    shuffled = points(*range(13))[::-1]
    (last,) = with_usual(shuffled)
    assert last.point.value == 12


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        pytest.param([1] * 8, True, id="eight above"),
        pytest.param([-1] * 8, True, id="eight below"),
        pytest.param([1] * 7, False, id="seven"),
        pytest.param([1] * 7 + [0], False, id="one on neither side"),
        pytest.param([-1] + [1] * 8, True, id="the last eight count"),
        pytest.param([1] * 8 + [-1], False, id="the newest on the other side"),
    ],
)
def test_run_of_the_same_side(values, expected):
    assert same_side([Decimal(each) for each in values], 8) is expected


@pytest.mark.source("scipy.stats.binom as oracle")
def test_eight_on_one_side_by_chance_is_once_in_128():
    both_sides = stats.binom.pmf(8, 8, 0.5) + stats.binom.pmf(0, 8, 0.5)
    assert both_sides == pytest.approx(1 / 128)
