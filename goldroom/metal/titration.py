"""Free cyanide by silver nitrate: one silver takes two cyanides.

    Ag+ + 2 CN- = Ag(CN)2-

Atomic weights: IUPAC, abridged to what a burette can show.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from goldroom.errors import OutOfRange

SILVER_NITRATE_G_PER_MOL = 169.8731
MOLAR_G: Mapping[str, float] = MappingProxyType(
    {"NaCN": 49.0072, "KCN": 65.1157, "HCN": 27.0253, "CN": 26.0174}
)
"""Grams per mole of each form that cyanide is reported as."""

CYANIDES_PER_SILVER = 2


def cyanide_mg_per_ml(titrant_mol_l: float, form: str) -> float:
    """Return the milligrams of cyanide, as a form, that 1 mL of titrant takes.

    Raises OutOfRange for a form without a molar mass here.
    """
    return titrant_mol_l * CYANIDES_PER_SILVER * _molar_g(form)


def titrant_g_l(mg_per_ml: float, form: str) -> float:
    """Return the silver nitrate of which 1 mL takes so many milligrams of cyanide.

    Raises OutOfRange for a form without a molar mass here.
    """
    mol_l = mg_per_ml / (CYANIDES_PER_SILVER * _molar_g(form))
    return mol_l * SILVER_NITRATE_G_PER_MOL


def as_form(mg: float, *, given: str, wanted: str) -> float:
    """Return milligrams of one form of cyanide as another. Raises OutOfRange."""
    return mg * _molar_g(wanted) / _molar_g(given)


def _molar_g(form: str) -> float:
    if form not in MOLAR_G:
        raise OutOfRange(
            f"No molar mass for {form!r}; cyanide is reported here as"
            f" {', '.join(MOLAR_G)}."
        )
    return MOLAR_G[form]
