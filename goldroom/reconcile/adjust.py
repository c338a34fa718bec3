"""Quantities adjusted so that the balances close, and whether they can.

For quantities y with covariance V and an incidence A of balances x quantities,

    r = A y     S = A V A'
    x = y - V A' S^-1 r     V_x = V - V A' S^-1 A V     chi2 = r' S^-1 r

generalised least squares with linear constraints (Narasimhan and Jordache, Data
Reconciliation and Gross Error Detection, 2000, chapter 3, from memory). chi2 has as
many degrees of freedom as there are balances. Only S must be positive definite.

Adjusted figures are for judging; what is posted stays as measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import linalg, stats  # type: ignore[import-untyped]

from goldroom.metal.uncertainty import Measured, covariance_matrix

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Adjusted:
    """Unaccounted r with its covariance S, and the quantities adjusted to r = 0."""

    unaccounted: Matrix
    unaccounted_covariance: Matrix
    values: Matrix
    covariance: Matrix
    chi2: float
    degrees_of_freedom: int

    @property
    def z(self) -> Matrix:
        """Return each balance's unaccounted over its own uncertainty."""
        spread: Matrix = np.sqrt(np.diag(self.unaccounted_covariance))
        return self.unaccounted / spread

    @property
    def u(self) -> Matrix:
        """Return the adjusted quantities' standard uncertainties."""
        spread: Matrix = np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))
        return spread

    @property
    def p(self) -> float:
        """Return the chance of a chi2 at least this large when nothing is wrong."""
        return float(stats.chi2.sf(self.chi2, self.degrees_of_freedom))


def adjust(incidence: Matrix, quantities: Sequence[Measured]) -> Adjusted:
    """Return the quantities adjusted to close every balance of the incidence.

    Raises numpy's LinAlgError when some balance has no uncertainty at all.
    """
    y = np.array([quantity.value for quantity in quantities])
    v = covariance_matrix(quantities)
    r = incidence @ y
    va = v @ incidence.T
    s = incidence @ va
    factor = linalg.cho_factor(s, lower=True)
    step = linalg.cho_solve(factor, r)
    return Adjusted(
        unaccounted=r,
        unaccounted_covariance=s,
        values=y - va @ step,
        covariance=v - va @ linalg.cho_solve(factor, va.T),
        chi2=float(r @ step),
        degrees_of_freedom=len(r),
    )
