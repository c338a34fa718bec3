"""Electrowinning cells: solution run through them, cells opened and closed.

From one cleanup to the next a cell's metal is one load: what was put in, less the
barren solution drawn off it, by volume and assay. That is the solution call; what the
cleanup finds is held against it (`goldroom.reconcile.solution_call`). A cell opened
for repair is always noticed: gold may be taken there. (Common practice, no source.)
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act, utc_text
from goldroom.custody.cells import CellLoad, CellRun
from goldroom.custody.notices import notice
from goldroom.custody.numbers import check_numbers
from goldroom.custody.records import Item, Record, Vessel
from goldroom.custody.rules import check_new_items, item_at_hand, source_of
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.metal.current import ampere_hours
from goldroom.statements import fields
from goldroom.statements.cell_rows import (
    CellReadingRow,
    SolutionOutRow,
    check_samples_fit,
    check_solution_out,
    heels_in,
    open_load,
    solution_ids,
    the_cell,
)
from goldroom.statements.cell_solutions import (
    barren_notices,
    drawn_off,
    faraday_notices,
    litres_in,
    plated_g,
    sent_away,
    solution_figures,
    volume_notices,
)
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_taken_out,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
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
from goldroom.statements.wording import listed, plain

REASONS = ("inspection", "cleanup", "repair")
SECOND = timedelta(seconds=1)


@kind("cells.run", group="room", title="Cells run", can_void=True)
@dataclass(frozen=True, kw_only=True)
class CellsRun(Statement):
    """One run of a cell: solutions in, current passed, barren solution out."""

    cell: str = fields.code("Cell", table="vessel", help="A cell, or a bank of them")
    load: str | None = fields.code(
        "Load id", optional=True,
        help="A new id for the first run after a cleanup; left out for later runs",
    )  # fmt: skip
    opened: tuple[OpenedRow, ...] = opened_field()
    solutions: tuple[str, ...] = fields.codes("Solutions put in", table="item")
    started_at: datetime = fields.moment("Current on")
    ended_at: datetime = fields.moment("Current off")
    readings: tuple[CellReadingRow, ...] = fields.rows(
        "Readings", CellReadingRow, optional=True, most=200, help="In order of time"
    )
    charge_ah: Decimal | None = fields.number(
        "Ampere-hours, off the meter", "Ah", optional=True,
        help="Left out, they are worked out from the amperes read",
    )  # fmt: skip
    barren: SolutionOutRow = fields.one("Barren solution out", SolutionOutRow)
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a cell open or unknown, solutions used, ids in use, times upside down.

        Raises WrongSort, NotInThisState, ItemConsumed, ItemIdUsed, VesselSealed and
        BadField.
        """
        cell = the_cell(state, self.cell)
        self._check_closed(cell)
        check_openings(state, self.opened, self.closed)
        load = open_load(state, cell)
        self._check_load(load)
        for n, item_id in enumerate(self.solutions):
            path = f"solutions[{n}]"
            item = item_at_hand(state, item_id, path, sorts=("solution",))
            check_taken_out(state, item, self.opened, path)
        named = [(self.load, "load")] if self.load and load is None else []
        _, *samples = barren = solution_ids(self.barren, "barren")
        check_new_items(state, [*named, *barren])
        check_numbers(state, act, "sample", samples)
        check_solution_out(state, self.barren, self.opened, "barren")
        self._check_times(act)
        self.check_figures(act, state)

    def _check_closed(self, cell: Vessel) -> None:
        bare = [each.point for each in cell.points if not each.seal]
        if any(row.vessel == self.cell for row in self.opened):
            bare = [each.point for each in cell.points]
        if bare:
            raise NotInThisState(
                f"cell: {self.cell} stands open, with no seal on {', '.join(bare)}."
                " Close and seal it before a run.",
                field="cell",
            )

    def _check_load(self, load: Item | None) -> None:
        if load is None and self.load is None:
            raise BadField(
                f"load: {self.cell} holds no load since its last cleanup. Give this"
                " run's load a new id.",
                field="load",
            )
        if load is not None and self.load not in (None, load.item):
            raise NotInThisState(
                f"load: {self.cell} still holds load {load.item}. Leave the id out; a"
                " new load begins after a cleanup.",
                field="load",
            )

    def _check_times(self, act: Act) -> None:
        if self.ended_at <= self.started_at:
            raise BadField(
                f"ended_at: found {self.ended_at}, expected a time after the start,"
                f" {self.started_at}. Write both times as they were.",
                field="ended_at",
            )
        if self.ended_at > act.occurred_at:
            raise BadField(
                f"ended_at: {self.ended_at} is after the time of this statement,"
                f" {act.occurred_at}. Say of a run when it is over.",
                field="ended_at",
            )
        times = [self.started_at, *(row.at for row in self.readings), self.ended_at]
        if times != sorted(times):
            raise BadField(
                "readings: a reading is out of order, or before the start or after the"
                " end. Write them in order of time.",
                field="readings",
            )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse samples that are more than their solution, and a run without current.

        Raises BadField.
        """
        check_samples_fit(self.barren, "barren")
        if self.charge_ah is None and not self._amperes():
            raise BadField(
                "charge_ah: nothing tells what current passed. Write the ampere-hours"
                " off the meter, or the amperes of at least one reading.",
                field="charge_ah",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the load, what joins it, the barren solution, the run, what is odd."""
        cell = the_cell(state, self.cell)
        yield from open_vessels(state, act, self.opened)
        load = open_load(state, cell)
        if load is None:
            yield from self._load_begun(act, state)
        load_id = self.load or (load.item if load else "")
        yield from moves.put_in(state, act, heels_in(state, cell), load_id)
        yield from moves.put_in(state, act, self.solutions, load_id)
        yield from drawn_off(state, act, self.barren, load_id, cell.place)
        begun = state.get(CellLoad, load_id)
        assert begun is not None
        yield replace(begun, runs=(*begun.runs, act.entry))
        yield from self.measures(act, state)
        yield from sent_away(state, act, self.barren)
        yield from close_vessels(state, act, self.closed)

    def _load_begun(self, act: Act, state: State) -> Iterator[Record]:
        assert self.load is not None
        new = moves.NewItem(
            item=self.load,
            sort="cell_load",
            step="electrowinning",
            from_step="electrowinning",
            vessel=self.cell,
            source=source_of(state, self.solutions),
            label=f"load of {self.cell}",
        )
        yield from moves.make(state, act, new)
        yield CellLoad(
            load=self.load,
            cell=self.cell,
            runs=(),
            started_at=utc_text(self.started_at),
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the barren's figures, the run's current, and what they show."""
        yield from solution_figures(state, act, self.barren, "barren")
        run = self._run(act, state)
        yield run
        yield from barren_notices(state, act, self.barren)
        yield from volume_notices(
            state, act, run.load, came_in=run.litres_in, went_out=run.litres_out
        )
        fed = [each.pregnant_mg_l for each in self.readings]
        plated = plated_g(
            state,
            self.solutions,
            self.barren,
            next((each for each in fed if each is not None), None),
        )
        yield from faraday_notices(state, act, run.load, plated, run.charge_ah)

    def _run(self, act: Act, state: State) -> CellRun:
        """Return the run's next version: what its current came to, and its litres."""
        version = 1
        while state.get(CellRun, f"{act.measured_in}/{version:03d}") is not None:
            version += 1
        first = state.get(CellRun, f"{act.measured_in}/001")
        load = open_load(state, the_cell(state, self.cell)) if first is None else None
        return CellRun(
            run=act.measured_in,
            version=version,
            load=first.load if first is not None else load.item if load else "",
            cell=self.cell,
            from_at=utc_text(self.started_at),
            until_at=utc_text(self.ended_at),
            charge_ah=self._charge_ah(),
            charge_by="amperes" if self.charge_ah is None else "meter",
            litres_in=litres_in(state, self.solutions),
            litres_out=self.barren.volume_l,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def _charge_ah(self) -> Decimal:
        if self.charge_ah is not None:
            return self.charge_ah
        duration_s = (self.ended_at - self.started_at) // SECOND
        return ampere_hours(self._amperes(), duration_s=duration_s)

    def _amperes(self) -> list[tuple[int, Decimal]]:
        return [
            ((row.at - self.started_at) // SECOND, row.amperes)
            for row in self.readings
            if row.amperes is not None
        ]

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        begins = f", as load {self.load}" if self.load else ""
        by = "by the meter" if self.charge_ah is not None else "from the amperes read"
        count = len(self.readings)
        read = f", {count} reading{'s' if count > 1 else ''} taken" if count else ""
        return (
            f"Cell {self.cell} was run on {listed(self.solutions)}{begins} from"
            f" {_clock(self.started_at)} to {_clock(self.ended_at)}:"
            f" {plain(self._charge_ah())} Ah {by}{read}."
            f" Barren solution out: {self.barren}."
            + openings_words(self.opened, self.closed)
        )


def _clock(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%d %H:%M")


@kind("cells.opened", group="room", title="Cell opened", can_void=True)
@dataclass(frozen=True, kw_only=True)
class CellsOpened(Statement):
    """A sealed cell opened by two, its seals as they were seen, and why."""

    cell: str = fields.code("Cell", table="vessel")
    reason: str = fields.choice(
        "Reason", REASONS,
        help="Isolate the rectifier and prove the extraction first, by site procedure",
    )  # fmt: skip
    permit: str | None = fields.text(
        "Permit", optional=True, help="Number of the work permit; a repair has one"
    )
    present: str | None = fields.text(
        "Others present", optional=True, help="Contractors, inspectors: their names"
    )
    seals_removed: tuple[SealRemovedRow, ...] = removed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a cell that is open already, and a repair without a permit."""
        cell = the_cell(state, self.cell)
        check_opening(state, cell, self.seals_removed, what="cell")
        if self.reason == "repair" and self.permit is None:
            raise BadField(
                f"permit: {self.cell} was opened for repair, but no permit is named."
                " Write the number of the work permit.",
                field="permit",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals off, the contents' stay since; a repair is noticed."""
        yield from ceremony(state, act, self.cell, removed=self.seals_removed)
        yield from restay(state, act, self.cell)
        if self.reason == "repair":
            load = open_load(state, the_cell(state, self.cell))
            yield notice(
                state,
                act,
                "cell_opened",
                item=self.cell,
                found=f"permit {self.permit}{self._others()}",
                expected="no opening between cleanups",
                message=f"{self.cell} was opened for repair"
                + (f" with load {load.item} in it" if load else ""),
            )

    def _others(self) -> str:
        return f"; present: {self.present}" if self.present else ""

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        permit = f" under permit {self.permit}" if self.permit else ""
        return (
            f"Cell {self.cell} was opened for {self.reason}{permit}; seals taken off:"
            f" {removed_words(self.seals_removed)}{self._others()}."
        )


@kind("cells.closed", group="room", title="Cell closed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class CellsClosed(Statement):
    """An open cell closed, cathodes back in, every bare point sealed."""

    cell: str = fields.code("Cell", table="vessel")
    found: str | None = fields.text(
        "What was found", optional=True, help="And what was done while it was open"
    )
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse to close a cell that is closed, or to leave a point bare."""
        cell = the_cell(state, self.cell)
        check_closing(state, cell, self.seals_fitted, what="cell")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the seals on, the contents' stay since."""
        yield from ceremony(state, act, self.cell, fitted=self.seals_fitted)
        yield from restay(state, act, self.cell)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        found = f" Found: {self.found}." if self.found else ""
        return (
            f"Cell {self.cell} was closed and sealed,"
            f" {fitted_words(self.seals_fitted)}.{found}"
        )
