"""Pulp: density, per cent solids, volume, and dry solids in a vessel.

A pulp of solids s in a liquor L (densities in kg/m3) has, at density D,

    solids by mass    x = s (D - L) / (D (s - L))
    solids by volume  v =   (D - L) / (s - L)

(Wills' Mineral Processing Technology, metallurgical accounting). A vessel filled
to a marked volume V with a net mass m holds dry solids (m - L V) s / (s - L): no
moisture determination is needed, and none would mean anything in a flooded
hopper.

A density at or below the liquor's, or at or above the solids', is not a pulp of
these solids and is refused. Figures are exact or measured.
"""

from __future__ import annotations

from decimal import Decimal

from goldroom.errors import NotAPulp, OutOfRange
from goldroom.metal.uncertainty import Figure

WATER_KG_M3 = Decimal(1000)
"""The liquor's density taken by hand calculations, kg/m3."""


def solids_percent(
    *, pulp_kg_m3: Figure, solids_kg_m3: Figure, liquor_kg_m3: Figure
) -> Figure:
    """Return the solids by mass, per cent. Raises NotAPulp."""
    _check_pulp(pulp_kg_m3, solids_kg_m3, liquor_kg_m3)
    above = 100 * solids_kg_m3 * (pulp_kg_m3 - liquor_kg_m3)
    return above / (pulp_kg_m3 * (solids_kg_m3 - liquor_kg_m3))


def solids_volume_percent(
    *, pulp_kg_m3: Figure, solids_kg_m3: Figure, liquor_kg_m3: Figure
) -> Figure:
    """Return the solids by volume, per cent. Raises NotAPulp."""
    _check_pulp(pulp_kg_m3, solids_kg_m3, liquor_kg_m3)
    return 100 * (pulp_kg_m3 - liquor_kg_m3) / (solids_kg_m3 - liquor_kg_m3)


def pulp_density_kg_m3(
    *, solids_percent: Figure, solids_kg_m3: Figure, liquor_kg_m3: Figure
) -> Figure:
    """Return the density of a pulp from its solids by mass, per cent.

    Raises OutOfRange when the solids are not between 0 and 100 per cent.
    """
    if not 0 <= float(solids_percent) <= 100:
        raise OutOfRange(
            f"The solids are {float(solids_percent)} %; they are a share of the pulp's "
            "mass and lie between 0 and 100 %.",
            field="solids_percent",
        )
    solids_volume = solids_percent / solids_kg_m3
    return 100 / (solids_volume + (100 - solids_percent) / liquor_kg_m3)


def dilution(solids_percent: Figure) -> Figure:
    """Return the mass of liquor for one of solids. Raises OutOfRange at 0 %."""
    if not 0 < float(solids_percent) <= 100:
        raise OutOfRange(
            f"The solids are {float(solids_percent)} %; a dilution needs some, and no "
            "more than 100 %.",
            field="solids_percent",
        )
    return (100 - solids_percent) / solids_percent


def dry_solids_flow(*, pulp_flow: Figure, solids_percent: Figure) -> Figure:
    """Return the dry solids in a flow of pulp, in the flow's own mass unit."""
    return pulp_flow * solids_percent / 100


def underflow_solids(
    *,
    feed_solids: Figure,
    feed_percent: Figure,
    underflow_percent: Figure,
    overflow_percent: Figure,
) -> Figure:
    """Return a classifier's underflow solids from three dilutions.

    Solids and water both balance, so underflow/feed is
    (overflow dilution - feed dilution) / (overflow - underflow dilution).
    In the unit of the feed. Raises OutOfRange unless the feed lies between.
    """
    feed, under = dilution(feed_percent), dilution(underflow_percent)
    over = dilution(overflow_percent)
    if not float(under) < float(feed) < float(over):
        raise OutOfRange(
            f"Solids of {float(feed_percent)} % in the feed do not lie between "
            f"{float(underflow_percent)} % under and {float(overflow_percent)} % over.",
            field="feed_percent",
        )
    return feed_solids * (over - feed) / (over - under)


def dry_solids_in_vessel_kg(
    *,
    net_kg: Figure,
    volume_m3: Figure,
    solids_kg_m3: Figure,
    water_kg_m3: Figure,
) -> Figure:
    """Return the dry solids in a vessel filled to a marked volume, in kg.

    Raises NotAPulp when net mass over volume is not between the densities.
    """
    if float(volume_m3) <= 0:
        raise OutOfRange(
            f"The marked volume is {float(volume_m3)} m3; it must be above zero.",
            field="volume_m3",
        )
    _check_pulp(net_kg / volume_m3, solids_kg_m3, water_kg_m3)
    excess_kg = net_kg - water_kg_m3 * volume_m3
    return excess_kg * solids_kg_m3 / (solids_kg_m3 - water_kg_m3)


def _check_pulp(pulp_kg_m3: Figure, solids_kg_m3: Figure, liquor_kg_m3: Figure) -> None:
    """Refuse a density that liquor and solids cannot make together."""
    pulp, solids, liquor = float(pulp_kg_m3), float(solids_kg_m3), float(liquor_kg_m3)
    if not 0 < liquor < pulp < solids:
        raise NotAPulp(
            f"A pulp of {pulp:.6g} kg/m3 cannot be made of liquor of {liquor:.6g} and "
            f"solids of {solids:.6g} kg/m3: it must lie between the two. Check the "
            "mass, the volume and the solids density.",
            field="pulp_kg_m3",
        )
