"""What a figure usually is: outside it, the page asks; it never refuses.

Common practice, no source, unless the range names one. A site changes any range
with `with_limits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Question:
    """A figure outside its usual range: something to ask about."""

    quantity: str
    found: float
    sentence: str


@dataclass(frozen=True, slots=True)
class UsualRange:
    """The usual range of a quantity; None leaves a side open."""

    quantity: str
    unit: str
    low: float | None
    high: float | None
    standing: str = COMMON_PRACTICE

    def question(self, value: float) -> Question | None:
        """Return what to ask about the value, or None when it is usual."""
        if self.low is not None and value < self.low:
            return self._ask(value, "below", self.low)
        if self.high is not None and value > self.high:
            return self._ask(value, "above", self.high)
        return None

    def with_limits(self, *, low: float | None, high: float | None) -> UsualRange:
        """Return the range with a site's own limits."""
        return replace(self, low=low, high=high, standing="set by the site")

    def _ask(self, value: float, side: str, limit: float) -> Question:
        """Return the question about a value on one side of a limit."""
        name = self.quantity.replace("_", " ")
        sentence = (
            f"{name[0].upper()}{name[1:]}: {value:g} {self.unit} is {side} the usual "
            f"{limit:g} {self.unit}. Is that what was seen?"
        )
        return Question(self.quantity, value, sentence)


def _table(*ranges: UsualRange) -> Mapping[str, UsualRange]:
    """Return the ranges by quantity."""
    return MappingProxyType({one.quantity: one for one in ranges})


USUAL: Mapping[str, UsualRange] = _table(
    UsualRange("semi_continuous_mass_pull", "%", None, 1.0),
    UsualRange("continuous_mass_pull", "%", None, 40.0),
    UsualRange("continuous_concentrate_solids", "%", 70.0, None),
    UsualRange("unit_feed", "t/h", 1.0, 150.0),
    UsualRange("semi_continuous_force", "times gravity", None, 200.0),
    UsualRange("continuous_force", "times gravity", None, 300.0),
    UsualRange("feed_per_bowl_surface", "t/h per m2", None, 25.0),
    UsualRange("flushes_per_day", "flushes", 20.0, 50.0),
    UsualRange(
        "grg_fraction",
        "%",
        25.0,
        94.0,
        "Laplante, a standardized test to determine GRG: 38 ores",
    ),
    UsualRange("gold_current_efficiency", "%", None, 10.0),
)
"""The usual ranges, by quantity."""
