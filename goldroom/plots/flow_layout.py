"""Where a flow's ribbons, branches and words stand: from top to bottom, in points.

Each balance is a bar across. What comes into it stands above the bar, what goes out
of it below. Ribbons between steps fall straight past rows of words and bend only
between two steps, where there are none; a ribbon to a later step passes the steps
between on their left, and what goes back to an earlier step climbs at the far left.
Every branch and ribbon has one row of words at the right, and the nearer the right
edge it stands the nearer to its bar is its row, so that no two leaders cross.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from goldroom.plots.flow_steps import Branch, StepFlow, Way

ROOM = 188
"""Points across for all that has a width in grams."""

LEAST_ROOM = 20
"""Points that stay for widths however many things stand side by side."""

THINNEST, GAP = 4.0, 5.0
ROW, FIRST_ROW, BEND = 20.0, 29.0, 18.0
BAR_HALF, TAB = 4.0, 17.0
"""Half a bar's height; how far a branch stands out of it."""

BETWEEN_TURNS = 4.0


@dataclass(frozen=True, kw_only=True)
class Slot:
    """A piece of a bar's edge, and what passes there: a branch or a way."""

    thing: Branch | Way
    x: float
    wide: float

    @property
    def middle(self) -> float:
        """Return the middle across."""
        return self.x + self.wide / 2


@dataclass(kw_only=True)
class Level:
    """A step at its height: its bar, its slots above and below, what passes it by."""

    step: StepFlow
    y: float = 0.0
    x: float = 0.0
    above: list[Slot] = field(default_factory=list)
    below: list[Slot] = field(default_factory=list)
    passing: list[Slot] = field(default_factory=list)
    top: float = 0.0
    bottom: float = 0.0

    @property
    def right(self) -> float:
        """Return the bar's right end."""
        return max(slot.x + slot.wide for slot in (*self.above, *self.below))

    @property
    def told_above(self) -> list[tuple[Slot, float]]:
        """Return slots above with the middle of their row; ways are told below."""
        slots = [slot for slot in self.above if isinstance(slot.thing, Branch)]
        return [(slot, self.y + away) for slot, away in _rows(slots)]

    @property
    def told_below(self) -> list[tuple[Slot, float]]:
        """Return slots below with the middle of their row of words."""
        return [(slot, self.y - away) for slot, away in _rows(self.below)]


@dataclass(frozen=True)
class Layout:
    """Every level, ways back with their lanes, points a gram, and the height of all."""

    levels: tuple[Level, ...]
    lanes: dict[tuple[str, str], float]
    scale: float
    height: float

    def level(self, name: str) -> Level:
        """Return the level of a balance."""
        return next(each for each in self.levels if each.step.name == name)

    def is_back(self, way: Way) -> bool:
        """Return whether the way leads to an earlier step."""
        return (way.from_name, way.to_name) in self.lanes


def laid_out(steps: Sequence[StepFlow], ways: Sequence[Way], left: float) -> Layout:
    """Return where all of it stands; y counts from the bottom of the drawing."""
    order = {step.name: n for n, step in enumerate(steps)}
    plan = _Plan(order, ways)
    scale = min((plan.scale_at(step) for step in steps), default=0.0)
    lanes, start = {}, left
    for way in plan.back:
        wide = wide_of(way, scale)
        lanes[way.from_name, way.to_name] = start + wide / 2
        start += wide + GAP
    levels = [_level(step, plan, scale, start) for step in steps]
    y = 0.0
    for level in reversed(levels):
        level.bottom = y
        level.y = y + _depth(level.below, len(level.told_below), plan)
        level.top = level.y + _depth(level.above, len(level.told_above), plan)
        y = level.top + BEND
    return Layout(tuple(levels), lanes, scale, y - BEND)


def turn_of(slots: Sequence[Slot], slot: Slot) -> float:
    """Return how far from the bar a way back reaches where it turns.

    Ways back stand first at a bar's edge, so each turns round those before it.
    """
    inner = slots[: slots.index(slot) + 1]
    return BAR_HALF + 5 + sum(each.wide + BETWEEN_TURNS for each in inner)


