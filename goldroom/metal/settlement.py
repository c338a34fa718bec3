"""Assay exchange and settlement: two sealed results, a limit, perhaps an umpire.

Common practice, no single source. Both results are exchanged at the same time.
Within the splitting limit (the limit itself included) their mean is final.
Beyond it a third sealed sample goes to an umpire, and contracts differ:

    middle_of_three     the umpire's result if it lies between the two,
                        else the nearer party's
    mean_with_nearer    the mean of the umpire's and the nearer party's

An umpire halfway between the two is itself the figure, and both pay; otherwise
the party further from the umpire usually pays. Decimals throughout: in
binary floats 90.12 - 90.07 exceeds 0.05 and would call an umpire for nothing.

A contract states its limit in points (of per cent, absolute) or as per cent of the
mean of the two results.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from goldroom.metal.rounding import exact_arithmetic


class UmpireRule(Enum):
    """What a contract makes of the umpire's result."""

    MIDDLE_OF_THREE = "middle_of_three"
    MEAN_WITH_NEARER = "mean_with_nearer"


LIMIT_UNITS = ("points", "percent_of_mean")
"""How a contract states a splitting limit."""


def splitting_limit_permille(
    *, mine: Decimal, buyer: Decimal, limit: Decimal, unit: str
) -> Decimal:
    """Return a contract's limit in parts per thousand, for these two results.

    Exactly: 0.05 points of per cent are 0.5 parts per thousand.
    """
    assert unit in LIMIT_UNITS
    with exact_arithmetic():
        if unit == "points":
            return limit * 10
        return limit * (mine + buyer) / 200


class Standing(Enum):
    """How an exchange stands."""

    AGREED = "agreed"
    UMPIRE_CALLED = "umpire_called"
    UMPIRED = "umpired"


@dataclass(frozen=True, slots=True)
class Settlement:
    """The outcome of an exchange: the figure, if there is one, and who pays."""

    standing: Standing
    settled: Decimal | None
    umpire_paid_by: str = ""

    @property
    def is_final(self) -> bool:
        """Say whether a figure has been settled."""
        return self.settled is not None


@dataclass(frozen=True, slots=True)
class Exchange:
    """Two results of the same sample and the splitting limit, in one unit."""

    mine: Decimal
    buyer: Decimal
    splitting_limit: Decimal

    def settle(
        self,
        umpire: Decimal | None = None,
        rule: UmpireRule = UmpireRule.MIDDLE_OF_THREE,
    ) -> Settlement:
        """Return how the exchange stands, exactly; a figure within the limit
        needs no umpire and ignores one.
        """
        with exact_arithmetic():
            if abs(self.mine - self.buyer) <= self.splitting_limit:
                return Settlement(Standing.AGREED, (self.mine + self.buyer) / 2)
            if umpire is None:
                return Settlement(Standing.UMPIRE_CALLED, None)
            mine_off, buyer_off = abs(self.mine - umpire), abs(self.buyer - umpire)
            if rule is UmpireRule.MIDDLE_OF_THREE:
                settled = sorted((self.mine, self.buyer, umpire))[1]
            elif mine_off == buyer_off:
                settled = umpire
            else:
                nearer = self.mine if mine_off < buyer_off else self.buyer
                settled = (umpire + nearer) / 2
        return Settlement(Standing.UMPIRED, settled, _payer(mine_off, buyer_off))


def _payer(mine_off: Decimal, buyer_off: Decimal) -> str:
    """Return who pays the umpire: the party further off, or both."""
    if mine_off == buyer_off:
        return "both"
    return "mine" if mine_off > buyer_off else "buyer"
