"""Relative centrifugal force."""

import pytest

from goldroom.errors import OutOfRange
from goldroom.metal import centrifuge

source = pytest.mark.source


@pytest.mark.parametrize(
    ("rpm", "radius_m", "force", "tolerance"),
    [
        pytest.param(3000, 0.10, 1006.42, 0.006, marks=source("own example")),
        pytest.param(400, 0.38, 67.99, 0.006, marks=source("own example")),
        pytest.param(
            1000,
            0.01,
            1.118e-5 * 1 * 1000**2,
            0.003,
            marks=source("handbook coefficient 1.118e-5, C; from memory"),
        ),
        pytest.param(
            3000,
            0.10,
            1.118e-5 * 10 * 3000**2,
            0.25,
            marks=source("handbook coefficient 1.118e-5, C; from memory"),
        ),
    ],
)
def test_force_grows_with_radius_and_the_square_of_speed(
    rpm, radius_m, force, tolerance
):
    found = centrifuge.relative_force(speed_rpm=rpm, radius_m=radius_m)
    assert found == pytest.approx(force, abs=tolerance)


def test_speed_for_a_force():
    """Own example: 60 times gravity at 19 cm."""
    rpm = centrifuge.speed_for_force_rpm(force=60, radius_m=0.19)
    assert rpm == pytest.approx(531.4, abs=0.05)
    back = centrifuge.relative_force(speed_rpm=rpm, radius_m=0.19)
    assert back == pytest.approx(60)


@pytest.mark.parametrize("radius_m", [0, -0.1])
def test_bowl_without_a_radius_is_refused(radius_m):
    with pytest.raises(OutOfRange):
        centrifuge.relative_force(speed_rpm=100, radius_m=radius_m)
    with pytest.raises(OutOfRange):
        centrifuge.speed_for_force_rpm(force=60, radius_m=radius_m)
