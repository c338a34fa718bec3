"""Two products from three assays: yield and recovery.

    yield     Y = (f - t) / (c - t)            concentrate mass over feed mass
    recovery  R = c (f - t) / (f (c - t))      of the metal in the feed

(Wills' Mineral Processing Technology, metallurgical accounting.) The formula
holds only when concentrate is richer than feed and feed richer than tails; it
is weak when tails are close to feed. Grades are exact or measured, in one unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from goldroom.errors import NotTwoProducts, OutOfRange
from goldroom.metal.rounding import exact_arithmetic, quotient
from goldroom.metal.uncertainty import Figure


def mass_yield(*, feed: Figure, concentrate: Figure, tails: Figure) -> Figure:
    """Return concentrate mass over feed mass (a fraction). Raises NotTwoProducts."""
    _check_order(float(feed), float(concentrate), float(tails))
    return (feed - tails) / (concentrate - tails)


def metal_recovery(*, feed: Figure, concentrate: Figure, tails: Figure) -> Figure:
    """Return the share of the feed's metal in the concentrate (a fraction).

    Raises NotTwoProducts.
    """
    _check_order(float(feed), float(concentrate), float(tails))
    return concentrate * (feed - tails) / (feed * (concentrate - tails))


def recovery_in_stages(stages: Sequence[Decimal]) -> Decimal:
    """Return the whole recovery of stages that each treat what the last one left.

    Fractions in, fraction out: 1 - product(1 - stage), exactly. Raises
    OutOfRange for a fraction not between 0 and 1.
    """
    left = Decimal(1)
    with exact_arithmetic():
        for stage in stages:
            if not 0 <= stage <= 1:
                raise OutOfRange(f"A stage recovery is {stage}; it must be 0 to 1.")
            left *= 1 - stage
        return 1 - left


def recovery_from_products(*, recovered_g: Decimal, left_g: Decimal) -> Decimal:
    """Return recovered metal over the calculated head (a fraction, 34 digits).

    The calculated head is what was recovered plus what was left. Raises
    OutOfRange when both are zero.
    """
    with exact_arithmetic():
        calculated_head_g = recovered_g + left_g
    if calculated_head_g <= 0:
        raise OutOfRange("A recovery needs metal in the products.")
    return quotient(recovered_g, calculated_head_g)


def _check_order(feed: float, concentrate: float, tails: float) -> None:
    """Refuse grades that are not two products of one feed."""
    if not concentrate > feed > tails >= 0:
        raise NotTwoProducts(
            f"Grades of concentrate {concentrate:g}, feed {feed:g} and tails {tails:g} "
            "do not fall in that order; the two-product formula does not hold. Check "
            "the samples, or leave the recovery out.",
            field="grades",
        )
