"""Functions of measured numbers, correlated inputs, degrees of freedom.

First-order propagation of `Measured` numbers through any function (JCGM
100:2008, 5.1 and 5.2): its value at the values, its partial derivatives times
the sensitivities of the inputs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from goldroom.errors import NotACorrelation
from goldroom.metal.uncertainty import Measured, Real, total

_STEP = 1e-3


def propagate(
    function: Callable[..., float],
    inputs: Sequence[Measured],
    *,
    derivatives: Sequence[Callable[..., float]] | None = None,
) -> Measured:
    """Return a function of measured numbers, to first order.

    `derivatives` are the partial derivatives in the order of the inputs, called
    with the same values; without them, central differences of fourth order are
    taken with steps of a thousandth of the value (of u, for a value of 0).
    """
    values = [quantity.value for quantity in inputs]
    moves = []
    for index, quantity in enumerate(inputs):
        if derivatives is None:
            slope = _central_difference(function, values, index, quantity.u)
        else:
            slope = derivatives[index](*values)
        moves.append(quantity.through(slope, 0.0))
    return total(moves) + function(*values)


def logarithm(x: Measured) -> Measured:
    """Return the natural logarithm of a number above 0."""
    return x.through(1.0 / x.value, math.log(x.value))


def exponential(x: Measured) -> Measured:
    """Return e to the power x."""
    return x.through(math.exp(x.value), math.exp(x.value))


def square_root(x: Measured) -> Measured:
    """Return the square root of a number above 0."""
    root = math.sqrt(x.value)
    return x.through(0.5 / root, root)


def cosine(x: Measured) -> Measured:
    """Return the cosine of an angle in radians."""
    return x.through(-math.sin(x.value), math.cos(x.value))


def sine(x: Measured) -> Measured:
    """Return the sine of an angle in radians."""
    return x.through(math.cos(x.value), math.sin(x.value))


def correlated(
    values: Sequence[Real],
    *,
    uncertainties: Sequence[Real],
    correlations: Sequence[Sequence[float]],
    key: str,
) -> list[Measured]:
    """Return numbers with the given uncertainties and table of correlations.

    The numbers share effects `key:0`, `key:1`, ...: the eigenvectors of the
    table, so that perfect correlation works too. Raises NotACorrelation when the
    table is not symmetric with ones on its diagonal, or has a negative eigenvalue.
    """
    table = np.array(correlations, dtype=float)
    spreads = np.array([float(u) for u in uncertainties])
    square = table.shape == (len(values), len(values)) and len(spreads) == len(values)
    if (
        not square
        or not np.allclose(table, table.T)
        or not np.allclose(np.diag(table), 1.0)
    ):
        raise NotACorrelation(
            f"{len(values)} correlated numbers need as many uncertainties and a "
            "symmetric table of correlations with 1 down its diagonal."
        )
    lengths, directions = np.linalg.eigh(table)
    if lengths.min() < -1e-9:
        raise NotACorrelation(
            "These correlations cannot hold together: the smallest eigenvalue of "
            f"their table is {lengths.min():.6f}. Check the signs."
        )
    loads = spreads[:, None] * directions * np.sqrt(np.clip(lengths, 0.0, None))
    return [
        Measured(
            float(value),
            {f"{key}:{n}": float(load) for n, load in enumerate(row) if load},
        )
        for value, row in zip(values, loads, strict=True)
    ]


def effective_dof(quantity: Measured, dof_by_key: Mapping[str, float]) -> float:
    """Return the effective degrees of freedom (Welch-Satterthwaite).

    u^4 / sum(c_e^4 / nu_e), JCGM 100:2008 equation G.2b. Effects without an
    entry are taken as known (infinite degrees of freedom). Infinite when no
    effect has an entry.
    """
    spread = sum(
        sensitivity**4 / dof_by_key[key]
        for key, sensitivity in quantity.effects.items()
        if key in dof_by_key
    )
    return quantity.variance**2 / spread if spread else math.inf


def _central_difference(
    function: Callable[..., float], values: Sequence[float], index: int, u: float
) -> float:
    """Return the partial derivative by a five-point central difference."""
    step = _STEP * (abs(values[index]) or u or 1.0)

    def at(steps: int) -> float:
        moved = list(values)
        moved[index] += steps * step
        return function(*moved)

    return (8.0 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12.0 * step)
