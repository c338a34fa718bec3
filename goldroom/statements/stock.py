"""Stock that cannot be weighed, estimated; and a count rolled to the cut-off.

What hangs on cathodes, in a furnace, a crucible or a tank's heel is said as grams
with an uncertainty and a method. Three things can be meant, and are kept apart:

- a better figure of what is held already: a version of its estimate;
- what is there now in place of an earlier estimate: a new thing, the old one ended;
- metal that no book knew of, found in equipment: it enters from outside, as an
  adjustment of the metal itself, for metal found is not an error of the book.

A closing and the next opening are the same estimate, with one effect, so it cancels.
(Common practice, no source.)
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody import figures, moves
from goldroom.custody.act import Act, utc_text
from goldroom.custody.lookups import check_new_item, the
from goldroom.custody.names import a_sort
from goldroom.custody.records import HOLDERS, STEPS, Item, Place, Record, Said, Vessel
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.custody.stock import FOUND_IN_EQUIPMENT, RolledCount, StockCount
from goldroom.errors import AlreadyMeasured, WrongSort
from goldroom.statements import fields, rolling
from goldroom.statements.estimating import check_never_exact, metal_of
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

NO_METAL_OF_THEIR_OWN = ("flush", "charge", *HOLDERS)
HOLD_UP_SORTS = (
    "heel", "sludge", "solution", "concentrate", "slag", "skull", "sweepings", "other",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class HoldUpRow:
    """A new thing to be held: what it is, which step holds it, where it sits."""

    sort: str = fields.choice("Sort", HOLD_UP_SORTS)
    step: str = fields.choice("Held by step", STEPS)
    source: str = fields.choice("Source", ("gravity", "other", "mixed"))
    place: str = fields.code("Place", table="place")
    vessel: str | None = fields.code("Vessel", table="vessel", optional=True)
    instead_of: str | None = fields.code(
        "In place of", table="item", optional=True,
        help="The earlier estimate of the same equipment, which ends here",
    )  # fmt: skip


@kind("stock.estimated", group="count", title="Stock estimated", can_void=True)
@dataclass(frozen=True, kw_only=True)
class StockEstimated(Statement):
    """What is thought to be held where nothing can be weighed: cathodes, heels."""

    item: str = fields.code("Item", help="A thing held, or a new id")
    new: HoldUpRow | None = fields.one(
        "New thing", HoldUpRow, optional=True, help="If the book does not know it yet"
    )
    gold_g: Decimal = fields.number("Gold, estimated", "g")
    gold_u_g: Decimal = fields.number("Gold, standard uncertainty", "g")
    silver_g: Decimal = fields.number("Silver, estimated", "g")
    silver_u_g: Decimal = fields.number("Silver, standard uncertainty", "g")
    method: str = fields.text("Method", help="How it was estimated, and by whom")

    def check(self, act: Act, state: State) -> None:
        """Refuse what was weighed and assayed, holds no metal itself, or is unknown."""
        if self.new is None:
            item = item_at_hand(state, self.item, "item")
            _check_estimable(state, item, "item")
        else:
            check_new_item(state, self.item, "item")
            the(state, Place, self.new.place, "new.place")
            if self.new.vessel is not None:
                the(state, Vessel, self.new.vessel, "new.vessel")
            if self.new.instead_of is not None:
                _check_ends(state, self.new, self.new.instead_of)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse an estimate without uncertainty."""
        check_never_exact(self)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the new thing, if it is one, and the estimate."""
        if self.new is not None:
            yield from self._made(act, state, self.new)
        yield from self.measures(act, state)

    def _made(self, act: Act, state: State, new: HoldUpRow) -> Iterator[Record]:
        """Yield the thing: come from outside, or out of the estimate that it ends."""
        made = moves.NewItem(
            item=self.item,
            sort=new.sort,
            step=new.step,
            place=new.place,
            vessel=new.vessel or "",
            source=new.source,
            from_step=new.step if new.instead_of else "",
            parents=(new.instead_of,) if new.instead_of else (),
            is_opening=new.instead_of is None,
        )
        yield from moves.make(state, act, made)
        if new.instead_of is not None:
            yield from moves.use_up(state, act, (new.instead_of,))
            return
        yield from moves.cross(
            state, act, self.item, new.step, where_to=FOUND_IN_EQUIPMENT, from_step=""
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the estimate."""
        yield from figures.estimate(
            state, act, item=self.item, metal=metal_of(self), method=self.method
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        held = (
            f"is thought to hold {self.gold_g} g of gold (± {self.gold_u_g}) and"
            f" {self.silver_g} g of silver (± {self.silver_u_g}): {self.method}."
        )
        if self.new is None:
            return f"{self.item} {held}"
        where = self.new.vessel or self.new.place
        if self.new.instead_of is not None:
            return f"{self.item}, in {where} in place of {self.new.instead_of}, {held}"
        return f"{self.item}, found in {where} and new to the book, {held}"


@dataclass(frozen=True, kw_only=True)
class MovementRow:
    """A movement between count and cut-off: the entry that moved an item."""

    entry: str = fields.code("Entry", table="said")
    item: str = fields.code("Item", table="item")


@kind("stock.rolled", group="month", title="Count rolled", can_void=True)
@dataclass(frozen=True, kw_only=True)
class StockRolled(Statement):
    """A count taken at another time than the cut-off, rolled there by movements."""

    count: str = fields.code(
        "Count", table="stock_count", help="The entry of the count"
    )
    cut_off: datetime = fields.moment("Cut-off")
    movements: tuple[MovementRow, ...] = fields.rows(
        "Movements between", MovementRow, optional=True,
        help="Everything that was put there or taken from there in between",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse a movement that is none, was at another time, or is left out."""
        count = the(state, StockCount, self.count, "count")
        cut_off = utc_text(self.cut_off)
        if cut_off == count.at:
            raise BadField(
                f"cut_off: the count was taken at the cut-off, {cut_off}; there is"
                " nothing to roll. Leave the count as it is.",
                field="cut_off",
            )
        for n, row in enumerate(self.movements):
            field = f"movements[{n}]"
            moved = the(state, Said, row.entry, f"{field}.entry")
            the(state, Item, row.item, f"{field}.item")
            if not rolling.lies_between(moved.at, count_at=count.at, cut_off=cut_off):
                raise BadField(
                    f"{field}.entry: {row.entry} happened {moved.at}, which is not"
                    f" between the count, {count.at}, and the cut-off, {cut_off}. List"
                    " what lies between.",
                    field=f"{field}.entry",
                )
            if not rolling.direction(state, count, row.entry, row.item):
                raise BadField(
                    f"{field}.item: entry {row.entry} neither put {row.item} into"
                    f" {count.vessel or count.place} nor took it out. Check both ids.",
                    field=f"{field}.item",
                )
        self._check_complete(state, count, cut_off)

    def _check_complete(self, state: State, count: StockCount, cut_off: str) -> None:
        """Refuse a list that leaves out a movement of something that was counted."""
        listed_here = {(row.entry, row.item) for row in self.movements}
        if len(listed_here) < len(self.movements):
            raise BadField(
                "movements: a movement is listed twice. List each once.",
                field="movements",
            )
        for item in count.found:
            for entry in rolling.movements_of(state, count, item, cut_off):
                if (entry, item) not in listed_here:
                    raise BadField(
                        f"movements: entry {entry} moved {item} in between and is not"
                        " listed. List it.",
                        field="movements",
                    )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what would have been found at the cut-off."""
        count = state.get(StockCount, self.count)
        assert count is not None
        forward = utc_text(self.cut_off) > count.at
        moved = {
            row.item: rolling.direction(state, count, row.entry, row.item)
            for row in sorted(
                self.movements,
                key=lambda row: rolling.happened(state, row.entry),
                reverse=not forward,
            )
        }
        is_there = rolling.CAME_IN if forward else rolling.WENT_OUT
        there = [each for each in count.found if moved.get(each, is_there) == is_there]
        there += [
            each for each, way in moved.items() if way == is_there and each not in there
        ]
        yield RolledCount(
            entry=act.entry,
            count=self.count,
            cut_off=utc_text(self.cut_off),
            items=tuple(there),
            at=act.at,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        moved = listed([f"{row.item} ({row.entry})" for row in self.movements])
        return (
            f"The count of entry {self.count} was rolled to the cut-off at"
            f" {self.cut_off:%Y-%m-%d %H:%M}, over"
            f" {moved or 'no movement'}."
        )


def _check_estimable(state: State, item: Item, field: str) -> None:
    """Refuse what was weighed and assayed, and what holds no metal of its own.

    What was weighed only wet can be estimated: that says nothing of its dry mass.
    """
    if item.sort in NO_METAL_OF_THEIR_OWN:
        raise WrongSort(
            f"{field}: {item.item} is {a_sort(item.sort)}; its metal is"
            " counted in what goes in and comes off. Estimate what is left behind as a"
            " new thing.",
            field=field,
        )
    is_measured = item.volumes or figures.is_weighed_dry(state, item.item)
    if item.assays and is_measured:
        raise AlreadyMeasured(
            f"{field}: {item.item} was measured and assayed; an estimate would not"
            " better that. Correct its figures, or estimate what hangs in the"
            " equipment as a new thing.",
            field=field,
        )


def _check_ends(state: State, new: HoldUpRow, earlier_id: str) -> None:
    """Refuse to end what was measured, is not here, or is held by another step."""
    earlier = item_at_hand(state, earlier_id, "new.instead_of")
    _check_estimable(state, earlier, "new.instead_of")
    if earlier.step != new.step:
        raise BadField(
            f"new.step: {earlier_id} is held by the {earlier.step}; found {new.step}."
            " Name that step: what takes its place is held there too.",
            field="new.step",
        )
