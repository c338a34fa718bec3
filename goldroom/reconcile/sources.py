"""Where an item's metal came from: the share that each origin has in it.

An *origin* was made of nothing earlier in the record: a hopper load, opening stock,
metal received from elsewhere. What several things went into together is attributed
to them by their measured metal, with the errors of all of them:

    share of o in item = sum(share of o in i x metal of i) / sum(metal of i)

over all i that went into it, and so back to the origins; the shares add up to 1 with
no uncertainty. A holder is made of what was put in; what was drawn off one, of what
had been put in by then. Whatever only one thing went into shares its origins.

A thing whose parts cannot be weighed against each other stands for itself. That costs
nothing where all of them are of one source. Where they are not, gravity and other
metal are *inseparable* in it, and in whatever it goes into, to the share it has there:
when the metal of one part is known to nobody (it was never sampled, nor is its like),
or when somebody said that it was mixed and no record tells of what. A part whose
result is still to come counts with the figure that stands in for it; the shares then
are provisional, and as wide.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from goldroom.custody.moves import MIXED
from goldroom.custody.records import HOLDERS, Item
from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.amounts import NOTHING, Amount
from goldroom.reconcile.contents import Contents
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.priors import Quantities

ALL, NONE = exact(1.0), exact(0.0)
NEGLIGIBLE = 1e-6
"""Origins with less than this in a thing are counted together: `earlier`."""

STAND_INS = ("prior", "lineage")
"""How contents are told that nobody measured of the item itself."""

_EARLIER = "earlier "


def earlier(source: str) -> str:
    """Return the name for all origins of a source of which next to nothing is left."""
    return f"{_EARLIER}{source}"


def is_earlier(name: str) -> bool:
    """Return whether a share is that of many earlier origins together."""
    return name.startswith(_EARLIER)


def inputs_of(data: LedgerRecords, item: str) -> tuple[str, ...]:
    """Return what went into an item, as far back as one step; none for an origin.

    Flushes hold no metal of their own here: what they made is an origin. What was put
    into a holder has ended there; what is known of later is not in it yet.
    """
    held = data.items[item]
    named, by = held.parents, ""
    drawn_from = data.items.get(held.drawn_from)
    if drawn_from is not None and drawn_from.sort in HOLDERS:
        named, by = drawn_from.parents, held.held_from
    elif drawn_from is not None:
        named = (held.drawn_from,)
    found = [(each, data.items[each]) for each in named if each in data.items]
    return tuple(
        each
        for each, made in found
        if made.sort != "flush"
        and (held.sort not in HOLDERS or made.held_until)
        and (not by or "" < made.held_until <= by)
    )


@dataclass(frozen=True)
class Shares:
    """Shares of items by origin, worked out once each.

    With `is_by_source`, origins of one source count as one, by its name (gravity,
    other), which is quicker; what is inseparable stands there by its own name.
    """

    quantities: Quantities
    metal: str = "gold"
    is_by_source: bool = False
    inseparable: dict[str, str] = field(default_factory=dict)
    """Things that cannot be separated and why, in words; filled as they are met."""

    _found: dict[str, Mapping[str, Measured]] = field(default_factory=dict)
    _pending: dict[str, frozenset[str]] = field(default_factory=dict)

    def of(self, item: str) -> Mapping[str, Measured]:
        """Return the share of each origin in the item's metal; they add up to 1."""
        if item not in self._found:
            self._walk_back(item)
        return self._found[item]

    def pending_in(self, item: str) -> frozenset[str]:
        """Return the parts with a figure still to come that the shares rest on."""
        self.of(item)
        return self._pending[item]

    def _walk_back(self, item: str) -> None:
        """Work out the item's shares after those of all that went into it.

        A year of returns is a long way back, so this keeps its own list of what is
        still to do. What comes round to itself within one act counts once.
        """
        to_do, begun = [item], set[str]()
        while to_do:
            name = to_do[-1]
            if name in self._found:
                to_do.pop()
                continue
            inputs = () if self._is_source(name) else self._inputs(name)
            ahead = [
                each for each in inputs if each not in self._found and each not in begun
            ]
            if ahead and name not in begun:
                begun.add(name)
                to_do += ahead
                continue
            to_do.pop()
            known = [each for each in inputs if each in self._found]
            self._found[name] = self._shares(name, known)

    def _is_source(self, name: str) -> bool:
        """Return whether the name of the item's source is all that is asked."""
        held = self.quantities.data.items[name]
        return self.is_by_source and held.source != MIXED and held.sort not in HOLDERS

    def _inputs(self, name: str) -> tuple[str, ...]:
        """Return what went into the item, unless it was said to be something else."""
        data = self.quantities.data
        held, inputs = data.items[name], inputs_of(data, name)
        made_of = _one_source([data.items[each] for each in inputs])
        is_said = held.sort in HOLDERS or held.source == made_of
        return inputs if is_said else ()

    def _shares(self, name: str, inputs: Sequence[str]) -> Mapping[str, Measured]:
        """Return the item's shares from those of what went into it."""
        self._pending[name] = frozenset[str]().union(
            *(self._pending[each] for each in inputs)
        )
        if self._is_source(name):
            return {self.quantities.data.items[name].source: ALL}
        if len(inputs) == 1:
            return self._found[inputs[0]]
        if not inputs:
            return self._for_itself(name, "nobody knows what it was mixed from")
        holdings = {each: self._metal_of(each) for each in inputs}
        unknown = [each for each, amount in holdings.items() if amount is None]
        if unknown:
            told = [self._named(each) for each in unknown]
            return self._for_itself(name, f"nobody measured {' and '.join(told)}")
        weights = {each: amount for each, amount in holdings.items() if amount}
        whole = total(weights.values())
        if whole.value <= 0:
            return self._for_itself(
                name, f"what went into it held no {self.metal} by the record"
            )
        self._pending[name] |= {
            part for each in inputs for part in self._pending_parts(each)
        }
        return self._together(weights, whole)

    def _for_itself(self, name: str, why: str) -> Mapping[str, Measured]:
        """Return the shares of an origin, or of what cannot be told apart."""
        items = self.quantities.data.items
        inputs = inputs_of(self.quantities.data, name)
        source = items[name].source
        if items[name].sort in HOLDERS and inputs:
            source = _one_source([items[each] for each in inputs])
        if source == MIXED:
            self.inseparable[name] = why
        elif self.is_by_source:
            return {source: ALL}
        return {name: ALL}

    def _together(
        self, weights: Mapping[str, Measured], whole: Measured
    ) -> Mapping[str, Measured]:
        """Return the origins' shares in several things of known weight together."""
        parts: dict[str, list[Measured]] = {}
        for each, weight in weights.items():
            for origin, share in self._found[each].items():
                part = weight if share is ALL else weight * share
                parts.setdefault(origin, []).append(part)
        if len(parts) == 1:
            return dict.fromkeys(parts, ALL)
        shares: dict[str, Measured] = {}
        little: dict[str, list[Measured]] = {}
        for origin, found in parts.items():
            share = total(found) / whole
            if abs(share.value) < NEGLIGIBLE and not self.is_by_source:
                little.setdefault(self._earlier_name(origin), []).append(share)
            else:
                shares[origin] = share
        for origin, found in little.items():
            known = [shares[origin]] if origin in shares else []
            shares[origin] = total([*known, *found])
        return shares

    def _earlier_name(self, origin: str) -> str:
        if is_earlier(origin):
            return origin
        return earlier(source_of_origin(self.quantities.data, origin))

    def _metal_of(self, item: str) -> Measured | None:
        """Return an item's metal to weigh its part by; None if nobody can know it.

        A charge holds what its sources hold. Where no result is to be expected, no
        typical figure will do either.
        """
        data = self.quantities.data
        if data.items[item].sort == "charge":
            held = [self._metal_of(each) for each in inputs_of(data, item)]
            known = [each for each in held if each is not None]
            return total(known) if len(known) == len(held) else None
        contents = self.quantities.of(item)
        amount = contents.amount(self.metal)
        if amount is None or (contents.how in STAND_INS and self._is_unsampled(item)):
            return None
        sort = data.items[item].sort
        if contents.is_pending and not self.quantities.is_ever_measured(sort):
            return None
        return amount.measured

    def _pending_parts(self, item: str) -> list[str]:
        """Return the item if its figure is still to come; of a charge, such sources."""
        data = self.quantities.data
        parts: tuple[str, ...] = (item,)
        if data.items[item].sort == "charge":
            parts = inputs_of(data, item)
        return [each for each in parts if self.quantities.of(each).is_pending]

    def _is_unsampled(self, item: str) -> bool:
        """Return whether it is metal from elsewhere that nobody took a sample of.

        Or all that was made of such metal, while nobody measured it either.
        """
        data = self.quantities.data
        inputs: tuple[str, ...] = (item,)
        while len(inputs) == 1 and not self.quantities.measured(inputs[0]).is_measured:
            (name,) = inputs
            received = data.other_metal.get(name)
            if received is not None:
                drawn = [data.items.get(each) for each in data.items[name].drawn]
                sampled = any(each and each.sort == "sample" for each in drawn)
                return not (received.sample or sampled)
            inputs = inputs_of(data, name)
        return False

    def _named(self, item: str) -> str:
        sort = self.quantities.data.items[item].sort
        return f"{sort.replace('_', ' ')} {item}"


