"""What is usual here: the last twelve of a kind, their mean and spread.

The limits of a rule come from the site's own history, not from a book. Until there
are twelve earlier ones nothing is said: a spread of few is no spread. (Common
practice, no source.)
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

LAST = 12
"""So many earlier ones make a family."""

NOTHING = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class Point:
    """One figure of something, in its rule's unit, and when it was taken."""

    item: str
    at: str
    value: Decimal


@dataclass(frozen=True, kw_only=True)
class Usual:
    """A point beside the twelve before it: their mean and standard deviation."""

    point: Point
    mean: Decimal
    s: Decimal

    @property
    def apart(self) -> Decimal:
        """Return by how much the point is above the mean (below: negative)."""
        return self.point.value - self.mean

    def is_beyond(self, times: Decimal) -> bool:
        """Tell whether it is more than so many standard deviations off the mean."""
        return abs(self.apart) > times * self.s


def with_usual(points: Iterable[Point]) -> Iterator[Usual]:
    """Yield each point that has twelve before it, in the order of time."""
    ordered = sorted(points, key=lambda each: (each.at, each.item))
    for n, point in enumerate(ordered[LAST:], LAST):
        before = [each.value for each in ordered[n - LAST : n]]
        mean = sum(before, NOTHING) / LAST
        squares = sum(((each - mean) ** 2 for each in before), NOTHING)
        yield Usual(point=point, mean=mean, s=(squares / (LAST - 1)).sqrt())


def same_side(values: Iterable[Decimal], count: int) -> bool:
    """Tell whether the last `count` values all lie on the same side of nothing.

    By chance alone eight running do so once in 128.
    """
    last = list(values)[-count:]
    return len(last) == count and (
        all(each > 0 for each in last) or all(each < 0 for each in last)
    )
