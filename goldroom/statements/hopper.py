"""The locked hopper: weighed at a marked level, drained, opened, closed.

A load is the rise since the reading before it; the flushes that came in between are
its parents. Readings are compared at equal mark only. Water drawn off is said, so
that nobody takes it for concentrate. Emptying a hopper has a module of its own.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import figures, levels, moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import check_new_item, the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import (
    Concentrator,
    Flush,
    Instrument,
    Level,
    Mark,
    Record,
    Vessel,
)
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.errors import OnlyFiguresChange, WrongSort
from goldroom.metal.units import to_grams
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.sealing import (
    SealFittedRow,
    SealRemovedRow,
    ceremony,
    check_closing,
    check_opening,
    fitted_field,
    fitted_words,
    removed_field,
    removed_words,
    restay,
)

G_PER_KG = Decimal(1000)


def the_hopper(state: State, hopper_id: str, field: str = "hopper") -> Vessel:
    """Return the hopper. Raises UnknownVessel and WrongSort."""
    hopper = the(state, Vessel, hopper_id, field)
    if hopper.sort != "hopper":
        raise wrong_sort(field, hopper_id, hopper.sort, "a hopper")
    return hopper


def the_mark(hopper: Vessel, mark: str, field: str = "mark") -> Mark:
    """Return the hopper's mark of that name. Raises BadField."""
    for each in hopper.marks:
        if each.mark == mark:
            return each
    raise BadField(
        f"{field}: {hopper.vessel} has no mark {mark}; it has"
        f" {', '.join(each.mark for each in hopper.marks)}."
        " Write the mark that was read.",
        field=field,
    )


def check_level(
    state: State,
    act: Act,
    hopper: Vessel,
    mark: Mark,
    gross: Reading,
    field: str = "gross",
) -> None:
    """Refuse a reading not taken on the hopper's cells, or that no pulp can make.

    Raises WrongSort, NotAPulp and what a reading may be refused for.
    """
    if gross.instrument != hopper.load_cells:
        stands_on = hopper.load_cells or "no load cells: write its settled density"
        raise WrongSort(
            f"{field}.instrument: found {gross.instrument}, but {hopper.vessel} stands"
            f" on {stands_on}. Read those, or name the hopper that was weighed.",
            field=f"{field}.instrument",
        )
    check_taken(state, act, gross, field)
    cells = the(state, Instrument, hopper.load_cells, "load_cells")
    levels.check_solids(
        hopper,
        mark,
        gross.grams,
        water_kg_m3=limit_value(state, "hopper_water_kg_m3"),
        slack_g=levels.empty_slack_g(
            state, act, gross, interval_g=to_grams(cells.interval, cells.unit)
        ),
        field=field,
    )


