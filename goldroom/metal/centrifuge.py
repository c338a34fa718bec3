"""The force in a centrifugal concentrator's bowl, in multiples of gravity.

omega^2 r / g0 with g0 = 9.80665 m/s2. Handbooks print 1.118e-5 r n^2 for r in
centimetres and n in revolutions a minute.
"""

from __future__ import annotations

import math

from goldroom.errors import OutOfRange
from goldroom.metal.air import STANDARD_GRAVITY_M_S2


def relative_force(*, speed_rpm: float, radius_m: float) -> float:
    """Return the centrifugal acceleration over gravity (a number)."""
    _check_positive(radius_m)
    omega = speed_rpm * math.pi / 30.0
    return omega * omega * radius_m / STANDARD_GRAVITY_M_S2


def speed_for_force_rpm(*, force: float, radius_m: float) -> float:
    """Return the speed, revolutions a minute, that gives the relative force."""
    _check_positive(radius_m)
    return math.sqrt(force * STANDARD_GRAVITY_M_S2 / radius_m) * 30.0 / math.pi


def _check_positive(radius_m: float) -> None:
    """Refuse a bowl without a radius."""
    if radius_m <= 0:
        raise OutOfRange(
            f"The bowl's radius is {radius_m} m; it must be above zero.",
            field="radius_m",
        )
