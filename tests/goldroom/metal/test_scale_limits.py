"""Limits of weights and instruments against the OIML tables."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from goldroom.errors import (
    ClassDoesNotFit,
    UnknownAccuracyClass,
    UnknownNominalMass,
)
from goldroom.metal import scale_limits

source = pytest.mark.source
TABLE = Path(__file__).parents[3] / "fixtures/metal/oiml_r111_1_table1.csv"


def published_limits():
    with TABLE.open(newline="") as lines:
        for row in csv.DictReader(lines):
            for weight_class in scale_limits.WEIGHT_CLASSES:
                yield pytest.param(
                    row["nominal_g"],
                    weight_class,
                    row[f"{weight_class}_mg"],
                    marks=source("OIML R 111-1:2004 Table 1; seen"),
                )


@pytest.mark.parametrize(("nominal", "weight_class", "limit"), list(published_limits()))
def test_weights_have_the_published_limit(nominal, weight_class, limit):
    found = scale_limits.weight_limit_mg(
        nominal_g=Decimal(nominal), weight_class=weight_class
    )
    assert found == Decimal(limit)


def test_unknown_weights_are_refused():
    with pytest.raises(UnknownAccuracyClass, match="E2, F1, F2, M1, M2"):
        scale_limits.weight_limit_mg(nominal_g=Decimal(1), weight_class="Z9")
    with pytest.raises(UnknownNominalMass, match="300 g is not a nominal mass"):
        scale_limits.weight_limit_mg(nominal_g=Decimal(300), weight_class="M1")


R76 = "OIML R 76-1 Table 6; seen"


@pytest.mark.parametrize(
    ("accuracy_class", "load_in_intervals", "limit_in_intervals"),
    [
        pytest.param(accuracy_class, load, limit, marks=source(R76))
        for accuracy_class, low, middle in [
            ("I", 50_000, 200_000),
            ("II", 5_000, 20_000),
            ("III", 500, 2_000),
            ("IIII", 50, 200),
        ]
        for load, limit in [
            (low, "0.5"),
            (low + 1, "1.0"),
            (middle, "1.0"),
            (middle + 1, "1.5"),
        ]
    ],
)
def test_instrument_limit_steps_up_where_the_table_says(
    accuracy_class, load_in_intervals, limit_in_intervals
):
    interval = Decimal("0.01")
    asked = {
        "accuracy_class": accuracy_class,
        "load_g": load_in_intervals * interval,
        "interval_g": interval,
    }
    limit = Decimal(limit_in_intervals) * interval
    assert scale_limits.verification_limit_g(**asked) == limit
    assert scale_limits.in_service_limit_g(**asked) == 2 * limit


@pytest.mark.parametrize(
    ("accuracy_class", "interval", "load", "limit"),
    [
        *[
            ("II", "1", load, limit)
            for load, limit in [
                ("5000", "0.5"),
                ("5001", "1.0"),
                ("12441", "1.0"),
                ("20000", "1.0"),
                ("20001", "1.5"),
            ]
        ],
        *[
            ("III", "10", load, limit)
            for load, limit in [
                ("5000", "5"),
                ("5010", "10"),
                ("20000", "10"),
                ("20010", "15"),
            ]
        ],
    ],
)
def test_limits_in_grams(accuracy_class, interval, load, limit):
    """Own examples."""
    found = scale_limits.verification_limit_g(
        accuracy_class=accuracy_class,
        load_g=Decimal(load),
        interval_g=Decimal(interval),
    )
    assert found == Decimal(limit)


R76_3 = "OIML R 76-1 Table 3; seen"


@pytest.mark.parametrize(
    ("accuracy_class", "interval", "capacity", "least"),
    [
        pytest.param("I", "0.001", "50", "0.1", marks=source(R76_3)),
        pytest.param("I", "0.001", "49.999", None, marks=source(R76_3)),
        pytest.param("II", "0.01", "1000", "0.2", marks=source(R76_3)),
        pytest.param("II", "0.1", "500", "5.0", marks=source(R76_3)),
        pytest.param("II", "0.1", "499.9", None, marks=source(R76_3)),
        pytest.param("II", "0.1", "10000.1", None, marks=source(R76_3)),
        pytest.param("III", "1", "10000", "20", marks=source(R76_3)),
        pytest.param("III", "5", "2495", None, marks=source(R76_3)),
        pytest.param("IIII", "5", "5000", "50", marks=source(R76_3)),
        pytest.param("IIII", "2", "1000", None, marks=source(R76_3)),
    ],
)
def test_class_fixes_the_least_load_or_does_not_fit(
    accuracy_class, interval, capacity, least
):
    asked = {
        "accuracy_class": accuracy_class,
        "capacity_g": Decimal(capacity),
        "interval_g": Decimal(interval),
    }
    if least is not None:
        assert scale_limits.least_capacity_g(**asked) == Decimal(least)
        return
    with pytest.raises(ClassDoesNotFit):
        scale_limits.least_capacity_g(**asked)


@pytest.mark.parametrize("named", ["V", "ii", ""])
def test_unknown_accuracy_class_is_refused(named):
    asked = {"accuracy_class": named, "interval_g": Decimal(1)}
    with pytest.raises(UnknownAccuracyClass, match="I, II, III, IIII"):
        scale_limits.verification_limit_g(load_g=Decimal(1), **asked)
    with pytest.raises(UnknownAccuracyClass):
        scale_limits.least_capacity_g(capacity_g=Decimal(1), **asked)
