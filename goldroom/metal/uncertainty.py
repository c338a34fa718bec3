"""A measured number: its value and the list of errors it carries.

    value + sum(c_e * eps_e),   eps_e independent, mean 0, standard deviation 1

Each effect `e` has a key (`effect_keys` makes them) and the number says by how
much one standard uncertainty of that effect moves it: the sensitivity `c_e`.
Two numbers that name the same key (same balance between two calibrations, same
laboratory method) are thereby correlated; nothing else is needed to get every
covariance right:

    u(x)^2 = sum c_e(x)^2        cov(x, y) = sum c_e(x) c_e(y)

This is the law of propagation of uncertainty with correlated inputs, to first
order: JCGM 100:2008 (GUM) equation 13 and F.1.2.3; JCGM 102:2011 for several
outputs. Sums add the sensitivities, products and quotients follow the product
rule, functions multiply by their derivative. An effect that cancels is dropped.

Here figures are binary floats: they are estimates, never the record.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Real = float | Decimal
"""A plain number without uncertainty: int, float or Decimal."""

CANCELLED = 1e-14
"""A sum of two sensitivities below this share of them is rounding noise: dropped."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its sensitivities by effect key, in the unit of the value.

    Build one with `exact`, `reading` or `below_detection`, then add effects
    with `scaled_by` and `shifted_by` and compute with + - * / and **.
    """

    value: float
    effects: Mapping[str, float] = field(default_factory=dict)

    @property
    def variance(self) -> float:
        """Return the square of the standard uncertainty."""
        return sum([c * c for c in self.effects.values()])

    @property
    def u(self) -> float:
        """Return the standard uncertainty, in the unit of the value."""
        return math.sqrt(self.variance)

    def scaled_by(self, relative_u: Real, key: str) -> Measured:
        """Return value * (1 + u eps): a relative error, such as a scale's slope."""
        return self.shifted_by(self.value * float(relative_u), key)

    def shifted_by(self, u: Real, key: str) -> Measured:
        """Return value + u eps: an error in the unit of the value."""
        return Measured(self.value, _combined(self.effects, 1.0, {key: float(u)}, 1.0))

    def contributions(self) -> tuple[tuple[str, float], ...]:
        """Return (key, sensitivity) pairs, the weightiest first, ties by key."""
        return tuple(sorted(self.effects.items(), key=lambda e: (-abs(e[1]), e[0])))

    def through(self, slope: float, value: float) -> Measured:
        """Return a function of this number, from its slope and value there."""
        return Measured(value, _times(self.effects, slope))

    def without(self, keys: Iterable[str]) -> Measured:
        """Return the same value as if the named effects were known exactly."""
        gone = frozenset(keys)
        kept = {key: c for key, c in self.effects.items() if key not in gone}
        return Measured(self.value, kept)

    def __float__(self) -> float:
        return self.value

    def __neg__(self) -> Measured:
        return Measured(-self.value, {key: -c for key, c in self.effects.items()})

    def __add__(self, other: Measured | Real) -> Measured:
        if isinstance(other, Measured):
            effects = _combined(self.effects, 1.0, other.effects, 1.0)
            return Measured(self.value + other.value, effects)
        return Measured(self.value + float(other), self.effects)

    __radd__ = __add__

    def __sub__(self, other: Measured | Real) -> Measured:
        if isinstance(other, Measured):
            effects = _combined(self.effects, 1.0, other.effects, -1.0)
            return Measured(self.value - other.value, effects)
        return Measured(self.value - float(other), self.effects)

    def __rsub__(self, other: Real) -> Measured:
        return -self + other

    def __mul__(self, other: Measured | Real) -> Measured:
        if isinstance(other, Measured):
            effects = _combined(self.effects, other.value, other.effects, self.value)
            return Measured(self.value * other.value, effects)
        return self.through(float(other), self.value * float(other))

    __rmul__ = __mul__

    def __truediv__(self, other: Measured | Real) -> Measured:
        if isinstance(other, Measured):
            ratio = self.value / other.value
            effects = _combined(
                self.effects, 1.0 / other.value, other.effects, -ratio / other.value
            )
            return Measured(ratio, effects)
        return self.through(1.0 / float(other), self.value / float(other))

    def __rtruediv__(self, other: Real) -> Measured:
        ratio = float(other) / self.value
        return self.through(-ratio / self.value, ratio)

    def __pow__(self, exponent: Real) -> Measured:
        power = float(exponent)
        slope = power * self.value ** (power - 1.0) if power else 0.0
        return self.through(slope, self.value**power)


