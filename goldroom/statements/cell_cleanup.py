"""A cell cleanup: cathodes washed, sludge out, weighed wet, and what was left behind.

The load ends here. Cathode and anode sludge, filter cake and spillage are items of
their own, weighed wet (which says nothing of their dry mass) and held by the smelt
from now on. Wash water is a solution drawn off the load. What stays on the cathodes is
a heel with an estimate, held by the cells until the next run takes it up.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.cells import CellLoad
from goldroom.custody.figures import WET, estimate, mass
from goldroom.custody.records import Item, Record
from goldroom.custody.rules import check_new_items
from goldroom.custody.state import State
from goldroom.custody.weighed import check_weighed, net_terms, weighed_notices
from goldroom.errors import CellNotOpened, NotInThisState, WrongSort
from goldroom.statements import fields
from goldroom.statements.cell_rows import (
    CAME_OFF_WORDS,
    CathodeHeelRow,
    SludgeRow,
    SolutionOutRow,
    check_samples_fit,
    check_solution_out,
    open_load,
    solution_ids,
    the_cell,
)
from goldroom.statements.cell_solutions import (
    drawn_off,
    sent_away,
    solution_figures,
)
from goldroom.statements.estimating import check_never_exact, metal_of
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_reached,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.wording import listed


@kind("cells.cleaned", group="room", title="Cell cleanup", can_void=True)
@dataclass(frozen=True, kw_only=True)
class CellsCleaned(Statement):
    """Cathodes washed and sludge taken out: a cell's load ends as sludge."""

    cell: str = fields.code("Cell", table="vessel")
    load: str = fields.code("Load", table="item", help="The load that ends here")
    opened: tuple[OpenedRow, ...] = opened_field()
    cathodes: int = fields.whole("Cathodes washed", high=10000)
    sludges: tuple[SludgeRow, ...] = fields.rows(
        "Sludge, weighed wet", SludgeRow, most=40,
        help="Of cathodes and anodes apart, filter cake and spillage too",
    )  # fmt: skip
    wash_water: SolutionOutRow | None = fields.one(
        "Wash water", SolutionOutRow, optional=True
    )
    heel: CathodeHeelRow | None = fields.one(
        "Left on the cathodes", CathodeHeelRow, optional=True
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a cell that was not opened or holds no load, and ids in use.

        Raises CellNotOpened, NotInThisState, WrongSort, ItemIdUsed and others.
        """
        cell = the_cell(state, self.cell)
        check_openings(state, self.opened, self.closed)
        if not cell.is_open and all(row.vessel != self.cell for row in self.opened):
            seals = ", ".join(each.seal for each in cell.points)
            raise CellNotOpened(
                f"cell: {self.cell} is sealed ({seals}) and was not opened, so no"
                " sludge can have come out of it. Say who opened it, or list it under"
                " opened with the seals as they were seen.",
                field="cell",
            )
        load = open_load(state, cell)
        if load is None:
            raise NotInThisState(
                f"load: {self.cell} holds no load: nothing was run in it since its"
                " last cleanup. Check which cell it was, or say first what was run.",
                field="load",
            )
        if load.item != self.load:
            raise NotInThisState(
                f"load: {self.cell} holds load {load.item}; found {self.load}. Name"
                " the load that is in it.",
                field="load",
            )
        check_new_items(state, self._made())
        for n, row in enumerate(self.sludges):
            vessel = check_reached(
                state, row.vessel, self.opened, f"sludges[{n}].vessel"
            )
            if vessel.sort == "cell":
                raise WrongSort(
                    f"sludges[{n}].vessel: {row.item} came out of a cell; {row.vessel}"
                    " is one. Name the tray or drum that it is in.",
                    field=f"sludges[{n}].vessel",
                )
        if self.wash_water is not None:
            check_solution_out(state, self.wash_water, self.opened, "wash_water")
        self.check_figures(act, state)

    def _made(self) -> list[tuple[str, str]]:
        named = [(row.item, f"sludges[{n}].item") for n, row in enumerate(self.sludges)]
        if self.wash_water is not None:
            named += solution_ids(self.wash_water, "wash_water")
        if self.heel is not None:
            named.append((self.heel.item, "heel.item"))
        return named

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and an estimate without uncertainty."""
        for n, row in enumerate(self.sludges):
            path = f"sludges[{n}]"
            check_weighed(state, act, row.weighed, f"{path}.gross", f"{path}.tare")
        if self.wash_water is not None:
            check_samples_fit(self.wash_water, "wash_water")
        if self.heel is not None:
            check_never_exact(self.heel, "heel.")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the wash water, the load's end, sludge and heel, and their figures."""
        cell = the_cell(state, self.cell)
        yield from open_vessels(state, act, self.opened)
        if self.wash_water is not None:
            yield from drawn_off(state, act, self.wash_water, self.load, cell.place)
        yield from moves.use_up(state, act, (self.load,))
        for new in self._new_items(state, cell.place):
            yield from moves.make(state, act, new)
        yield self._ended(act, state)
        yield from self.measures(act, state)
        for row in self.sludges:
            yield from weighed_notices(state, act, (row.gross, row.tare), row.item)
        if self.wash_water is not None:
            yield from sent_away(state, act, self.wash_water)
        yield from close_vessels(state, act, self.closed)

    def _new_items(self, state: State, place: str) -> Iterator[moves.NewItem]:
        load = state.get(Item, self.load)
        assert load is not None
        for row in self.sludges:
            yield moves.NewItem(
                item=row.item,
                sort="sludge",
                step="smelt",
                from_step="electrowinning",
                place=place,
                vessel=row.vessel,
                parents=(self.load,),
                source=load.source,
                label=f"{CAME_OFF_WORDS[row.came_off]} of {self.load}",
            )
        if self.heel is not None:
            yield moves.NewItem(
                item=self.heel.item,
                sort="heel",
                step="electrowinning",
                from_step="electrowinning",
                vessel=self.cell,
                parents=(self.load,),
                source=load.source,
                label=f"left on the cathodes of {self.cell}",
            )

    def _ended(self, act: Act, state: State) -> CellLoad:
        begun = state.get(CellLoad, self.load)
        assert begun is not None
        return replace(
            begun,
            cleaned_at=act.at,
            cleaned_in=act.entry,
            cathodes=self.cathodes,
            sludges=tuple(row.item for row in self.sludges),
            heel="" if self.heel is None else self.heel.item,
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the sludges' wet masses, the wash water's figures, the heel's."""
        for n, row in enumerate(self.sludges):
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, row.weighed, f"sludges[{n}]"),
                wanted_for=WET,
            )
        if self.wash_water is not None:
            yield from solution_figures(state, act, self.wash_water, "wash_water")
        if self.heel is not None:
            yield from estimate(
                state,
                act,
                item=self.heel.item,
                metal=metal_of(self.heel),
                method=self.heel.method,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        sludges = [
            f"{CAME_OFF_WORDS[row.came_off]} {row.item} ({row.gross} gross, wet, in"
            f" {row.vessel})"
            for row in self.sludges
        ]
        water = f" Wash water: {self.wash_water}." if self.wash_water else ""
        heel = ""
        if self.heel is not None:
            heel = (
                f" A heel {self.heel.item} was left on the cathodes, thought to hold"
                f" {self.heel.gold_g} g of gold (± {self.heel.gold_u_g}) and"
                f" {self.heel.silver_g} g of silver (± {self.heel.silver_u_g}):"
                f" {self.heel.method}."
            )
        count = f"{self.cathodes} cathode{'' if self.cathodes == 1 else 's'} washed"
        return (
            f"Cell {self.cell} was cleaned, {count}: load {self.load} gave"
            f" {listed(sludges)}.{water}{heel}"
            + openings_words(self.opened, self.closed)
        )
