"""A bar's density as measured in water: a version for each measurement."""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class Density(Record):
    """A version of a bar's density, and the density its assay would give it.

    `expected_g_cm3` is None while the bar has no assay. `measured_in` is the entry
    that first told of the readings.
    """

    table = "density"
    key_of = "{item}/{version:03d}"
    item: str
    version: int
    in_air_g: Decimal
    in_water_g: Decimal
    water_temperature_c: Decimal
    density_g_cm3: Decimal
    expected_g_cm3: Decimal | None
    at: str
    entry: str
    known_at: str
    measured_in: str
