"""Gold at each step as branches and as ways on, ready to be laid out.

At every step that is balanced, in grams as posted:

    arriving + branches in = onward + branches out

where unaccounted gold is a branch: out when it is missing, in when too much was
found. A negative amount stands on the other side, with its sign in its figure.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from goldroom.reconcile.amounts import shown_u
from goldroom.reconcile.network import CLOSING, OPENING, PASSED
from goldroom.reports.flow import Edge, Flow, Unaccounted

HELD, OUT, IN, UNACCOUNTED = "held", "out", "in", "unaccounted"
FROM_CIRCUIT = "load"
"""The sort that comes from outside by the gravity circuit."""

MOST_SORTS = 5
"""So many sorts are drawn by name at a side of a step; what is less, together."""


@dataclass(frozen=True, kw_only=True)
class Branch:
    """Gold between a step and outside the steps, in words and in grams."""

    sort: str
    words: str
    grams: Decimal


@dataclass(frozen=True, kw_only=True)
class Way:
    """Gold from one step to another, all sorts of material together."""

    from_name: str
    to_name: str
    grams: Decimal


@dataclass(frozen=True, kw_only=True)
class StepFlow:
    """A balance's gold: one step, or several drawn as one."""

    name: str
    branches_in: tuple[Branch, ...]
    branches_out: tuple[Branch, ...]
    is_balanced: bool


def steps_of(flow: Flow) -> tuple[StepFlow, ...]:
    """Return every balance in which gold was held, came or went, in their order."""
    ways = ways_of(flow)
    used = {name for way in ways for name in (way.from_name, way.to_name)}
    steps = [_step_of(flow, each) for each in flow.unaccounted]
    return tuple(
        step
        for step in steps
        if step.branches_in or step.branches_out or step.name in used
    )


def ways_of(flow: Flow) -> tuple[Way, ...]:
    """Return the gold that passed between balances; none within one balance."""
    name_of = {
        step: each.step for each in flow.unaccounted for step in each.step.split("+")
    }
    sums: dict[tuple[str, str], Decimal] = {}
    for edge in flow.edges:
        if not (edge.from_step and edge.to_step and edge.grams):
            continue
        ends = name_of[edge.from_step], name_of[edge.to_step]
        if ends[0] != ends[1]:
            sums[ends] = sums.get(ends, Decimal(0)) + edge.grams
    return tuple(
        Way(from_name=start, to_name=end, grams=grams)
        for (start, end), grams in sums.items()
        if grams
    )


def said_step(name: str) -> str:
    """Return a balance's name in words: its steps, the last joined by "and"."""
    *others, last = name.split("+")
    return f"{', '.join(others)} and {last}" if others else last


def said_sort(sort: str) -> str:
    """Return a sort of material with a capital letter."""
    return sort.replace("_", " ").capitalize()


def _step_of(flow: Flow, balance: Unaccounted) -> StepFlow:
    steps = set(balance.step.split("+"))
    came = [e for e in flow.edges if e.to_step in steps and not e.from_step]
    went = [e for e in flow.edges if e.from_step in steps and not e.to_step]
    into = [
        *_from_outside(e for e in came if e.role == PASSED),
        *_held(came, OPENING, "Held at the start"),
    ]
    out = [
        *_gone_out(e for e in went if e.role == PASSED),
        *_held(went, CLOSING, "Held at the end"),
    ]
    left = _left_over(balance)
    if left is not None:
        (out if left.grams > 0 else into).append(left)
    return StepFlow(
        name=balance.step,
        branches_in=_side(into, out),
        branches_out=_side(out, into),
        is_balanced=balance.grams is not None,
    )


def _side(own: Iterable[Branch], other: Iterable[Branch]) -> tuple[Branch, ...]:
    """Return the branches of one side: what is negative on the other comes over."""

    def is_turned(branch: Branch) -> bool:
        return branch.sort != UNACCOUNTED and branch.grams < 0

    return (
        *(each for each in other if is_turned(each)),
        *(each for each in own if not is_turned(each)),
    )


def _left_over(balance: Unaccounted) -> Branch | None:
    if not balance.grams:
        return None
    what = "Missing" if balance.grams > 0 else "Found too much"
    return Branch(
        sort=UNACCOUNTED,
        words=f"{what} (u {shown_u(balance.u_g or 0.0)} g)",
        grams=balance.grams,
    )


def _held(edges: Iterable[Edge], role: str, words: str) -> Iterable[Branch]:
    grams = sum((e.grams for e in edges if e.role == role), Decimal(0))
    if grams:
        yield Branch(sort=HELD, words=words, grams=grams)


def _from_outside(edges: Iterable[Edge]) -> Iterable[Branch]:
    for sort, grams in _by_sort(edges):
        words = (
            "Loads from the circuit"
            if sort == FROM_CIRCUIT
            else f"{said_sort(sort)} from outside"
        )
        yield Branch(sort=IN, words=words, grams=grams)


def _gone_out(edges: Iterable[Edge]) -> Iterable[Branch]:
    for sort, grams in _by_sort(edges):
        words = "Melted at the refinery" if sort == "melt" else f"{said_sort(sort)} out"
        yield Branch(sort=OUT, words=words, grams=grams)


def _by_sort(edges: Iterable[Edge]) -> list[tuple[str, Decimal]]:
    """Return the grams of each sort that has any, most first; the least ones as one."""
    sums: dict[str, Decimal] = {}
    for edge in edges:
        sums[edge.sort] = sums.get(edge.sort, Decimal(0)) + edge.grams
    found = [each for each in sums.items() if each[1]]
    found.sort(key=lambda each: (-each[1], each[0]))
    rest = found[MOST_SORTS:]
    if len(rest) < 2:
        return found
    others = f"{len(rest)} other sorts"
    return [*found[:MOST_SORTS], (others, sum((g for _sort, g in rest), Decimal(0)))]
