"""Two products from the assays of several metals: one split that fits them all.

Feed, concentrate and tails, each assayed for k metals, give k yields that differ by the
errors of the assays. The one that fits all of them best makes the imbalances

    e_i = (f_i - t_i) - Y (c_i - t_i),   u(e_i)^2 = u_f^2 + Y^2 u_c^2 + (1 - Y)^2 u_t^2

least, each weighed by 1/u(e_i)^2:

    Y = sum w_i (f_i - t_i) (c_i - t_i) / sum w_i (c_i - t_i)^2

again and again until Y stands, for the weights depend on it. The sum of w e^2 has
k - 1 degrees of freedom: large, and some assay is wrong. Recoveries are of the head
that the products have by this split (node imbalance method: Wills' Mineral Processing
Technology, chapter 3, mass balancing, form from memory). The weights are held while Y
is sought, which moves it by far less than its uncertainty.

Errors of different metals are taken as independent here: where a sampling error is
shared, adjust with the whole covariance (`goldroom.reconcile.adjust`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from goldroom.errors import NotTwoProducts
from goldroom.metal.uncertainty import Measured

SETTLED = 1e-14
"""A change of the yield below this share of it: it stands."""
MOST_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Grades:
    """One metal's grades in feed, concentrate and tails, in one unit."""

    feed: Measured
    concentrate: Measured
    tails: Measured


@dataclass(frozen=True, slots=True)
class Split:
    """The yield that fits all metals: what it is worth, and how well it fits.

    `adjusted` are the grades (feed, concentrate, tails) that hold with it, moved as
    little as their uncertainties ask; `recovered` is the share of each metal in the
    concentrate, of the head calculated from the products; both in the metals' order.
    """

    mass_yield: float
    u: float
    chi2: float
    degrees_of_freedom: int
    adjusted: tuple[tuple[float, float, float], ...]
    recovered: tuple[float, ...]


def split_of(metals: Sequence[Grades]) -> Split:
    """Return the split of feed into concentrate and tails that fits these metals.

    Raises NotTwoProducts when some metal's grades are not two products of a feed,
    carry no uncertainty, or fit no yield between nothing and all.
    """
    if not metals:
        raise NotTwoProducts("A split needs the grades of a metal.", field="grades")
    for each in metals:
        _check(each)
    found = _fitted(metals, 0.5)
    for _ in range(MOST_ROUNDS):
        before, found = found, _fitted(metals, found)
        if abs(found - before) <= SETTLED * abs(found):
            break
    else:
        raise NotTwoProducts(
            "The grades of these metals fit no one yield: the weights never settle."
            " Check the samples, or leave the recovery out.",
            field="grades",
        )
    return Split(
        mass_yield=found,
        u=1.0 / math.sqrt(sum(_weight(m, found) * _spread(m) ** 2 for m in metals)),
        chi2=sum(_weight(m, found) * _imbalance(m, found) ** 2 for m in metals),
        degrees_of_freedom=len(metals) - 1,
        adjusted=tuple(_adjusted(each, found) for each in metals),
        recovered=tuple(_recovered(each, found) for each in metals),
    )


def recovery_amplification(
    *, feed: float, concentrate: float, tails: float
) -> tuple[float, float]:
    """Return how much larger the recovery's relative u is than that of the assays.

    For assays of one relative uncertainty: exactly to first order, and by the rule

        u(R)/R ~ sqrt(2) (1 - R) / |R - Y|   times that of the assays

    which shows why the formula is weak when recovery and yield are close. Raises
    NotTwoProducts.
    """
    _check_order(feed, concentrate, tails)
    mass_yield = (feed - tails) / (concentrate - tails)
    recovery = concentrate * mass_yield / feed
    slopes = (
        tails / (feed - tails),
        -tails / (concentrate - tails),
        tails * (1.0 / (concentrate - tails) - 1.0 / (feed - tails)),
    )
    exactly = math.sqrt(sum(slope**2 for slope in slopes))
    return exactly, math.sqrt(2.0) * (1.0 - recovery) / abs(recovery - mass_yield)


def _fitted(metals: Sequence[Grades], assumed: float) -> float:
    """Return the yield that fits best with the weights of an assumed one."""
    above = below = 0.0
    for each in metals:
        weight, spread = _weight(each, assumed), _spread(each)
        above += weight * (each.feed.value - each.tails.value) * spread
        below += weight * spread**2
    return above / below


def _adjusted(metal: Grades, mass_yield: float) -> tuple[float, float, float]:
    """Return feed, concentrate and tails moved by as little as makes them hold."""
    pull = _weight(metal, mass_yield) * _imbalance(metal, mass_yield)
    return (
        metal.feed.value - metal.feed.variance * pull,
        metal.concentrate.value + mass_yield * metal.concentrate.variance * pull,
        metal.tails.value + (1.0 - mass_yield) * metal.tails.variance * pull,
    )


def _recovered(metal: Grades, mass_yield: float) -> float:
    """Return the concentrate's share of the head calculated from both products."""
    in_concentrate = mass_yield * metal.concentrate.value
    return in_concentrate / (in_concentrate + (1.0 - mass_yield) * metal.tails.value)


def _spread(metal: Grades) -> float:
    return metal.concentrate.value - metal.tails.value


def _imbalance(metal: Grades, mass_yield: float) -> float:
    return metal.feed.value - metal.tails.value - mass_yield * _spread(metal)


def _weight(metal: Grades, mass_yield: float) -> float:
    return 1.0 / (
        metal.feed.variance
        + mass_yield**2 * metal.concentrate.variance
        + (1.0 - mass_yield) ** 2 * metal.tails.variance
    )


def _check(metal: Grades) -> None:
    """Refuse grades that are not two products of one feed, or exact."""
    _check_order(metal.feed.value, metal.concentrate.value, metal.tails.value)
    if not metal.feed.variance + metal.tails.variance > 0:
        raise NotTwoProducts(
            "The grades of feed and tails carry no uncertainty, so nothing says how to"
            " weigh one metal against another. Say what the assays are worth.",
            field="grades",
        )


def _check_order(feed: float, concentrate: float, tails: float) -> None:
    if not concentrate > feed > tails >= 0:
        raise NotTwoProducts(
            f"Grades of concentrate {concentrate:g}, feed {feed:g} and tails {tails:g}"
            " do not fall in that order; no yield fits them. Check the samples, or"
            " leave the metal out.",
            field="grades",
        )