def wide_of(thing: Branch | Way, scale: float) -> float:
    """Return a width in points for the grams of it, never too thin to see."""
    return max(THINNEST, abs(float(thing.grams)) * scale)


@dataclass(frozen=True)
class _Plan:
    """Which ways leave, reach and pass each step, in the order they stand in."""

    order: dict[str, int]
    ways: Sequence[Way]

    @property
    def back(self) -> list[Way]:
        """Return ways back as their lanes stand, the farthest climbing leftmost."""
        found = [way for way in self.ways if self.is_back(way)]
        return sorted(found, key=lambda w: (self._end(w) - self._start(w), w.to_name))

    def is_back(self, way: Way) -> bool:
        """Return whether the way leads to an earlier step."""
        return self._end(way) < self._start(way)

    def leaving(self, name: str) -> list[Way]:
        """Return ways out of a step: back ones first, then the farthest first."""
        back = [way for way in reversed(self.back) if way.from_name == name]
        on = [w for w in self.ways if w.from_name == name and not self.is_back(w)]
        return [*back, *sorted(on, key=lambda w: -self._end(w))]

    def reaching(self, name: str) -> list[Way]:
        """Return ways into a step: back ones first, then from the farthest."""
        back = [way for way in reversed(self.back) if way.to_name == name]
        on = [w for w in self.ways if w.to_name == name and not self.is_back(w)]
        return [*back, *sorted(on, key=self._start)]

    def passing(self, name: str) -> list[Way]:
        """Return ways that go by a step, the farthest first."""
        at = self.order[name]
        found = [way for way in self.ways if self._start(way) < at < self._end(way)]
        return sorted(found, key=lambda w: (-self._end(w), self._start(w)))

    def above(self, step: StepFlow) -> list[Branch | Way]:
        """Return what stands above a step's bar, from left to right."""
        return [*self.reaching(step.name), *step.branches_in]

    def below(self, step: StepFlow) -> list[Branch | Way]:
        """Return what stands below a step's bar, from left to right."""
        return [*self.leaving(step.name), *step.branches_out]

    def scale_at(self, step: StepFlow) -> float:
        """Return the most points a gram with which the step and its neighbours fit."""
        beside = [*self.passing(step.name), *self.back]
        fits = []
        for side in (self.above(step), self.below(step)):
            things = [*beside, *side]
            grams = sum(abs(float(each.grams)) for each in things)
            if grams:
                left = ROOM - len(things) * (GAP + THINNEST)
                fits.append(max(left, LEAST_ROOM) / grams)
        return min(fits, default=1.0)

    def _start(self, way: Way) -> int:
        return self.order[way.from_name]

    def _end(self, way: Way) -> int:
        return self.order[way.to_name]


def _rows(slots: Sequence[Slot]) -> list[tuple[Slot, float]]:
    """Return how far from the bar each slot's row is: the rightmost one's the least."""
    last = len(slots) - 1
    return [(slot, FIRST_ROW + (last - n) * ROW) for n, slot in enumerate(slots)]


def _level(step: StepFlow, plan: _Plan, scale: float, left: float) -> Level:
    passing = _side_by_side(plan.passing(step.name), scale, left)
    start = passing[-1].x + passing[-1].wide + GAP if passing else left
    return Level(
        step=step,
        x=start,
        passing=passing,
        above=_side_by_side(plan.above(step), scale, start),
        below=_side_by_side(plan.below(step), scale, start),
    )


def _side_by_side(
    things: Sequence[Branch | Way], scale: float, left: float
) -> list[Slot]:
    slots, x = [], left
    for thing in things:
        wide = wide_of(thing, scale)
        slots.append(Slot(thing=thing, x=x, wide=wide))
        x += wide + GAP
    return slots


def _depth(slots: Sequence[Slot], rows: int, plan: _Plan) -> float:
    """Return how far rows of words, and ways that turn back, reach from the bar."""
    told = FIRST_ROW + (rows - 1) * ROW + ROW / 2 if rows else FIRST_ROW / 2
    turned = [
        turn_of(slots, slot)
        for slot in slots
        if isinstance(slot.thing, Way) and plan.is_back(slot.thing)
    ]
    return max([told, *turned])
