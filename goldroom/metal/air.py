"""What air and gravity do to a weighing: buoyancy, air density, local g.

Air buoyancy: NIST SOP 2 (NISTIR 6969, 2019), with the conventional conditions
1.2 kg/m3 of air and weights of 8000 kg/m3. Moist air: Jones 1978, as in NIST
SOP 2 Appendix B; and CIPM-2007 (Picard and others, Metrologia 45, 149, 2008).
Gravity: the closed formula of the World Geodetic System 1984.
"""

from __future__ import annotations

import math

CONVENTIONAL_AIR_G_CM3 = 0.0012
CONVENTIONAL_WEIGHT_G_CM3 = 8.0
STANDARD_GRAVITY_M_S2 = 9.80665
GRAVITY_PER_METRE_S2 = -3.086e-6

_ZERO_CELSIUS_K = 273.15

_EQUATOR_M_S2 = 9.7803253359
_SOMIGLIANA = 0.00193185265241
_ECCENTRICITY_SQUARED = 0.00669437999013


def buoyancy_factor(
    density_g_cm3: float, *, air_g_cm3: float = CONVENTIONAL_AIR_G_CM3
) -> float:
    """Return true mass over indicated mass for a body of that density.

    (1 - air/8) / (1 - air/density), NIST SOP 2.
    """
    weights = 1.0 - air_g_cm3 / CONVENTIONAL_WEIGHT_G_CM3
    return weights / (1.0 - air_g_cm3 / density_g_cm3)


def air_density_jones_g_cm3(
    *, temperature_c: float, pressure_mmhg: float, humidity_percent: float
) -> float:
    """Return the density of moist air in g/cm3 (Jones 1978; NIST SOP 2 App. B)."""
    kelvin = temperature_c + _ZERO_CELSIUS_K
    saturation_mmhg = 1.3146e9 * math.exp(-5315.56 / kelvin)
    moist_mmhg = pressure_mmhg - 0.0037960 * humidity_percent * saturation_mmhg
    return 0.46460 * moist_mmhg / kelvin * 1e-3


def air_density_cipm_kg_m3(
    *,
    temperature_c: float,
    pressure_pa: float,
    humidity_percent: float,
    carbon_dioxide_mol_mol: float = 0.0004,
) -> float:
    """Return the density of moist air in kg/m3 (CIPM-2007)."""
    kelvin = temperature_c + _ZERO_CELSIUS_K
    vapour = _vapour_fraction(temperature_c, pressure_pa, humidity_percent / 100.0)
    compressed = _compressibility(temperature_c, pressure_pa, vapour)
    molar = 3.483740 + 1.4446 * (carbon_dioxide_mol_mol - 0.0004)
    dry = molar * 1e-3 * pressure_pa / (compressed * kelvin)
    return dry * (1.0 - 0.3780 * vapour)


def normal_gravity_m_s2(*, latitude_deg: float, height_m: float = 0.0) -> float:
    """Return the acceleration of gravity in m/s2 by latitude and height.

    WGS 84 closed formula on the ellipsoid, less 3.086e-6 per metre of height.
    """
    sine_squared = math.sin(math.radians(latitude_deg)) ** 2
    on_ellipsoid = (
        _EQUATOR_M_S2
        * (1.0 + _SOMIGLIANA * sine_squared)
        / math.sqrt(1.0 - _ECCENTRICITY_SQUARED * sine_squared)
    )
    return on_ellipsoid + GRAVITY_PER_METRE_S2 * height_m


def moved_scale_error_g(
    mass_g: float, *, gravity_calibrated: float, gravity_here: float
) -> float:
    """Return how far a scale moved without recalibration misreads, in grams.

    Negative when it reads low. Gravities in m/s2; the scale compares weight,
    not mass, so its reading follows the ratio of the two.
    """
    return mass_g * (gravity_here / gravity_calibrated - 1.0)


def _vapour_fraction(
    temperature_c: float, pressure_pa: float, humidity: float
) -> float:
    """Return the mole fraction of water vapour (CIPM-2007, appendix)."""
    kelvin = temperature_c + _ZERO_CELSIUS_K
    saturation_pa = math.exp(
        1.2378847e-5 * kelvin**2
        - 1.9121316e-2 * kelvin
        + 33.93711047
        - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c**2
    return humidity * enhancement * saturation_pa / pressure_pa


def _compressibility(temperature_c: float, pressure_pa: float, vapour: float) -> float:
    """Return the compressibility factor of moist air (CIPM-2007, appendix)."""
    ratio = pressure_pa / (temperature_c + _ZERO_CELSIUS_K)
    first = (
        1.58123e-6
        - 2.9331e-8 * temperature_c
        + 1.1043e-10 * temperature_c**2
        + (5.707e-6 - 2.051e-8 * temperature_c) * vapour
        + (1.9898e-4 - 2.376e-6 * temperature_c) * vapour**2
    )
    second = 1.83e-11 - 0.765e-8 * vapour**2
    return 1.0 - ratio * first + ratio**2 * second
