"""Balances: what went into a step and has not come out of it.

    unaccounted = opening + in - out - closing

positive when metal is missing. The sums are exact decimals of the posted figures;
the uncertainty comes from the error effects, so that a parcel counted in one step's
out and the next one's in cancels overall, and a scale that weighed both sides is
seen to have weighed both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from goldroom.metal.effect_keys import kind_of
from goldroom.metal.rounding import to_milligram
from goldroom.metal.uncertainty import variance_shares
from goldroom.reconcile.amounts import (
    Amount,
    decimal_text,
    shown_u,
    sum_of,
)
from goldroom.reconcile.network import CLOSING, OPENING, Parcel

WARNING_Z, ALARM_Z = 2.0, 3.0


@dataclass(frozen=True, slots=True)
class Balance:
    """One step (or several merged, or all), one metal, one period.

    `unmeasured` names the items of whose contents nothing is known; with any, the
    balance is not drawn and every amount is None.
    """

    opening: Amount | None
    came_in: Amount | None
    went_out: Amount | None
    closing: Amount | None
    unaccounted: Amount | None
    is_provisional: bool
    unmeasured: tuple[str, ...] = ()

    @property
    def is_drawn(self) -> bool:
        """Return whether everything in it is measured or has a figure in its place."""
        return self.unaccounted is not None

    @property
    def is_idle(self) -> bool:
        """Return whether nothing was held, came or went."""
        amounts = (self.opening, self.came_in, self.went_out, self.closing)
        return all(amount is not None and not amount.posted_g for amount in amounts)

    @property
    def percent(self) -> float | None:
        """Return the unaccounted share of what was to be accounted for, per cent.

        That is opening + in - closing; None when it is not above 0.
        """
        if self.unaccounted is None:
            return None
        assert self.opening is not None
        assert self.came_in is not None
        assert self.closing is not None
        whole = self.opening.posted_g + self.came_in.posted_g - self.closing.posted_g
        return 100 * float(self.unaccounted.posted_g / whole) if whole > 0 else None

    @property
    def level(self) -> str:
        """Return within, warning (|z| >= 2), alarm (|z| >= 3) or not_drawn.

        With no uncertainty at all any difference is an alarm.
        """
        if self.unaccounted is None:
            return "not_drawn"
        z = self.unaccounted.z
        if z is None:
            return "alarm" if self.unaccounted.posted_g else "within"
        size = abs(z)
        return (
            "alarm" if size >= ALARM_Z else "warning" if size >= WARNING_Z else "within"
        )

    def shares(self) -> dict[str, float]:
        """Return the share of the variance that each sort of error causes."""
        if self.unaccounted is None:
            return {}
        return variance_shares(self.unaccounted.measured, kind_of)

    def to_json(self) -> dict[str, object]:
        """Return the balance with its figures as decimal text; null where not drawn."""
        unaccounted = self.unaccounted
        u_g = None if unaccounted is None else unaccounted.u_g
        z = None if unaccounted is None else unaccounted.z
        return {
            "opening": _text(self.opening),
            "in": _text(self.came_in),
            "out": _text(self.went_out),
            "closing": _text(self.closing),
            "unaccounted": _text(unaccounted),
            "u": None if u_g is None else decimal_text(u_g),
            "u_shown": None if u_g is None else shown_u(u_g),
            "z": None if z is None else decimal_text(z),
            "percent": (None if self.percent is None else decimal_text(self.percent)),
            "level": self.level,
            "provisional": self.is_provisional,
            "unmeasured": list(self.unmeasured),
            "shares": {
                name: decimal_text(share) for name, share in self.shares().items()
            },
        }


def balance_of(parcels: Sequence[Parcel], steps: frozenset[str], metal: str) -> Balance:
    """Return the balance of these steps together, for gold, silver or dry_mass."""
    touching = [parcel for parcel in parcels if parcel.sign_for(steps)]
    provisional = metal != "dry_mass" and any(
        parcel.contents.is_provisional for parcel in touching
    )
    unmeasured = tuple(
        dict.fromkeys(
            parcel.item for parcel in touching if parcel.contents.amount(metal) is None
        )
    )
    if unmeasured:
        return Balance(None, None, None, None, None, provisional, unmeasured)
    opening = _sum(touching, metal, lambda p: p.way.role == OPENING)
    closing = _sum(touching, metal, lambda p: p.way.role == CLOSING)
    passed = [p for p in touching if p.way.role not in (OPENING, CLOSING)]
    came_in = _sum(passed, metal, lambda p: p.sign_for(steps) > 0)
    went_out = _sum(passed, metal, lambda p: p.sign_for(steps) < 0)
    unaccounted = opening + came_in - went_out - closing
    return Balance(opening, came_in, went_out, closing, unaccounted, provisional)


def _sum(
    parcels: Iterable[Parcel], metal: str, is_meant: Callable[[Parcel], bool]
) -> Amount:
    """Return the sum over the parcels meant; each is known to have an amount."""
    amounts = (parcel.contents.amount(metal) for parcel in parcels if is_meant(parcel))
    return sum_of(amount for amount in amounts if amount is not None)


def _text(amount: Amount | None) -> str | None:
    """Return grams to the milligram, as text."""
    return None if amount is None else format(to_milligram(amount.posted_g), "f")
