"""A figure restated: by how much it changed, and whether its error explains that.

Both versions are of one thing, so that what they share (the bar's weighing, its
drillings) cancels in the change; what is left is what the two determinations differ
by. A change of more than two of its standard uncertainties says that one of the
versions was worse than it was said to be.
"""

from __future__ import annotations

from dataclasses import dataclass

from goldroom.metal.uncertainty import Measured

SURPRISE_Z = 2.0


@dataclass(frozen=True, slots=True)
class Restated:
    """Two versions of a figure: what was reported, and what is known now."""

    before: Measured
    after: Measured

    @property
    def change(self) -> Measured:
        """Return what the figure rose by, with what the versions do not share."""
        return self.after - self.before

    @property
    def z(self) -> float | None:
        """Return the change over its uncertainty; None where it has none."""
        return self.change.value / self.change.u if self.change.u else None

    @property
    def is_surprise(self) -> bool:
        """Tell whether the versions' own errors do not explain the change."""
        if self.z is None:
            return self.change.value != 0
        return abs(self.z) > SURPRISE_Z
