"""Chance for the invented mine: the same seed and name, the same draw.

Every draw has a name, and nothing is drawn in a sequence: a new saying in the story
leaves all other figures as they were.
"""

import random
import uuid

CARE = 0.7
"""How far an invented instrument errs, as a share of its stated uncertainty.

A new site's figures start wide and a room that works with care stays within them;
errors are cut off at two standard deviations.
"""
ID_SPACE = uuid.UUID("0c6bb2f4-6a1e-5b7c-8d0b-6f1f3a7c2d95")


class Chance:
    """Named draws from one seed."""

    def __init__(self, seed: int) -> None:
        """Start from a seed, which is part of every name."""
        self.seed = seed

    def uniform(self, name: str, low: float, high: float) -> float:
        """Return a number between two bounds."""
        return self._of(name).uniform(low, high)

    def whole(self, name: str, low: int, high: int) -> int:
        """Return a whole number between two bounds, both included."""
        return self._of(name).randint(low, high)

    def normal(self, name: str) -> float:
        """Return a standard normal number, cut off at two."""
        return max(-2.0, min(2.0, self._of(name).gauss(0.0, 1.0)))

    def error(self, name: str) -> float:
        """Return an error in units of its stated standard uncertainty."""
        return CARE * self.normal(name)

    def spread(self, name: str, share: float) -> float:
        """Return a factor about one that varies by a share."""
        return 1.0 + share * self.normal(name)

    def entry_id(self, name: str) -> str:
        """Return the id of the entry of that name."""
        return str(uuid.uuid5(ID_SPACE, f"{self.seed}/{name}"))

    def key_seed(self, person: str) -> bytes:
        """Return 32 bytes for a person's key: invented keys for an invented mine."""
        return self._of(f"key/{person}").randbytes(32)

    def _of(self, name: str) -> random.Random:
        return random.Random(f"{self.seed}/{name}")