Figure = TypeVar("Figure", Decimal, Measured)
"""A formula written once for exact figures and for measured ones."""


def exact(value: Real) -> Measured:
    """Return a number without uncertainty."""
    return Measured(float(value))


def reading(value: Real, u: Real, key: str) -> Measured:
    """Return one reading with its own error of standard uncertainty u."""
    return exact(value).shifted_by(u, key)


def below_detection(limit: Real, key: str) -> Measured:
    """Return what "below the detection limit" says: half of it, +- limit/sqrt(12).

    The value may lie anywhere from 0 to the limit: a rectangular distribution
    (JCGM 100:2008, 4.3.7).
    """
    return reading(float(limit) / 2.0, rectangular_u(float(limit) / 2.0), key)


def rectangular_u(half_width: Real) -> float:
    """Return the standard uncertainty of limits +- a: a/sqrt(3) (GUM 4.3.7)."""
    return float(half_width) / math.sqrt(3.0)


def triangular_u(half_width: Real) -> float:
    """Return the standard uncertainty of a triangle +- a: a/sqrt(6) (GUM 4.3.9)."""
    return float(half_width) / math.sqrt(6.0)


def arcsine_u(half_width: Real) -> float:
    """Return the standard uncertainty of a cycle +- a: a/sqrt(2) (GUM H.1.3.4)."""
    return float(half_width) / math.sqrt(2.0)


def total(quantities: Iterable[Measured]) -> Measured:
    """Return the sum of many numbers, in one pass."""
    value = 0.0
    effects: dict[str, float] = {}
    for quantity in quantities:
        value += quantity.value
        _add_into(effects, quantity.effects)
    return Measured(value, effects)


def cov(a: Measured, b: Measured) -> float:
    """Return the covariance of two numbers, in the product of their units."""
    few, many = a.effects, b.effects
    if len(few) > len(many):
        few, many = many, few
    return sum([c * many[key] for key, c in few.items() if key in many])


def corr(a: Measured, b: Measured) -> float:
    """Return the correlation; 0 when either number is exact."""
    spread = a.u * b.u
    return cov(a, b) / spread if spread else 0.0


def covariance_matrix(quantities: Sequence[Measured]) -> npt.NDArray[np.float64]:
    """Return the covariance matrix of the numbers, in their order."""
    size = len(quantities)
    matrix = np.zeros((size, size))
    holders: dict[str, list[tuple[int, float]]] = {}
    for index, quantity in enumerate(quantities):
        for key, sensitivity in quantity.effects.items():
            holders.setdefault(key, []).append((index, sensitivity))
    for held in holders.values():
        if len(held) == 1:
            index, sensitivity = held[0]
            matrix[index, index] += sensitivity * sensitivity
            continue
        where = np.array([index for index, _ in held])
        sensitivities = np.array([sensitivity for _, sensitivity in held])
        matrix[np.ix_(where, where)] += np.outer(sensitivities, sensitivities)
    return matrix


def variance_shares(
    quantity: Measured, group: Callable[[str], str]
) -> dict[str, float]:
    """Return each group's share of the variance (summing to 1), largest first.

    `group` names the group of an effect key, such as `effect_keys.kind_of`.
    """
    shares: dict[str, float] = {}
    variance = quantity.variance
    for key, sensitivity in quantity.effects.items():
        name = group(key)
        share = sensitivity * sensitivity / variance if variance else 0.0
        shares[name] = shares.get(name, 0.0) + share
    return dict(sorted(shares.items(), key=lambda item: (-item[1], item[0])))


def _combined(
    left: Mapping[str, float],
    left_factor: float,
    right: Mapping[str, float],
    right_factor: float,
) -> Mapping[str, float]:
    """Return left * left_factor + right * right_factor, key by key."""
    effects = dict(left) if left_factor == 1.0 else _times(left, left_factor)
    scaled = right if right_factor == 1.0 else _times(right, right_factor)
    _add_into(effects, scaled)
    return effects


def _add_into(effects: dict[str, float], more: Mapping[str, float]) -> None:
    """Add sensitivities in place; drop those that cancel."""
    for key, c in more.items():
        before = effects.get(key)
        if before is None:
            if c != 0.0:
                effects[key] = c
        else:
            after = before + c
            if abs(after) <= CANCELLED * abs(c):
                del effects[key]
            else:
                effects[key] = after


def _times(effects: Mapping[str, float], factor: float) -> dict[str, float]:
    """Return the sensitivities times the factor; none when the factor is 0."""
    if factor == 0.0:
        return {}
    return {key: c * factor for key, c in effects.items()}
