"""Several results of one thing: their weighted mean, and whether they agree.

For results x with covariance V,

    w = V^-1 1 / (1' V^-1 1)      mean = w' x      u^2 = 1 / (1' V^-1 1)
    chi2 = (x - mean)' V^-1 (x - mean)             with one less than there are

the mean of least variance (generalised least squares, Aitken). Independent results
are so weighted by one over their variance. What results share (a bar's drillings, a
laboratory's bias) is carried by their effect keys and does not average away; shared
and large, it may pull the mean outside the results, which is right and looks wrong.

The mean is for judging standings against each other; a balance uses one of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import linalg, stats  # type: ignore[import-untyped]

from goldroom.errors import OutOfRange
from goldroom.metal.uncertainty import Measured, covariance_matrix, total


@dataclass(frozen=True, slots=True)
class Combined:
    """A weighted mean with its effects, the weights, and how well results agree."""

    mean: Measured
    weights: tuple[float, ...]
    chi2: float

    @property
    def degrees_of_freedom(self) -> int:
        """Return one less than there are results."""
        return len(self.weights) - 1

    @property
    def p(self) -> float:
        """Return the chance of a chi2 at least this large when nothing is wrong.

        1 for a single result, which nothing contradicts.
        """
        if not self.degrees_of_freedom:
            return 1.0
        return float(stats.chi2.sf(self.chi2, self.degrees_of_freedom))


def weighted_mean(results: Sequence[Measured]) -> Combined:
    """Return the mean of least variance of several results of one thing.

    Raises OutOfRange without any result, or where one is exact or two differ by
    nothing that is uncertain.
    """
    if not results:
        raise OutOfRange("A weighted mean needs at least one result.")
    values = np.array([each.value for each in results])
    try:
        factor = linalg.cho_factor(covariance_matrix(results), lower=True)
    except linalg.LinAlgError:
        raise OutOfRange(
            "These results cannot be weighted: one of them is exact, or two differ by"
            " nothing that is uncertain. Each needs an error of its own."
        ) from None
    pull = linalg.cho_solve(factor, np.ones(len(results)))
    weights = tuple(float(each) for each in pull / pull.sum())
    mean = total(each * w for each, w in zip(results, weights, strict=True))
    apart = values - mean.value
    chi2 = float(apart @ linalg.cho_solve(factor, apart))
    return Combined(mean, weights, chi2)
