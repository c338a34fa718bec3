"""Solution drawn off a cell's load, and what its current could have plated.

What the room itself reads in a barren solution is an assay like any other: provisional
where a sample was drawn for the laboratory, else the only one there will be. Faraday's
law gives a ceiling for what a run plated, never an estimate (`goldroom.metal.leach`).
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.notices import notice
from goldroom.custody.records import Assay, Item, Record, Volume
from goldroom.custody.state import State
from goldroom.metal.leach import current_efficiency_percent
from goldroom.statements.cell_rows import SolutionOutRow
from goldroom.statements.limits import limit_value

ROOM_READING = "room_reading"
"""Method of an assay that the room made at the cell, with its own instrument."""

STEP_FOR = {"leach": "leach", "cells": "electrowinning", "mill": "electrowinning"}
ML_PER_L = Decimal(1000)


def drawn_off(
    state: State, act: Act, row: SolutionOutRow, load: str, place: str
) -> Iterator[Record]:
    """Yield a solution drawn off the load, and the samples drawn off it."""
    held = state.get(Item, load)
    assert held is not None
    solution = moves.NewItem(
        item=row.item,
        sort="solution",
        step=STEP_FOR[row.goes_to],
        from_step="electrowinning",
        place=place,
        vessel=row.tank or "" if row.goes_to != "mill" else "",
        parents=(load,),
        source=held.source,
        label="barren solution",
    )
    yield from moves.draw(state, act, solution)
    for sample in row.samples:
        new = moves.NewItem(
            item=sample.item,
            sort="sample",
            step=solution.step,
            from_step=solution.step,
            place=place,
            parents=(row.item,),
            source=held.source,
            label=f"sample of {row.item}, taken by {sample.taken_by}",
        )
        yield from moves.draw(state, act, new)


def sent_away(state: State, act: Act, row: SolutionOutRow) -> Iterator[Record]:
    """Yield the leaving of a solution that went back to the mill."""
    if row.goes_to == "mill":
        yield from moves.leave(state, act, (row.item,), where_to="mill")


def solution_figures(
    state: State, act: Act, row: SolutionOutRow, path: str
) -> Iterator[Record]:
    """Yield the solution's volume and the room's reading of it, samples' volumes."""
    yield from figures.volume(
        state, act, item=row.item, litres=row.volume_l, tank=row.tank or "", path=path
    )
    origin = figures.Origin(
        assay_id=f"{act.measured_in}.{path}",
        sample="",
        standing="provisional" if row.samples else "final",
        laboratory="",
        method=ROOM_READING,
        sampler="",
        wanted_for="solution",
    )
    content = figures.Content(unit="mg_l", gold=row.gold_mg_l, silver=row.silver_mg_l)
    yield from figures.assay(state, act, item=row.item, content=content, origin=origin)
    for n, sample in enumerate(row.samples):
        yield from figures.volume(
            state,
            act,
            item=sample.item,
            litres=sample.volume_ml / ML_PER_L,
            tank="",
            path=f"{path}.samples[{n}]",
        )


def barren_notices(state: State, act: Act, row: SolutionOutRow) -> Iterator[Record]:
    """Yield a finding if more gold stays in the barren solution than usual."""
    most = limit_value(state, "barren_mg_l_max")
    if row.gold_mg_l > most:
        yield notice(
            state,
            act,
            "barren_above_usual",
            item=row.item,
            found=f"{row.gold_mg_l} mg/L gold",
            expected=f"at most {most} mg/L",
            message=f"barren solution {row.item} holds more gold than usual",
        )


def litres_in(state: State, item_ids: Sequence[str]) -> Decimal:
    """Return the litres of these solutions as last measured, less the samples drawn."""
    whole = Decimal(0)
    for item_id in item_ids:
        item = state.get(Item, item_id)
        assert item is not None
        whole += _litres(state, item_id)
        whole -= sum((_litres(state, each) for each in item.drawn), Decimal(0))
    return whole


def volume_notices(
    state: State, act: Act, item: str, *, came_in: Decimal, went_out: Decimal
) -> Iterator[Record]:
    """Yield a finding if much more or less solution came out than went in."""
    limit = limit_value(state, "solution_volume_percent")
    if came_in > 0 and abs(went_out - came_in) * 100 > limit * came_in:
        yield notice(
            state,
            act,
            "solution_volume_differs",
            item=item,
            found=f"{went_out} L out",
            expected=f"{came_in} L in, within {limit} %",
            message=f"the solution of {item} changed its volume in the cell",
        )


def plated_g(
    state: State, solutions: Sequence[str], out: SolutionOutRow, fed: Decimal | None
) -> tuple[Decimal, Decimal] | None:
    """Return the gold and silver that a run plated by solution; None if not known.

    A solution that nobody has assayed counts as the cell's first reading of what went
    in, without silver.
    """
    gold_g, silver_g = Decimal(0), Decimal(0)
    for item_id in solutions:
        litres, assay = litres_in(state, (item_id,)), _newest_assay(state, item_id)
        if assay is None and fed is None:
            return None
        gold = fed if assay is None else assay.gold
        assert gold is not None
        gold_g += litres * gold / 1000
        silver_g += Decimal(0) if assay is None else litres * assay.silver / 1000
    gold_g -= out.volume_l * out.gold_mg_l / 1000
    silver_g -= out.volume_l * out.silver_mg_l / 1000
    return max(gold_g, Decimal(0)), max(silver_g, Decimal(0))


def faraday_notices(
    state: State,
    act: Act,
    item: str,
    plated: tuple[Decimal, Decimal] | None,
    charge_ah: Decimal | None,
) -> Iterator[Record]:
    """Yield a finding if more was plated than the current could plate at all."""
    if plated is None or not charge_ah:
        return
    percent = current_efficiency_percent(
        gold_g=float(plated[0]), silver_g=float(plated[1]), charge_ah=float(charge_ah)
    )
    if percent > 100:
        yield notice(
            state,
            act,
            "plated_over_faraday",
            item=item,
            found=f"{percent:.0f} % of what {charge_ah} Ah can plate",
            expected="at most all of it; for gold commonly under 10 %",
            message=f"{item} lost more metal than its current could plate: look at"
            " the assays, the volumes and the ammeter",
        )


def _litres(state: State, item_id: str) -> Decimal:
    item = state.get(Item, item_id)
    count = 0 if item is None else item.volumes
    found = [state.get(Volume, f"{item_id}/{n:03d}") for n in range(1, count + 1)]
    known = figures.in_order(each for each in found if each is not None)
    return known[-1].litres if known else Decimal(0)


def _newest_assay(state: State, item_id: str) -> Assay | None:
    item = state.get(Item, item_id)
    count = 0 if item is None else item.assays
    found = [state.get(Assay, f"{item_id}/{n:03d}") for n in range(1, count + 1)]
    known = [each for each in found if each is not None and each.unit == "mg_l"]
    return figures.in_order(known)[-1] if known else None
