"""Rows of the cells' statements, and what is found in a cell: its load, its heels."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Vessel
from goldroom.custody.state import State
from goldroom.custody.weighed import Weighed
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.leach_rows import SolutionSampleRow
from goldroom.statements.openings import OpenedRow, check_reached

CAME_OFF = ("cathodes", "anodes", "filter_cake", "spillage")
CAME_OFF_WORDS = {
    "cathodes": "cathode sludge",
    "anodes": "anode sludge",
    "filter_cake": "filter cake",
    "spillage": "spillage",
}


@dataclass(frozen=True, kw_only=True)
class CellReadingRow:
    """What was read at the cell at one time."""

    at: datetime = fields.moment("Read at")
    amperes: Decimal | None = fields.number(
        "Current", "A", high="1000000", optional=True
    )
    volts: Decimal | None = fields.number("Voltage", "V", high="10000", optional=True)
    pregnant_mg_l: Decimal | None = fields.number(
        "Gold going in", "mg/L", high="1000000", optional=True
    )
    barren_mg_l: Decimal | None = fields.number(
        "Gold coming out", "mg/L", high="1000000", optional=True
    )


@dataclass(frozen=True, kw_only=True)
class SolutionOutRow:
    """Solution out of a cell: its volume, what the room read in it, where it went."""

    item: str = fields.code("Solution id", help="A new id, never used before")
    volume_l: Decimal = fields.number(
        "Volume", "L", low="0.001", high="10000000",
        help="Of all of it, before any sample was drawn off",
    )  # fmt: skip
    gold_mg_l: Decimal = fields.number(
        "Gold, as read by the room", "mg/L", high="1000000",
        help="It stands until the laboratory reports on a sample",
    )  # fmt: skip
    silver_mg_l: Decimal = fields.number(
        "Silver, as read by the room", "mg/L", high="1000000"
    )
    goes_to: str = fields.choice(
        "Goes to", ("mill", "leach", "cells"),
        help="The mill, or a tank, for the next leach or another run of the cells",
    )  # fmt: skip
    tank: str | None = fields.code(
        "Tank", table="vessel", optional=True, help="Where it is kept, or was measured"
    )
    samples: tuple[SolutionSampleRow, ...] = fields.rows(
        "Samples of it", SolutionSampleRow, optional=True, most=20
    )

    def __str__(self) -> str:
        """Return the solution as a sentence names it."""
        where = "to the mill" if self.goes_to == "mill" else f"into {self.tank}"
        purpose = {
            "mill": "",
            "leach": " for the next leach",
            "cells": " for another run",
        }[self.goes_to]
        samples = "".join(
            f", sample {row.item} of {row.volume_ml} mL taken by {row.taken_by}"
            for row in self.samples
        )
        return (
            f"{self.item}, {self.volume_l} L, read as {self.gold_mg_l} mg/L gold and"
            f" {self.silver_mg_l} mg/L silver, {where}{purpose}{samples}"
        )


@dataclass(frozen=True, kw_only=True)
class SludgeRow:
    """Sludge that came out of a cell, weighed wet."""

    item: str = fields.code("Sludge id", help="A new id, never used before")
    came_off: str = fields.choice("Came off", CAME_OFF)
    gross: Reading = fields.reading("Gross mass, wet")
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    vessel: str = fields.code("Kept in", table="vessel", help="The tray or drum")

    @property
    def weighed(self) -> Weighed:
        """Return the weighing."""
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.vessel)


@dataclass(frozen=True, kw_only=True)
class CathodeHeelRow:
    """What was left on the cathodes, as estimated; it joins the next load."""

    item: str = fields.code("Heel id", help="A new id for what was left")
    gold_g: Decimal = fields.number("Gold, estimated", "g")
    gold_u_g: Decimal = fields.number("Gold, standard uncertainty", "g")
    silver_g: Decimal = fields.number("Silver, estimated", "g")
    silver_u_g: Decimal = fields.number("Silver, standard uncertainty", "g")
    method: str = fields.text("How estimated", help="By eye, by mass of cathodes ...")


def the_cell(state: State, cell_id: str) -> Vessel:
    """Return the cell; refuse another vessel, and one that nothing can be sealed on."""
    cell = the(state, Vessel, cell_id, "cell")
    if cell.sort != "cell":
        raise wrong_sort("cell", cell_id, cell.sort, "a cell")
    if not cell.points:
        raise BadField(
            f"cell: {cell_id} has no point that takes a seal, so nobody can tell"
            " whether it was opened. Register it anew with its lid as a seal point.",
            field="cell",
        )
    return cell


def open_load(state: State, cell: Vessel) -> Item | None:
    """Return the load in the cell, None since its cleanup."""
    loads = [each for each in _in_cell(state, cell) if each.sort == "cell_load"]
    return loads[-1] if loads else None


def heels_in(state: State, cell: Vessel) -> tuple[str, ...]:
    """Return what earlier cleanups left in the cell and no load has taken up yet."""
    return tuple(each.item for each in _in_cell(state, cell) if each.sort == "heel")


def _in_cell(state: State, cell: Vessel) -> list[Item]:
    held = [state.get(Item, each) for each in cell.contents]
    return [each for each in held if each is not None]


def check_solution_out(
    state: State, row: SolutionOutRow, opened: Sequence[OpenedRow], path: str
) -> None:
    """Refuse a solution kept in no tank, in a sealed one, or in a vessel that is none.

    Raises BadField, UnknownVessel, WrongSort and VesselSealed.
    """
    if row.goes_to != "mill" and row.tank is None:
        raise BadField(
            f"{path}.tank: {row.item} is kept, but in no tank. Write the tank it is in,"
            " or that it went to the mill.",
            field=f"{path}.tank",
        )
    if row.tank is None:
        return
    tank = the(state, Vessel, row.tank, f"{path}.tank")
    if tank.sort not in ("tank", "leach_vessel"):
        raise wrong_sort(f"{path}.tank", row.tank, tank.sort, "a tank")
    if row.goes_to != "mill":
        check_reached(state, row.tank, opened, f"{path}.tank")


def check_samples_fit(row: SolutionOutRow, path: str) -> None:
    """Refuse samples that are more than the solution they were drawn off."""
    drawn_l = sum((each.volume_ml for each in row.samples), Decimal(0)) / 1000
    if drawn_l > row.volume_l:
        raise BadField(
            f"{path}.samples: {drawn_l} L of samples were drawn off {row.volume_l} L."
            " Check their volumes; samples are in mL.",
            field=f"{path}.samples",
        )


def solution_ids(row: SolutionOutRow, path: str) -> Sequence[tuple[str, str]]:
    """Return the ids that a solution and its samples bring, each with its field."""
    samples = [
        (each.item, f"{path}.samples[{n}].item") for n, each in enumerate(row.samples)
    ]
    return [(row.item, f"{path}.item"), *samples]
