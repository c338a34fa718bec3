"""Gravity checks made up by hand."""

from decimal import Decimal

from goldroom.metal.uncertainty import reading
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.gravity_check import FlushCount, GravityCheck, Unsure
from goldroom.reconcile.gravity_estimate import GravityEstimate


def gravity(
    estimated: str | None,
    parts: tuple[str | None, str | None, str | None],
    *,
    estimated_u: float = 12.0,
    u_g: float = 1.0,
    unsure: str = "0.000",
) -> GravityCheck:
    """Return a check: poured, rise in holdings and gone out in grams, all as text."""
    amounts = [
        None if text is None else _amount(text, u_g if Decimal(text) else 0.0, str(n))
        for n, text in enumerate(parts)
    ]
    return GravityCheck(
        estimate=GravityEstimate(
            total_g=None
            if estimated is None
            else reading(Decimal(estimated), estimated_u, "estimate"),
            days=(),
            said=(),
        ),
        poured=amounts[0],
        holdings_rise=amounts[1],
        went_out=amounts[2],
        round_the_hopper=NOTHING,
        inseparable=Unsure(
            gold=_amount(unsure, 0.5, "unsure"), items=(), why=(), provisional=()
        ),
        flushes=FlushCount(counted=0, listed=0, not_listed=(), not_counted=()),
    )


def _amount(text: str, u_g: float, key: str) -> Amount:
    return Amount(Decimal(text), reading(Decimal(text), u_g, key))
