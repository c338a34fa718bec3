"""Solutions of the intensive leach: a batch is drained, and its residue washed.

Pregnant solution passes to the balance of electrowinning with its own volume and
assay. A wash solution does too, or is kept for the next batch, or goes to the mill.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.numbers import check_numbers
from goldroom.custody.records import Record
from goldroom.custody.rules import check_new_items
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.leach_rows import SolutionRow
from goldroom.statements.leaching import (
    batch_at_hand,
    brought_to,
    check_into_tank,
    check_solution,
    draw_solution,
    samples_named,
    solution_volumes,
    solution_words,
)
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

WASH_GOES_TO = ("electrowinning", "next_batch", "mill")
WASH_WORDS = {
    "electrowinning": "for electrowinning",
    "next_batch": "kept for the next batch",
    "mill": "pumped to the mill",
}


@kind("leach.drained", group="room", title="Leach drained", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachDrained(Statement):
    """Pregnant solution let out of a batch into a tank, for electrowinning."""

    batch: str = fields.code("Batch", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()
    solution: SolutionRow = fields.one("Pregnant solution", SolutionRow)
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a solution drained twice, a finished batch, a sealed tank."""
        batch = batch_at_hand(state, self.batch)
        if batch.status == "drained":
            raise NotInThisState(
                f"batch: {self.batch} was drained by entry {batch.entry}, and neither"
                " washed nor made up since: a solution cannot be drained twice. Say"
                " what was put in since, or correct the volume drained.",
                field="batch",
            )
        check_openings(state, self.opened, self.closed)
        check_reached(state, batch.vessel, self.opened, "batch")
        _check_named(state, act, self.solution)
        check_solution(state, self.solution, self.opened, "solution")
        check_into_tank(self.solution, "solution")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the solution and its samples, the volumes, and the batch drained."""
        yield from open_vessels(state, act, self.opened)
        yield from draw_solution(
            state,
            act,
            self.solution,
            of=self.batch,
            step="electrowinning",
            label=f"pregnant solution of {self.batch}",
        )
        yield from self.measures(act, state)
        yield from brought_to(state, act, self.batch, "drained")
        yield from close_vessels(state, act, self.closed)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the volumes."""
        yield from solution_volumes(state, act, self.solution, "solution")

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Leach batch {self.batch} was drained: pregnant"
            f" {solution_words(self.solution)}."
            + openings_words(self.opened, self.closed)
        )


@kind("leach.washed", group="room", title="Leach washed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachWashed(Statement):
    """Residue washed in its vessel, and the wash solution let out of it."""

    batch: str = fields.code("Batch", table="item")
    water_l: Decimal = fields.number("Wash water", "L", low="0.1", is_figure=False)
    opened: tuple[OpenedRow, ...] = opened_field()
    solution: SolutionRow = fields.one("Wash solution", SolutionRow)
    goes_to: str = fields.choice(
        "Goes to", WASH_GOES_TO,
        help="Electrowinning, kept for the next batch, or back to the mill",
    )  # fmt: skip
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse to wash what was not drained, a finished batch, a sealed tank."""
        batch = batch_at_hand(state, self.batch)
        if batch.status == "leaching":
            raise NotInThisState(
                f"batch: {self.batch} was not drained yet; its pregnant solution is"
                " still in it. Say first that it was drained, and how much.",
                field="batch",
            )
        check_openings(state, self.opened, self.closed)
        check_reached(state, batch.vessel, self.opened, "batch")
        _check_named(state, act, self.solution)
        check_solution(state, self.solution, self.opened, "solution")
        if self.goes_to != "mill":
            check_into_tank(self.solution, "solution")
        elif self.solution.tank is not None:
            raise BadField(
                f"solution.tank: {self.solution.item} goes to the mill and is in no"
                " tank. Leave the tank out; say how else its volume was measured.",
                field="solution.tank",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the wash solution and its samples, the volumes, and what leaves."""
        yield from open_vessels(state, act, self.opened)
        yield from draw_solution(
            state,
            act,
            self.solution,
            of=self.batch,
            step="electrowinning" if self.goes_to == "electrowinning" else "leach",
            label=f"wash solution of {self.batch}",
        )
        yield from self.measures(act, state)
        yield from brought_to(state, act, self.batch, "washed")
        yield from close_vessels(state, act, self.closed)
        if self.goes_to == "mill":
            yield from moves.leave(state, act, (self.solution.item,), where_to="mill")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the volumes."""
        yield from solution_volumes(state, act, self.solution, "solution")

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Leach batch {self.batch} was washed with {self.water_l} L of water: wash"
            f" {solution_words(self.solution)}, {WASH_WORDS[self.goes_to]}."
            + openings_words(self.opened, self.closed)
        )


def _check_named(state: State, act: Act, row: SolutionRow) -> None:
    """Refuse ids of a solution and its samples used before, or not of their series."""
    samples = samples_named(row.samples, "solution.samples")
    check_new_items(state, [(row.item, "solution.item"), *samples])
    check_numbers(state, act, "sample", samples)
