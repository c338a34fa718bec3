"""Wet and dry: worked exercises, and figures that cannot be."""

from decimal import Decimal

import pytest

from goldroom.errors import (
    DryHeavierThanWet,
    MoistureOver100,
    NegativeFigure,
    OutOfRange,
    TareOverGross,
)
from goldroom.metal import moisture
from goldroom.metal.uncertainty import reading

source = pytest.mark.source


@pytest.mark.parametrize(
    ("wet", "percent", "dry"),
    [
        pytest.param("5500", "12", "4840", marks=source("student exercise; seen")),
        pytest.param("1363.6", "12.0", "1199.968", marks=source("own example")),
        pytest.param("10", "0", "10", marks=source("own example")),
        pytest.param("10", "100", "0", marks=source("own example")),
    ],
)
def test_dry_mass_is_what_is_left_without_the_water(wet, percent, dry):
    found = moisture.dry_mass(wet_mass=Decimal(wet), moisture_percent=Decimal(percent))
    assert found == Decimal(dry)


def test_measured_dry_mass_carries_the_errors_of_mass_and_moisture():
    wet = reading(1000, 2, "reading:w")
    percent = reading(10, 0.5, "moist:d")
    dry = moisture.dry_mass(wet_mass=wet, moisture_percent=percent)
    assert dry.value == pytest.approx(900)
    assert dict(dry.effects) == pytest.approx({"reading:w": 1.8, "moist:d": -5.0})


@pytest.mark.parametrize(
    ("percent", "refusal"),
    [("100.01", MoistureOver100), ("-0.1", NegativeFigure)],
)
def test_moisture_outside_the_wet_mass_is_refused(percent, refusal):
    with pytest.raises(refusal) as refused:
        moisture.check_moisture(Decimal(percent))
    assert refused.value.field == "moisture_percent"
    with pytest.raises(refusal):
        moisture.dry_mass(wet_mass=Decimal(1), moisture_percent=Decimal(percent))


def test_moisture_of_exactly_100_is_accepted():
    assert moisture.check_moisture(Decimal(100)) == 100


@pytest.mark.parametrize(
    ("left", "water", "percent"),
    [pytest.param("0.69", "455.4", "8.600", marks=source("student exercise; seen"))],
)
def test_draining_takes_water_and_no_solids(left, water, percent):
    after = moisture.drained(
        wet_mass=Decimal(5500),
        moisture_percent=Decimal(12),
        water_left_fraction=Decimal(left),
    )
    assert after.dry_mass == 4840
    assert after.water_mass == Decimal(water)
    assert round(after.moisture_percent, 3) == Decimal(percent)


@pytest.mark.parametrize("left", ["-0.01", "1.01"])
def test_water_left_must_be_a_share(left):
    with pytest.raises(OutOfRange):
        moisture.drained(
            wet_mass=Decimal(1),
            moisture_percent=Decimal(1),
            water_left_fraction=Decimal(left),
        )


def test_tray_gives_moisture_on_the_wet_basis():
    """Own example."""
    tray = moisture.TrayWeighing(Decimal("212.4"), Decimal("1262.4"), Decimal("1173.9"))
    assert round(tray.moisture_percent, 3) == Decimal("8.429")
    assert round(tray.moisture_dry_basis_percent, 3) == Decimal("9.204")


@pytest.mark.parametrize(
    ("tray", "wet", "dry", "refusal"),
    [
        ("10", "100", "101", DryHeavierThanWet),
        ("10", "100", "9", TareOverGross),
        ("10", "10", "10", TareOverGross),
        ("-1", "10", "9", NegativeFigure),
    ],
)
def test_tray_weighings_that_contradict_themselves_are_refused(tray, wet, dry, refusal):
    with pytest.raises(refusal):
        moisture.TrayWeighing(Decimal(tray), Decimal(wet), Decimal(dry))


def test_a_sample_of_water_alone_has_no_dry_basis():
    tray = moisture.TrayWeighing(Decimal(10), Decimal(20), Decimal(10))
    assert tray.moisture_percent == 100
    with pytest.raises(OutOfRange):
        _ = tray.moisture_dry_basis_percent
