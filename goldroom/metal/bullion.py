"""Good-delivery arithmetic: gross ounces rounded down, fine ounces to three places.

Source: LBMA, Good Delivery Rules (gold and silver specifications; Annex B for
the weighing; Annex C for the list). A gold bar's gross weight is a multiple of
0.025 troy ounce and a silver bar's of 0.1, always rounded down. On a beam
balance gold must also exceed the stated multiple by 0.002 troy ounce (the "turn
of the scale"), or it drops by one step. Which rule holds is a setting of the
weighing record, because the two differ for an excess below 0.002.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from goldroom.metal.rounding import (
    EXACT,
    MILLIGRAM,
    floor_to_multiple,
    half_even,
    quotient,
)
from goldroom.metal.units import check_not_negative

FINE_OUNCE_STEP = MILLIGRAM
"""Fine troy ounces are given to three decimals."""

GOLD_FINE_OZT = (Decimal(350), Decimal(430))
SILVER_GROSS_OZT = (Decimal(750), Decimal(1100))
GOLD_FINENESS_PERMILLE_MIN = Decimal("995.0")
SILVER_FINENESS_PERMILLE_MIN = Decimal("999.0")


@dataclass(frozen=True, slots=True)
class BullionRounding:
    """How a bar's gross troy ounces are stated: step, and excess demanded."""

    name: str
    step_ozt: Decimal
    turn_ozt: Decimal = Decimal(0)

    def gross_ozt(self, weighed_ozt: Decimal) -> Decimal:
        """Return the gross troy ounces to state for what was weighed.

        Raises NegativeFigure.
        """
        check_not_negative(weighed_ozt, "gross_ozt")
        less_turn = EXACT.subtract(weighed_ozt, self.turn_ozt)
        return max(floor_to_multiple(less_turn, self.step_ozt), Decimal(0))


GOLD_ROUNDED_DOWN = BullionRounding("gold_rounded_down", Decimal("0.025"))
GOLD_TURN_OF_THE_SCALE = BullionRounding(
    "gold_turn_of_the_scale", Decimal("0.025"), Decimal("0.002")
)
SILVER_ROUNDED_DOWN = BullionRounding("silver_rounded_down", Decimal("0.1"))

BULLION_ROUNDINGS: Mapping[str, BullionRounding] = MappingProxyType(
    {
        rounding.name: rounding
        for rounding in (GOLD_ROUNDED_DOWN, GOLD_TURN_OF_THE_SCALE, SILVER_ROUNDED_DOWN)
    }
)
"""The roundings a weighing record may name."""


def fine_ozt(*, gross_ozt: Decimal, fineness_permille: Decimal) -> Decimal:
    """Return fine troy ounces to three decimals, ties to even (our choice)."""
    product = EXACT.multiply(gross_ozt, fineness_permille)
    return half_even(quotient(product, Decimal(1000)), FINE_OUNCE_STEP)


def is_good_delivery_gold(*, fine_ozt: Decimal, fineness_permille: Decimal) -> bool:
    """Say whether a gold bar's fine content and fineness meet the specification."""
    low, high = GOLD_FINE_OZT
    return low <= fine_ozt <= high and fineness_permille >= GOLD_FINENESS_PERMILLE_MIN


def is_good_delivery_silver(*, gross_ozt: Decimal, fineness_permille: Decimal) -> bool:
    """Say whether a silver bar's gross weight and fineness meet the specification."""
    low, high = SILVER_GROSS_OZT
    enough = fineness_permille >= SILVER_FINENESS_PERMILLE_MIN
    return low <= gross_ozt <= high and enough
