"""Electrowinning by Faraday's law, cyanide by silver titration, and Elsner's need.

Faraday's law gives a ceiling: a cell cannot plate more than its charge allows.
It is no estimate, for most of the current does other work (for gold, commonly
more than nine tenths of it). Elsner's equation gives a floor: metal cannot dissolve
with less cyanide and oxygen, and a leach uses far more.

    4 M + 8 NaCN + O2 + 2 H2O = 4 Na M(CN)2 + 4 NaOH        M: gold or silver

Faraday constant: exact from the 2019 SI (CODATA 2018). Atomic weights: IUPAC.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from goldroom.errors import OutOfRange
from goldroom.metal.titration import (
    MOLAR_G,
    SILVER_NITRATE_G_PER_MOL,
    cyanide_mg_per_ml,
)

FARADAY_C_PER_MOL = 96485.33212331
ATOMIC_WEIGHT: Mapping[str, float] = MappingProxyType(
    {"Au": 196.966570, "Ag": 107.8682, "Cu": 63.546}
)
OXYGEN_G_PER_MOL = 31.998
CYANIDES_PER_METAL = 2
METALS_PER_OXYGEN = 4


def plated_g_per_ah(metal: str, electrons: int) -> float:
    """Return the grams of metal one ampere-hour can plate at most.

    Raises OutOfRange for a metal without an atomic weight here, or no electrons.
    """
    if metal not in ATOMIC_WEIGHT or electrons < 1:
        raise OutOfRange(
            f"No plating figure for {metal!r} with {electrons} electrons; metals here "
            f"are {', '.join(ATOMIC_WEIGHT)}, with one electron or more."
        )
    return ATOMIC_WEIGHT[metal] * 3600.0 / (electrons * FARADAY_C_PER_MOL)


def current_efficiency_percent(
    *, gold_g: float, silver_g: float, charge_ah: float
) -> float:
    """Return the share of the charge that plated gold(I) and silver(I), per cent.

    Raises OutOfRange when the charge is not above zero.
    """
    if charge_ah <= 0:
        raise OutOfRange(
            f"The charge is {charge_ah} Ah; it must be above zero.", field="charge_ah"
        )
    useful_ah = gold_g / plated_g_per_ah("Au", 1) + silver_g / plated_g_per_ah("Ag", 1)
    return 100.0 * useful_ah / charge_ah


def sodium_cyanide_mg_l(
    *, titrant_ml: float, titrant_g_l: float, sample_ml: float
) -> float:
    """Return NaCN in mg/L from a silver nitrate titration: one Ag for two CN.

    Raises OutOfRange when the sample has no volume.
    """
    if sample_ml <= 0:
        raise OutOfRange(
            f"The sample is {sample_ml} mL; it must be above zero.", field="sample_ml"
        )
    titrant_mol_l = titrant_g_l / SILVER_NITRATE_G_PER_MOL
    cyanide_mg = titrant_ml * cyanide_mg_per_ml(titrant_mol_l, "NaCN")
    return cyanide_mg / sample_ml * 1000.0


def least_cyanide_g(*, gold_g: float, silver_g: float) -> float:
    """Return the sodium cyanide that gold and silver take up as they dissolve."""
    moles = _moles(gold_g, silver_g)
    return moles * CYANIDES_PER_METAL * MOLAR_G["NaCN"]


def least_oxygen_g(*, gold_g: float, silver_g: float) -> float:
    """Return the oxygen that gold and silver take up as they dissolve."""
    return _moles(gold_g, silver_g) / METALS_PER_OXYGEN * OXYGEN_G_PER_MOL


def _moles(gold_g: float, silver_g: float) -> float:
    return gold_g / ATOMIC_WEIGHT["Au"] + silver_g / ATOMIC_WEIGHT["Ag"]
