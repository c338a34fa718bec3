"""What stands in for a figure that is still to come: never zero, and wide.

Drillings and cleanings of a bar are taken at the bar's own fineness, whatever was
drawn off an item that stayed held at that item's content, a calcine as what it was made
from, and a cell's sludge by the solution call (`passed_whole`). Any other item that
nobody has assayed or estimated yet gets, in this order,

1. the mean content of the measured items of its sort, per dry gram or litre (per item
   while it has neither);
2. where its sort is never measured here: a load, the grade of the lot it went into;
   a lot, concentrate, residue, sludge, calcine or bar, its share of what it was made
   from;
3. the mean content of measured items of a like sort (a lot for a load, a bar for a
   dip sample).

Its uncertainty is the spread of the items that the mean comes from, at least
`NARROWEST` of it, and `WIDE` of it while they are fewer than `ENOUGH`. Where nothing
is known, a sample drawn off a holder counts with the holder until its result is in,
and one of whose dry mass nothing is known with what it was taken from; of anything
else the contents stay unknown, and the balances that need them are not drawn.

What an item holds *at a time* is its own figure less all that had been drawn off it;
of a holder (a leach batch, a cell's load), all that had been put in, less all drawn
off: so its balance shows nothing while it runs, and what is missing when it ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from goldroom.custody.records import HOLDERS, Item
from goldroom.metal import effect_keys
from goldroom.metal.uncertainty import Measured, exact, total
from goldroom.reconcile.amounts import NOTHING, posted
from goldroom.reconcile.budget import DEFAULT, Budget
from goldroom.reconcile.contents import Contents, is_alike, less, plus
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.passed_whole import by_the_call, passed_whole
from goldroom.reconcile.portions import (
    drawn_before,
    group_of,
    portion_held,
    sample_of,
    taken_from,
)
from goldroom.reconcile.quantities import METALS, measured_contents, used_mass
from goldroom.reconcile.typical import WIDE, grams, typical_of
from goldroom.reconcile.wet_samples import with_dry_mass

LIKE: Mapping[str, tuple[str, ...]] = {
    "load": ("lot",),
    "lot": ("load",),
    "sample": ("bar", "solution"),
    "solution": ("sample",),
    "middlings": ("tails", "magnetics"),
    "tails": ("middlings", "magnetics"),
    "magnetics": ("tails", "middlings"),
    "heel": ("lot", "load"),
    "skull": ("slag",),
    "sweepings": ("slag",),
}
TAKEN_OFF_BARS = ("sample", "sweepings")
MADE_OF_PARENTS = ("lot", "concentrate", "bar", "calcine", "sludge", "residue")
NOTHING_LOST = ("lot", "calcine")
"""Made by a transfer that metal passes whole, as far as anybody can see."""


_Moment = tuple[str, tuple[str, ...], tuple[str, ...]]
"""An item, what had been put into it, what had been drawn off it."""


@dataclass(frozen=True)
class Quantities:
    """Contents of every item of a ledger, worked out once each."""

    data: LedgerRecords
    budget: Budget = DEFAULT
    _found: dict[_Moment, Contents] = field(default_factory=dict)
    _own: dict[str, Contents] = field(default_factory=dict)
    _measured: dict[str, Contents] = field(default_factory=dict)

    def of(self, item: str, *, at: str = "", drawn: int | None = None) -> Contents:
        """Return what the item holds: by its end, or before a time, or after drawings.

        With `at`, what it held just before that time; with `drawn`, when so many
        things had been drawn off it.
        """
        held = self.data.items[item]
        put, taken = self._put_in(held, at), self._drawn_off(held, at, drawn)
        moment = (item, put, taken)
        found = self._found.get(moment)
        if found is None:
            found = self._sum(item, put) if held.sort in HOLDERS else self.whole(item)
            found = less(found, [self.whole(each) for each in taken])
            self._found[moment] = found
        return found

    def whole(self, item: str) -> Contents:
        """Return what the item held before anything was drawn off it.

        What was drawn before the weighing that counts is not in that weighing.
        """
        held = self.data.items[item]
        if held.sort in HOLDERS:
            return self._sum(item, self._put_in(held, ""))
        own = self.own(item)
        mass = used_mass(self.data.masses.get(item, ()))
        before = [] if mass is None else drawn_before(held, mass, self.data.items)
        return plus(own, [self.whole(each) for each in before]) if before else own

    @cached_property
    def dated_budget(self) -> Budget:
        """Return the budget with the rows that the site has set, each for its time."""
        return self.budget.changed_by(self.data.error_budgets)

    def own(self, item: str) -> Contents:
        """Return the item's own figure, or what stands in for it."""
        found = self._own.get(item)
        if found is None:
            found = with_dry_mass(self.measured(item), self.data)
            portion = portion_held(self, found)
            if portion is not None or not found.is_measured:
                found = portion or self._stand_in(item, found)
            self._own[item] = found
        return found

    def _put_in(self, held: Item, at: str) -> tuple[str, ...]:
        """Return what had been put into a holder before a time ("" for ever)."""
        if held.sort not in HOLDERS:
            return ()
        items = self.data.items
        return tuple(
            each
            for each in held.parents
            if each in items
            and items[each].held_until
            and (not at or items[each].held_until < at)
        )

    def _drawn_off(self, held: Item, at: str, drawn: int | None) -> tuple[str, ...]:
        """Return what had been drawn off an item before a time ("" for ever)."""
        items = self.data.items
        return tuple(
            each
            for each in held.drawn[:drawn]
            if each in items and (not at or items[each].held_from < at)
        )

    def _sum(self, item: str, put: Sequence[str]) -> Contents:
        """Return what a holder held before anything was drawn off it."""
        return plus(
            Contents(item, "book", NOTHING, NOTHING, NOTHING),
            [self.of(each) for each in put],
        )

    def measured(self, item: str) -> Contents:
        """Return what was weighed, assayed or estimated of the item itself."""
        found = self._measured.get(item)
        if found is None:
            found = measured_contents(item, self.data, self.dated_budget)
            self._measured[item] = found
        return found

    @cached_property
    def by_sort(self) -> Mapping[str, tuple[Contents, ...]]:
        """Return the measured items of each sort; a sort without any is not there."""
        groups: dict[str, list[Contents]] = {}
        for name, item in self.data.items.items():
            contents = self.measured(name)
            if contents.is_measured:
                group = group_of(item, self.data.items)
                groups.setdefault(group, []).append(contents)
        return {sort: tuple(group) for sort, group in groups.items()}

    def is_ever_measured(self, sort: str) -> bool:
        """Return whether the record holds an assay or estimate of such an item."""
        return sort in self._sorts_measured

    @cached_property
    def _sorts_measured(self) -> frozenset[str]:
        """Return the sorts measured; with a calcine, what it was made from too."""
        items = self.data.items
        found = [
            items[name]
            for name in (*self.data.assays, *self.data.estimates)
            if name in items
        ]
        parents = [
            items[parent].sort
            for each in found
            if each.sort == "calcine"
            for parent in each.parents
            if parent in items
        ]
        return frozenset((*parents, *(each.sort for each in found)))

    def _stand_in(self, item: str, found: Contents) -> Contents:
        """Return the contents with a figure in place of the one to come."""
        held = self.data.items[item]
        sort = held.sort
        contents = None
        group, of = (each(held, self.data.items) for each in (group_of, sample_of))
        alike = taken_from(held, self.data.items)
        if alike:
            contents = self._at_grade_of_source(found, alike)
        if contents is None and sort in TAKEN_OFF_BARS:
            contents = self._at_grade_of(found, held.parents, "bar")
        if contents is None and sort == "sample" and found.size is None:
            contents = self._with_its_holder(found, held.drawn_from)
        if contents is None:
            contents = passed_whole(self, found)
        if contents is None and sort == "sludge":
            contents = by_the_call(self, found)
        if contents is None:
            contents = self._from_mean(found, sort, (group,))
        if contents is None and sort == "load":
            contents = self._at_grade_of(found, held.children, "lot")
        if contents is None and sort in MADE_OF_PARENTS:
            contents = self._from_parents(found, sort)
        if contents is None:
            like = LIKE.get(sort, ()) if group == sort else (of, *LIKE.get(of, ()))
            contents = self._from_mean(found, sort, like)
        if contents is None and sort == "sample":
            contents = self._with_its_holder(found, held.drawn_from)
        return contents or replace(
            found, said=f"{item}: nothing in the record tells what this {sort} holds"
        )

    def _from_mean(
        self, found: Contents, sort: str, sorts: Sequence[str]
    ) -> Contents | None:
        """Return contents by the mean of measured items of these sorts, or None."""
        group = [each for name in sorts for each in self.by_sort.get(name, ())]
        alike = [each for each in group if is_alike(each, found)]
        if sort == "solution":
            barren = self._is_barren(found.item)
            alike = [each for each in alike if self._is_barren(each.item) is barren]
        typical = typical_of(alike, sized=found.size is not None)
        if typical is None:
            return None
        size = exact(1.0) if found.size is None else found.size.measured
        key = effect_keys.holding(found.item)
        gold, silver = (
            posted((size * mean).scaled_by(typical.relative_u, key))
            for mean in (typical.gold, typical.silver)
        )
        many = f"{typical.count} measured {' or '.join(sorts)} item(s)"
        return replace(
            found,
            how="prior",
            gold=gold,
            silver=silver,
            said=f"{found.item}: no result yet; taken as the mean of {many},"
            f" ± {100 * typical.relative_u:.0f} %",
        )

    def _is_barren(self, item: str) -> bool:
        """Return whether a solution was drawn off a cell: its like holds little."""
        items = self.data.items
        drawn_from = items.get(items[item].drawn_from)
        return drawn_from is not None and drawn_from.sort == "cell_load"

    def _at_grade_of_source(
        self, found: Contents, sources: Sequence[str]
    ) -> Contents | None:
        """Return contents at the content of what the item was taken from, or None."""
        wholes = [self.own(each) for each in sources if each in self.data.items]
        size = found.size
        if size is None or not wholes:
            return None
        for whole in wholes:
            if not is_alike(whole, found) or not grams(whole.size):
                return None
            if whole.gold is None or whole.silver is None:
                return None
        gold, silver = (
            posted(_grade(wholes, metal) * size.measured) for metal in METALS
        )
        return replace(
            found,
            how="lineage",
            gold=gold,
            silver=silver,
            standing=wholes[0].standing,
            said=f"{found.item}: not assayed itself; valued as"
            f" {', '.join(sources)}, which it was taken from",
        )

    def _with_its_holder(self, found: Contents, holder: str) -> Contents | None:
        """Return a sample as still counted with what it was drawn off, or None.

        What a few millilitres hold is missed by neither: it stays in the holder's sum.
        """
        held = self.data.items.get(holder)
        if held is None or (held.sort not in HOLDERS and found.size is not None):
            return None
        return replace(
            found,
            how="prior",
            gold=NOTHING,
            silver=NOTHING,
            said=f"{found.item}: no result yet, nor of its like; counted with {holder},"
            " which it was drawn off",
        )

    def _at_grade_of(
        self, found: Contents, relatives: Sequence[str], sort: str
    ) -> Contents | None:
        """Return contents at the grade of assayed relatives of a sort, or None."""
        dry, items = found.dry_mass, self.data.items
        of_sort = [each for each in relatives if each in items]
        of_sort = [each for each in of_sort if items[each].sort == sort]
        assayed = [self.measured(each) for each in of_sort]
        assayed = [each for each in assayed if each.how == "assay"]
        if dry is None or not assayed:
            return None
        gold, silver = (
            posted(_grade(assayed, metal) * dry.measured) for metal in METALS
        )
        return replace(
            found,
            how="lineage",
            gold=gold,
            silver=silver,
            standing=assayed[-1].standing,
            said=f"{found.item}: not assayed itself; valued at the grade of"
            f" {', '.join(each.item for each in assayed)}",
        )

    def _from_parents(self, found: Contents, sort: str) -> Contents | None:
        """Return the item's equal share of what it was made from, or None."""
        parents = self.made_from(found.item)
        holdings = [self.of(parent) for parent in parents]
        if not holdings or any(each.gold is None for each in holdings):
            return None
        share = exact(1.0 / len(self._made_together(found.item)))
        never = sort in NOTHING_LOST and not self.is_ever_measured(sort)
        if not never:
            share = share.scaled_by(WIDE, effect_keys.holding(found.item))
        gold, silver = (
            posted(total(_measured(each, metal) for each in holdings) * share)
            for metal in METALS
        )
        return replace(
            found,
            how="lineage" if never else "prior",
            gold=gold,
            silver=silver,
            said=f"{found.item}: taken as its share of what it was made from"
            + ("" if never else f", ± {100 * WIDE:.0f} %"),
        )

    def made_from(self, item: str) -> tuple[str, ...]:
        """Return the items with contents that an item was made from.

        A charge holds nothing itself: its sources are meant.
        """
        made: list[str] = []
        for parent in self.data.items[item].parents:
            held = self.data.items.get(parent)
            if held is not None and held.sort == "charge":
                made += [each for each in held.parents if each in self.data.items]
            elif held is not None and held.sort != "flush":
                made.append(parent)
        return tuple(made)

    def _made_together(self, item: str) -> set[str]:
        """Return the item and those of its sort that the same act made."""
        items = self.data.items
        held = items[item]
        children = [
            items[child]
            for parent in held.parents
            if parent in items
            for child in items[parent].children
            if child in items
        ]
        together = {
            child.item
            for child in children
            if child.sort == held.sort and child.made_by == held.made_by
        }
        return together | {item}


def _grade(assayed: Sequence[Contents], metal: str) -> Measured:
    """Return the metal per dry gram or litre of some items together."""
    sizes = [each.size for each in assayed]
    return total(_measured(each, metal) for each in assayed) / total(
        size.measured for size in sizes if size is not None
    )


def _measured(contents: Contents, metal: str) -> Measured:
    """Return an amount that is known to be there, as a measured number."""
    amount = contents.amount(metal)
    assert amount is not None
    return amount.measured