def source_of_origin(data: LedgerRecords, name: str) -> str:
    """Return the source of what a share is named by: gravity, other or mixed."""
    if is_earlier(name):
        return name.removeprefix(_EARLIER)
    return data.items[name].source if name in data.items else name


@dataclass(frozen=True)
class GravityShares:
    """What of an item's gold came by gravity, and what nobody can tell."""

    shares: Shares

    @classmethod
    def of_all(cls, quantities: Quantities) -> GravityShares:
        """Return the shares of any item of these."""
        return cls(Shares(quantities, is_by_source=True))

    def of(self, item: str) -> Measured:
        """Return the share of the item's gold that surely came by gravity, 0 to 1."""
        return self.shares.of(item).get("gravity", NONE)

    def unsure_of(self, item: str) -> Measured:
        """Return the share of it of which nobody can tell whether it did."""
        unsure = [
            share
            for name, share in self.shares.of(item).items()
            if name in self.shares.inseparable
        ]
        return (unsure[0] if len(unsure) == 1 else total(unsure)) if unsure else NONE

    def gold(self, contents: Contents) -> Amount | None:
        """Return the gold of an item that came by gravity; None if it is unknown."""
        return _part(contents, self.of(contents.item))

    def unsure_gold(self, contents: Contents) -> Amount | None:
        """Return the gold of an item that may have; None if its gold is unknown."""
        return _part(contents, self.unsure_of(contents.item))


def _part(contents: Contents, share: Measured) -> Amount | None:
    if share is NONE:
        return NOTHING
    gold = contents.gold
    return gold if gold is None or share is ALL else gold.times(share)


def _one_source(items: Sequence[Item]) -> str:
    """Return the source that all of these are of, or mixed."""
    found = {each.source for each in items}
    return found.pop() if len(found) == 1 else MIXED
