"""The two-product formula, its uncertainty, and when it does not hold."""

from decimal import Decimal

import pytest

from goldroom.errors import NotTwoProducts, OutOfRange
from goldroom.metal import two_product
from goldroom.metal.uncertainty import exact

source = pytest.mark.source


def measured(feed, concentrate, tails, relative):
    return {
        "feed": exact(feed).scaled_by(relative[0], "rep:f:Au"),
        "concentrate": exact(concentrate).scaled_by(relative[1], "rep:c:Au"),
        "tails": exact(tails).scaled_by(relative[2], "rep:t:Au"),
    }


@pytest.mark.parametrize(
    ("feed", "concentrate", "tails", "yielded", "recovered"),
    [
        pytest.param(
            "1.0",
            "10.0",
            "0.2",
            "8.163",
            "81.633",
            marks=source("student exercise; seen"),
        ),
        pytest.param(
            "4.00", "2400", "2.20", "0.07507", "45.041", marks=source("own example")
        ),
    ],
)
def test_yield_and_recovery_in_per_cent(feed, concentrate, tails, yielded, recovered):
    grades = {
        "feed": Decimal(feed),
        "concentrate": Decimal(concentrate),
        "tails": Decimal(tails),
    }
    places = -Decimal(yielded).as_tuple().exponent
    yield_percent = 100 * two_product.mass_yield(**grades)
    assert round(yield_percent, places) == Decimal(yielded)
    recovery_percent = 100 * two_product.metal_recovery(**grades)
    assert round(recovery_percent, 3) == Decimal(recovered)


@pytest.mark.parametrize(
    ("feed", "concentrate", "tails", "relative", "recovered", "u"),
    [
        (4.0, 2400, 2.2, (0.05, 0.05, 0.05), 0.45041, 0.0389),
        (2.0, 40, 0.3, (0.05, 0.05, 0.05), 0.8564, 0.0105),
        (2084, 340_000, 800, (0.05, 0.015, 0.04), 0.617576, 0.024602),
    ],
)
def test_recovery_is_weak_when_tails_are_close_to_feed(
    feed, concentrate, tails, relative, recovered, u
):
    """All our own worked examples, by first-order propagation."""
    found = two_product.metal_recovery(**measured(feed, concentrate, tails, relative))
    assert found.value == pytest.approx(recovered, rel=6e-5)
    assert found.u == pytest.approx(u, rel=4e-3)


def test_yield_of_the_table_example():
    """Own worked example."""
    grades = measured(2084, 340_000, 800, (0.05, 0.015, 0.04))
    found = two_product.mass_yield(**grades)
    assert found.value == pytest.approx(0.00378538, abs=5e-9)


@pytest.mark.parametrize(
    ("feed", "concentrate", "tails"),
    [
        pytest.param(14, 12, 20, marks=source("misprinted recovery page")),
        pytest.param(4, 4, 2, marks=source("own example")),
        pytest.param(2, 10, 2, marks=source("own example")),
        pytest.param(2, 10, -1, marks=source("own example")),
    ],
)
def test_grades_out_of_order_are_refused(feed, concentrate, tails):
    for formula in (two_product.mass_yield, two_product.metal_recovery):
        with pytest.raises(NotTwoProducts, match="do not fall in that order"):
            formula(
                feed=Decimal(feed),
                concentrate=Decimal(concentrate),
                tails=Decimal(tails),
            )


def test_stages_treat_what_the_last_one_left():
    """Own example: 45, 25 and 10 %."""
    stages = [Decimal("0.45"), Decimal("0.25"), Decimal("0.10")]
    assert two_product.recovery_in_stages(stages) == Decimal("0.62875")
    with pytest.raises(OutOfRange):
        two_product.recovery_in_stages([Decimal("1.1")])


def test_recovery_over_the_calculated_head():
    """Own example: 120.4 g in solution, 3.1 g in the residue."""
    found = two_product.recovery_from_products(
        recovered_g=Decimal("120.4"), left_g=Decimal("3.1")
    )
    assert round(found, 5) == Decimal("0.97490")
    with pytest.raises(OutOfRange):
        two_product.recovery_from_products(recovered_g=Decimal(0), left_g=Decimal(0))
