"""Fluxes of a smelt: what is usual, what they give off, and what they can do.

Questions only, never refusals: a charge decides its own flux. Charge and flux are not
conserved as slag and metal, for soda ash gives off carbon dioxide, raw borax water and
nitre oxygen and nitrogen; whoever balances a furnace by mass must take that off.

    borax, soda ash, silica per 100 parts of precipitate   MacFarren, in Rose, The
                                                           Metallurgy of Gold
    flux of a gravity concentrate and its parts            common practice, from memory
    iron oxide that fused borax and slag take up           Beringer, A Text-Book of
                                                           Assaying
    nitre's oxidising power in practice                    Bugbee, Textbook of Fire
                                                           Assaying, from memory

Stoichiometry with the conventional atomic weights of IUPAC.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from goldroom.errors import OutOfRange
from goldroom.metal.plausibility import COMMON_PRACTICE, Question, UsualRange

ATOMIC_WEIGHT: Mapping[str, float] = MappingProxyType(
    {
        "H": 1.008,
        "B": 10.81,
        "C": 12.011,
        "N": 14.007,
        "O": 15.999,
        "Na": 22.98977,
        "Si": 28.085,
        "K": 39.0983,
        "Pb": 207.2,
    }
)

Formula = Mapping[str, int]
SODA_ASH: Formula = {"Na": 2, "C": 1, "O": 3}
SILICA: Formula = {"Si": 1, "O": 2}
CARBON_DIOXIDE: Formula = {"C": 1, "O": 2}
WATER: Formula = {"H": 2, "O": 1}
BORAX_GLASS: Formula = {"Na": 2, "B": 4, "O": 7}
BORAX: Formula = {"Na": 2, "B": 4, "O": 17, "H": 20}
LITHARGE: Formula = {"Pb": 1, "O": 1}
NITRE: Formula = {"K": 1, "N": 1, "O": 3}
SODA_NITRE: Formula = {"Na": 1, "N": 1, "O": 3}

OXIDE_PER_BORAX_GLASS = 1.0
"""Iron(II) oxide that fused borax takes up, by mass (Beringer)."""

OXIDE_PER_SODA_SILICATE = 0.5
"""Iron(II) oxide that a soda and silica slag takes up at least, by mass (Beringer)."""

NITRE_IN_PRACTICE_G_LEAD = 4.2
"""Lead that a gram of nitre oxidises in practice; theory says more (Bugbee)."""

_MACFARREN = "MacFarren, in Rose, The Metallurgy of Gold"
PRECIPITATE: Mapping[str, UsualRange] = MappingProxyType(
    {
        "borax_glass": UsualRange(
            "borax_glass", "parts to 100 of charge", 12.0, 30.0, _MACFARREN
        ),
        "soda_ash": UsualRange(
            "soda_ash", "parts to 100 of charge", 6.0, 15.0, _MACFARREN
        ),
        "silica": UsualRange("silica", "parts to 100 of charge", 3.0, 8.0, _MACFARREN),
    }
)
"""Flux to 100 parts of cyanide precipitate."""

GRAVITY_FLUX = UsualRange("flux", "times the charge", 0.5, 2.0, COMMON_PRACTICE)
GRAVITY_SHARES: Mapping[str, UsualRange] = MappingProxyType(
    {
        "borax": UsualRange("borax", "% of the flux", 30.0, 60.0, COMMON_PRACTICE),
        "silica": UsualRange("silica", "% of the flux", 10.0, 30.0, COMMON_PRACTICE),
        "soda_ash": UsualRange("soda_ash", "% of the flux", 5.0, 30.0, COMMON_PRACTICE),
        "nitre": UsualRange("nitre", "% of the flux", 0.0, 30.0, COMMON_PRACTICE),
    }
)
"""Flux of a gravity concentrate, and what it is made of."""

ALSO_CALLED: Mapping[str, str] = MappingProxyType(
    {
        "borax": "borax",
        "anhydrous borax": "borax",
        "borax glass": "borax",
        "soda": "soda_ash",
        "soda ash": "soda_ash",
        "sodium carbonate": "soda_ash",
        "silica": "silica",
        "silica sand": "silica",
        "nitre": "nitre",
        "niter": "nitre",
        "saltpetre": "nitre",
        "potassium nitrate": "nitre",
        "sodium nitrate": "nitre",
    }
)
"""What fluxes are called, by the name used here; others are counted, not judged."""


def flux_share_questions(
    *, charge_kg: float, flux_kg: Mapping[str, float], is_precipitate: bool = False
) -> tuple[Question, ...]:
    """Return what to ask about a charge's flux: what is outside the usual ranges.

    `flux_kg` is mass by the flux's name as people write it. A flux that no range
    names counts towards the whole and is not asked about; nor is anything where no
    flux was said. Raises OutOfRange for a charge of no mass.
    """
    if charge_kg <= 0:
        raise OutOfRange(
            f"The charge is {charge_kg} kg; its flux can only be judged beside a mass"
            " above zero.",
            field="charge_kg",
        )
    whole_kg = sum(flux_kg.values())
    if whole_kg <= 0:
        return ()
    by_name: dict[str, float] = {}
    for written, mass_kg in flux_kg.items():
        name = ALSO_CALLED.get(" ".join(written.lower().split()), "")
        by_name[name] = by_name.get(name, 0.0) + mass_kg
    asked: list[Question | None] = []
    if is_precipitate:
        for name, usual in PRECIPITATE.items():
            found = by_name.get(name.removesuffix("_glass"), 0.0)
            asked.append(usual.question(100.0 * found / charge_kg))
    else:
        asked.append(GRAVITY_FLUX.question(whole_kg / charge_kg))
        for name, usual in GRAVITY_SHARES.items():
            share = 100.0 * by_name.get(name, 0.0) / whole_kg
            asked.append(usual.question(share))
    return tuple(each for each in asked if each is not None)


def formula_weight(formula: Formula) -> float:
    """Return grams in a mole of a compound, by the atoms in it."""
    return sum(ATOMIC_WEIGHT[element] * count for element, count in formula.items())


def soda_per_silica_g() -> float:
    """Return the soda ash that one gram of silica takes up, mole for mole."""
    return formula_weight(SODA_ASH) / formula_weight(SILICA)


def carbon_dioxide_share() -> float:
    """Return the share of soda ash that leaves as carbon dioxide in a slag."""
    return formula_weight(CARBON_DIOXIDE) / formula_weight(SODA_ASH)


def borax_water_share() -> float:
    """Return the share of raw borax (ten waters) that leaves as water."""
    return 10.0 * formula_weight(WATER) / formula_weight(BORAX)


def borax_glass_per_borax_g() -> float:
    """Return the borax glass left of one gram of raw borax."""
    return formula_weight(BORAX_GLASS) / formula_weight(BORAX)


def lead_per_carbon_g() -> float:
    """Return the lead that a gram of carbon reduces: 2 PbO + C = 2 Pb + CO2."""
    return 2.0 * ATOMIC_WEIGHT["Pb"] / ATOMIC_WEIGHT["C"]


def lead_share_of_litharge() -> float:
    """Return the share of litharge that is lead."""
    return ATOMIC_WEIGHT["Pb"] / formula_weight(LITHARGE)


def lead_per_nitre_g(nitre: Formula = NITRE) -> float:
    """Return the lead that a gram of a nitre oxidises, in theory.

    2 KNO3 + 5 Pb = K2O + N2 + 5 PbO, and the same with sodium.
    """
    return 5.0 * ATOMIC_WEIGHT["Pb"] / (2.0 * formula_weight(nitre))


def iron_oxide_taken_up_kg(*, borax_glass_kg: float, soda_silicate_kg: float) -> float:
    """Return the iron(II) oxide that a slag can be counted on to take up.

    Fused borax its own mass, a soda and silica slag half (Beringer); iron(III) oxide
    is taken up poorly even by six parts of borax.
    """
    return (
        OXIDE_PER_BORAX_GLASS * borax_glass_kg
        + OXIDE_PER_SODA_SILICATE * soda_silicate_kg
    )
