"""A hopper emptied into a vessel: its loads become a lot, sealed and weighed.

One ceremony: the hopper's seals come off, the contents go into a vessel, the vessel
is weighed and sealed, the hopper is sealed again. What stays behind is a heel, with
an estimate. The lot's own weighing, with its moisture, is the first mass where the
flushes were never weighed in the hopper. Where only the last flushes were not, they
are a load of their own without a mass, for what never came into the hopper's balance
would leave it with the lot as if it had grown there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import figures, levels, moves, weighed
from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Flush, Instrument, Item, Level, Record, Vessel
from goldroom.custody.rules import check_new_items, source_of
from goldroom.custody.state import State
from goldroom.errors import MoistureOver100, NotInThisState, WrongSort
from goldroom.statements import fields
from goldroom.statements.hopper import check_level, the_hopper, the_mark
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import check_seals_once
from goldroom.statements.sealing import (
    SealFittedRow,
    SealRemovedRow,
    ceremony,
    check_ceremony,
    fitted_field,
    fitted_words,
    removed_field,
    removed_words,
)

G_PER_KG = Decimal(1000)


@dataclass(frozen=True, kw_only=True)
class MoistureRow:
    """A moisture determination: water as a share of the wet mass, and its oven."""

    percent: Decimal = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100,
        help="Water as a share of the wet mass",
    )  # fmt: skip
    oven: str = fields.code("Oven", table="instrument")


@dataclass(frozen=True, kw_only=True)
class HeelRow:
    """What was left in the hopper, as estimated."""

    item: str = fields.code("Heel", help="A new id for what was left")
    dry_kg: Decimal = fields.number("Dry solids left", "kg")
    dry_u_kg: Decimal = fields.number("Standard uncertainty of the solids", "kg")
    gold_g: Decimal = fields.number("Gold", "g")
    gold_u_g: Decimal = fields.number("Standard uncertainty of the gold", "g")
    silver_g: Decimal = fields.number("Silver", "g")
    silver_u_g: Decimal = fields.number("Standard uncertainty of the silver", "g")
    method: str = fields.text("Method", help="How it was estimated")


@dataclass(frozen=True, kw_only=True)
class LevelAfterRow:
    """The hopper read again at a mark, refilled with water, before the next flush."""

    mark: str = fields.code("Mark")
    gross: Reading = fields.reading("Gross on its cells")


@kind("hopper.emptied", group="room", title="Hopper emptied", can_void=True)
@dataclass(frozen=True, kw_only=True)
class HopperEmptied(Statement):
    """A hopper emptied into a vessel, as a lot for the table."""

    hopper: str = fields.code("Hopper", table="vessel")
    lot: str = fields.code("Lot", help="A new id for what came out")
    seals_removed: tuple[SealRemovedRow, ...] = removed_field(
        "Hopper seals removed", optional=True, help="None if it stood open already"
    )
    into: str = fields.code("Into", table="vessel", help="The vessel that took the lot")
    gross: Reading = fields.reading("Gross, vessel with lot")
    tare: Reading | None = fields.reading(
        "Tare, vessel empty", optional=True, help="Left out, its registered tare counts"
    )
    moisture: MoistureRow = fields.one("Moisture", MoistureRow)
    lot_seals: tuple[SealFittedRow, ...] = fitted_field(
        "Seals fitted on the lot's vessel", optional=True
    )
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field(
        "Hopper seals fitted", optional=True
    )
    heel: HeelRow | None = fields.one("Heel left", HeelRow, optional=True)
    level_after: LevelAfterRow | None = fields.one(
        "Hopper read after", LevelAfterRow, optional=True
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a hopper sealed or empty, a vessel sealed, ids and seals in use."""
        hopper = the_hopper(state, self.hopper)
        check_ceremony(
            state, self.hopper, fitted=self.seals_fitted, removed=self.seals_removed
        )
        if not hopper.is_open and not self.seals_removed:
            raise NotInThisState(
                f"seals_removed: {self.hopper} is sealed. Say which seals were taken"
                " off, as they were seen before cutting.",
                field="seals_removed",
            )
        if not hopper.contents:
            raise NotInThisState(
                f"hopper: {self.hopper} holds nothing. List its flushes on a sheet and"
                " weigh it first.",
                field="hopper",
            )
        self._check_vessel(state)
        named = [(self.lot, "lot"), (self._unweighed, "lot")]
        if self.heel is not None:
            named.append((self.heel.item, "heel.item"))
        check_new_items(state, named)
        oven = the(state, Instrument, self.moisture.oven, "moisture.oven")
        if oven.sort != "oven":
            raise wrong_sort("moisture.oven", oven.instrument, oven.sort, "an oven")
        self.check_figures(act, state)

    def _check_vessel(self, state: State) -> None:
        into = the(state, Vessel, self.into, "into")
        if into.sort == "hopper":
            raise WrongSort(
                f"into: {self.into} is a hopper; a lot goes into a drum or tray."
                " Name the one it went into.",
                field="into",
            )
        if any(each.seal for each in into.points):
            raise NotInThisState(
                f"into: {self.into} still bears a seal; nothing can be put into it."
                " Open it first, or name the vessel really used.",
                field="into",
            )
        check_ceremony(state, self.into, fitted=self.lot_seals, field="lot_seals")
        check_seals_once(
            [
                (row.seal, f"{field}[{n}].seal")
                for field in ("seals_fitted", "lot_seals")
                for n, row in enumerate(getattr(self, field))
            ]
        )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be."""
        weighed.check_weighed(state, act, self._weighed, "gross", "tare")
        if self.level_after is not None:
            hopper = the_hopper(state, self.hopper)
            mark = the_mark(hopper, self.level_after.mark, "level_after.mark")
            check_level(
                state, act, hopper, mark, self.level_after.gross, "level_after.gross"
            )

    @property
    def _weighed(self) -> weighed.Weighed:
        return weighed.Weighed(gross=self.gross, tare=self.tare, vessel=self.into)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the lot, its parents' end, seals, masses, the heel, what is noticed."""
        from_step = self._from_step(state)
        if from_step:
            yield from self._unweighed_came_in(act, state)
        contents = the_hopper(state, self.hopper).contents
        yield from ceremony(state, act, self.hopper, removed=self.seals_removed)
        yield from ceremony(state, act, self.into, fitted=self.lot_seals)
        new = moves.NewItem(
            item=self.lot,
            sort="lot",
            step="table",
            from_step=from_step,
            vessel=self.into,
            parents=contents,
            source=source_of(state, contents),
        )
        yield from moves.make(state, act, new)
        yield from moves.use_up(state, act, contents)
        yield from self._flushes_gone(state, contents)
        yield from ceremony(state, act, self.hopper, fitted=self.seals_fitted)
        yield from self._heel_left(act, state, contents, from_step)
        level = self._level(act, state)
        hopper = the_hopper(state, self.hopper)
        yield replace(hopper, pending_flushes=(), last_level=level)
        yield from self.measures(act, state)
        yield from weighed.weighed_notices(
            state, act, (self.gross, self.tare), self.lot
        )
        if self.level_after is not None:
            yield from weighed.weighed_notices(
                state, act, (self.level_after.gross,), self.hopper
            )
        yield from self._lost(act, state, contents)

    def _from_step(self, state: State) -> str:
        """Return the step that the lot leaves: "" of flushes never weighed at all."""
        contents = the_hopper(state, self.hopper).contents
        held = [state.get(Item, each) for each in contents]
        return "hopper" if any(each and each.step for each in held) else ""

    def _unweighed_came_in(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the flushes since the last reading as a load that has no mass."""
        pending = the_hopper(state, self.hopper).pending_flushes
        if not pending:
            return
        new = moves.NewItem(
            item=self._unweighed,
            sort="load",
            step="hopper",
            vessel=self.hopper,
            parents=pending,
            label="came in after the last reading",
        )
        yield from moves.make(state, act, new)
        yield from moves.use_up(state, act, pending)
        for each in pending:
            flush = state.get(Flush, each)
            assert flush is not None
            yield replace(flush, load=self._unweighed)

    @property
    def _unweighed(self) -> str:
        """Return the id of the load of flushes that no reading was taken of."""
        return f"{self.lot}.unweighed"

    def _flushes_gone(
        self, state: State, contents: tuple[str, ...]
    ) -> Iterator[Record]:
        """Yield flushes that no reading made a load of: the lot is their load."""
        for each in contents:
            flush = state.get(Flush, each)
            if flush is not None:
                yield replace(flush, load=self.lot)

    def _heel_left(
        self, act: Act, state: State, contents: tuple[str, ...], from_step: str
    ) -> Iterator[Record]:
        """Yield the heel; of flushes never weighed, it is what the hopper gets."""
        if self.heel is not None:
            new = moves.NewItem(
                item=self.heel.item,
                sort="heel",
                step="hopper",
                from_step=from_step,
                vessel=self.hopper,
                parents=contents,
                source=source_of(state, contents),
            )
            yield from moves.make(state, act, new)

    def _level(self, act: Act, state: State) -> Level | None:
        """Return what the next load rises from, if anything is known of it."""
        hopper = the_hopper(state, self.hopper)
        if self.level_after is not None:
            return levels.read_on_cells(
                state,
                act,
                hopper,
                the_mark(hopper, self.level_after.mark),
                self.level_after.gross,
                water_kg_m3=limit_value(state, "hopper_water_kg_m3"),
                path="level_after.gross",
            )
        if self.heel is not None:
            return levels.heel_left(
                act,
                hopper,
                dry_g=self.heel.dry_kg * G_PER_KG,
                u_g=self.heel.dry_u_kg * G_PER_KG,
            )
        return None

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the lot's mass and the heel's estimate; corrected, the level too."""
        yield from figures.mass(
            state,
            act,
            item=self.lot,
            terms=weighed.net_terms(state, act, self._weighed, "lot"),
            wanted_for="lot",
            moisture=figures.Moisture(
                percent=self.moisture.percent,
                determination=f"{act.measured_in}.moisture",
                oven=self.moisture.oven,
            ),
        )
        if self.heel is not None:
            metal = figures.Metal(
                gold_g=self.heel.gold_g,
                gold_u_g=self.heel.gold_u_g,
                silver_g=self.heel.silver_g,
                silver_u_g=self.heel.silver_u_g,
            )
            yield from figures.estimate(
                state, act, item=self.heel.item, metal=metal, method=self.heel.method
            )
        level = self._level(act, state) if act.corrects_entry else None
        if level is not None:
            read = level.net.terms[0]
            yield from levels.reread(
                state, act, self.hopper, reading_id=read.reading_id, grams=read.grams
            )

    def _lost(
        self, act: Act, state: State, contents: tuple[str, ...]
    ) -> Iterator[Record]:
        """Yield a finding if much less dry mass came out than went in."""
        masses = [figures.latest_mass(state, each) for each in contents]
        lot = figures.latest_mass(state, self.lot)
        loads_g = sum((each.dry_g for each in masses if each is not None), Decimal(0))
        if lot is None or None in masses or loads_g <= 0 or self.heel is not None:
            return
        drop_percent = (loads_g - lot.dry_g) * 100 / loads_g
        limit = limit_value(state, "transfer_dry_drop_percent")
        if drop_percent > limit:
            yield notice(
                state,
                act,
                "item_lost_mass",
                item=self.lot,
                found=f"{lot.dry_g / G_PER_KG} kg dry in the lot",
                expected=f"within {limit} % of its loads, {loads_g / G_PER_KG} kg",
                message=f"lot {self.lot} is lighter than the loads it came from",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        off = on = sealed = heel = after = ""
        if self.seals_removed:
            off = f"; seals taken off: {removed_words(self.seals_removed)}"
        if self.seals_fitted:
            on = f" The hopper was sealed, {fitted_words(self.seals_fitted)}."
        if self.lot_seals:
            sealed = f", sealed {fitted_words(self.lot_seals)}"
        if self.heel is not None:
            heel = (
                f" A heel {self.heel.item} of about {self.heel.dry_kg} kg was left,"
                f" {self.heel.gold_g} g of gold by {self.heel.method}."
            )
        if self.level_after is not None:
            after = (
                f" Afterwards it read {self.level_after.gross} gross at mark"
                f" {self.level_after.mark}."
            )
        tare = f"{self.tare} tare" if self.tare is not None else "tare as registered"
        return (
            f"Hopper {self.hopper} was emptied into {self.into} as lot {self.lot}"
            f"{off}. The lot weighed {self.gross} gross ({tare}), at"
            f" {self.moisture.percent} % moisture{sealed}.{on}{heel}{after}"
        )