@kind("hopper.weighed", group="room", title="Hopper weighed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class HopperWeighed(Statement):
    """A hopper read at a marked level: what came in since the last reading."""

    load: str = fields.code("Load", help="A new id for what came in")
    hopper: str = fields.code("Hopper", table="vessel")
    mark: str = fields.code("Mark", help="The mark at which the water stands")
    gross: Reading | None = fields.reading(
        "Gross on its cells", optional=True, help="Hopper, water and solids together"
    )
    settled_kg_m3: Decimal | None = fields.number(
        "Settled bulk density, dry solids", "kg/m3", low="100", high="20000",
        optional=True, help="Without cells: solids settled up to the mark",
    )  # fmt: skip

    def check(self, act: Act, state: State) -> None:
        """Refuse a load id used before, and a level that cannot be."""
        the_hopper(state, self.hopper)
        check_new_item(state, self.load, "load")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse both ways of reading at once, neither, and figures that cannot be."""
        hopper = the_hopper(state, self.hopper)
        mark = the_mark(hopper, self.mark)
        if (self.gross is None) == (self.settled_kg_m3 is None):
            raise BadField(
                "gross: write the gross reading of a hopper on cells, or the settled"
                " density of one without, and not both.",
                field="gross",
            )
        if self.gross is not None:
            check_level(state, act, hopper, mark, self.gross)
        if act.corrects_entry:
            read = self._level(act, state).net.terms[0]
            if not levels.is_used(state, read.reading_id):
                raise OnlyFiguresChange(
                    "gross: the entry was read the other way, on cells or as settled"
                    " solids. Take it back and say it anew.",
                    field="gross",
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the load, its mass, the flushes' end, the level, what is noticed."""
        hopper = the_hopper(state, self.hopper)
        pending = hopper.pending_flushes
        now, before = self._level(act, state), hopper.last_level
        new = moves.NewItem(
            item=self.load,
            sort="load",
            step="hopper",
            vessel=self.hopper,
            parents=pending,
        )
        yield from moves.make(state, act, new)
        yield from moves.use_up(state, act, pending)
        for each in pending:
            flush = state.get(Flush, each)
            assert flush is not None
            yield replace(flush, load=self.load)
        yield from self.measures(act, state)
        terms = levels.rise(now, before)
        yield from levels.remember_uses(state, act, self.load, terms)
        emptied = the_hopper(state, self.hopper)
        yield replace(emptied, pending_flushes=(), last_level=now)
        yield from self._noticed(act, state, now, before)
        yield from _usual(state, act, self.load, pending)

    def _level(self, act: Act, state: State) -> Level:
        hopper = the_hopper(state, self.hopper)
        mark = the_mark(hopper, self.mark)
        if self.gross is None:
            assert self.settled_kg_m3 is not None
            return levels.read_as_settled(act, hopper, mark, self.settled_kg_m3)
        water = limit_value(state, "hopper_water_kg_m3")
        return levels.read_on_cells(
            state, act, hopper, mark, self.gross, water_kg_m3=water
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the load's mass; corrected, that of each load that used the reading."""
        now = self._level(act, state)
        if act.corrects_entry:
            read = now.net.terms[0]
            yield from levels.reread(
                state,
                act,
                self.hopper,
                reading_id=read.reading_id,
                grams=read.grams,
            )
            return
        before = the_hopper(state, self.hopper).last_level
        yield from figures.mass(
            state,
            act,
            item=self.load,
            terms=levels.rise(now, before),
            wanted_for="hopper_rise",
        )

    def _noticed(
        self, act: Act, state: State, now: Level, before: Level | None
    ) -> Iterator[Record]:
        if self.gross is None:
            return
        yield from weighed_notices(state, act, (self.gross,), self.load)
        hopper = the_hopper(state, self.hopper)
        fall_g = levels.fall_g(now, before, hopper.load_cells)
        cells = the(state, Instrument, hopper.load_cells, "load_cells")
        intervals = limit_value(state, "hopper_fall_intervals")
        limit_g = intervals * to_grams(cells.interval, cells.unit)
        if before is not None and fall_g > limit_g:
            yield notice(
                state,
                act,
                "hopper_fell",
                item=self.hopper,
                found=f"{fall_g / G_PER_KG} kg less at mark {self.mark}",
                expected=f"no fall beyond {limit_g / G_PER_KG} kg since {before.at}",
                message=f"{self.hopper} weighs less than before at the same level",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        read = f"read {self.gross} gross"
        if self.gross is None:
            read = f"held solids settled to {self.settled_kg_m3} kg/m3"
        return (
            f"Hopper {self.hopper} {read} at mark {self.mark}; what came in since the"
            f" last reading is load {self.load}."
        )


def _usual(
    state: State, act: Act, load: str, flushes: tuple[str, ...]
) -> Iterator[Record]:
    """Yield a finding if the load is outside what its flushes usually bring."""
    low_kg = high_kg = Decimal(0)
    for each in flushes:
        flush = state.get(Flush, each)
        unit = None if flush is None else state.get(Concentrator, flush.unit)
        if unit is None or not (unit.usual_flush_kg_min and unit.usual_flush_kg_max):
            return
        low_kg += unit.usual_flush_kg_min
        high_kg += unit.usual_flush_kg_max
    mass = figures.latest_mass(state, load)
    if mass is not None and flushes and not low_kg <= mass.dry_g / G_PER_KG <= high_kg:
        yield notice(
            state,
            act,
            "flush_unit_outside_usual",
            item=load,
            found=f"{mass.dry_g / G_PER_KG} kg dry from {len(flushes)} flushes",
            expected=f"{low_kg} to {high_kg} kg",
            message=f"load {load} is outside what its flushes usually bring",
        )


@kind("hopper.drawn_off", group="room", title="Water drawn off", can_void=True)
@dataclass(frozen=True, kw_only=True)
class HopperDrawnOff(Statement):
    """Water drawn off a hopper: its level falls and no solids go with it."""

    hopper: str = fields.code("Hopper", table="vessel")
    water_to: str = fields.text("Water to", help="Where the water went")
    reason: str = fields.text("Reason")
    mark: str | None = fields.code(
        "Down to mark", optional=True, help="If the water now stands at a mark"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a vessel that is no hopper, and a mark it does not have."""
        hopper = the_hopper(state, self.hopper)
        if self.mark is not None:
            the_mark(hopper, self.mark)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the contents' stay since: same place, less water."""
        yield from restay(state, act, self.hopper)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        down = f" down to mark {self.mark}" if self.mark else ""
        return (
            f"Water was drawn off hopper {self.hopper}{down} to {self.water_to}:"
            f" {self.reason}."
        )


@kind("hopper.opened", group="room", title="Hopper opened", can_void=True)
@dataclass(frozen=True, kw_only=True)
class HopperOpened(Statement):
    """A sealed hopper opened, and why."""

    hopper: str = fields.code("Hopper", table="vessel")
    reason: str = fields.text("Reason")
    seals_removed: tuple[SealRemovedRow, ...] = removed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse to open a hopper that is open already."""
        hopper = the_hopper(state, self.hopper)
        check_opening(state, hopper, self.seals_removed, what="hopper")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals off, the hopper open, the contents' stay since."""
        yield from ceremony(state, act, self.hopper, removed=self.seals_removed)
        yield from restay(state, act, self.hopper)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Hopper {self.hopper} was opened ({self.reason}); seals taken off:"
            f" {removed_words(self.seals_removed)}."
        )


@kind("hopper.closed", group="room", title="Hopper closed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class HopperClosed(Statement):
    """An open hopper closed, every bare point sealed."""

    hopper: str = fields.code("Hopper", table="vessel")
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse to close a hopper that is closed, or to leave a point bare."""
        hopper = the_hopper(state, self.hopper)
        check_closing(state, hopper, self.seals_fitted, what="hopper")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals on, the hopper closed, the contents' stay since."""
        yield from ceremony(state, act, self.hopper, fitted=self.seals_fitted)
        yield from restay(state, act, self.hopper)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Hopper {self.hopper} was closed and sealed,"
            f" {fitted_words(self.seals_fitted)}."
        )
