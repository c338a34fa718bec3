"""What the kinds of the intensive leach share: batches, samples, solutions, notices.

A batch stays held in its vessel from its charging until its residue is taken out.
Solutions and samples are drawn off it and lessen it by just what they hold.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import latest_mass, volume
from goldroom.custody.leach import LeachBatch, LeachReading, LeachReagent
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Mass, Record, Vessel
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.errors import ItemConsumed
from goldroom.statements.fields import BadField
from goldroom.statements.leach_rows import (
    VOLUME_WORDS,
    ReagentRow,
    SolutionRow,
    SolutionSampleRow,
)
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import OpenedRow, check_reached
from goldroom.statements.wording import listed

KG_PER_T = 1000
SAMPLES_WANTED = 2


# --- the batch ----------------------------------------------------------------


def batch_at_hand(state: State, batch_id: str) -> LeachBatch:
    """Return a batch that is in its vessel; refuse one unknown or finished."""
    batch = state.get(LeachBatch, batch_id)
    if batch is not None and batch.status == "discharged":
        raise ItemConsumed(
            f"batch: {batch_id} is finished: its residue was taken out in entry"
            f" {batch.entry}. Name the batch that is in the vessel.",
            field="batch",
        )
    item_at_hand(state, batch_id, "batch", sorts=("leach_batch",))
    return the(state, LeachBatch, batch_id, "batch")


def brought_to(state: State, act: Act, batch_id: str, status: str) -> Iterator[Record]:
    """Yield the batch, brought to this status by this act."""
    batch = state.get(LeachBatch, batch_id)
    assert batch is not None
    yield replace(batch, status=status, at=act.at, entry=act.entry)


def dry_in_book_g(state: State, item_id: str) -> Decimal | None:
    """Return an item's dry grams by its last weighing, less samples drawn since.

    None where it, or one of them, was never weighed; a solution has none.
    """
    item = state.get(Item, item_id)
    assert item is not None
    if item.sort == "solution":
        return Decimal(0)
    weighed = latest_mass(state, item_id)
    if weighed is None:
        return None
    drawn = [_drawn_dry_g(state, each, weighed) for each in item.drawn]
    known = [each for each in drawn if each is not None]
    if len(known) < len(drawn):
        return None
    return weighed.dry_g - sum(known, Decimal(0))


def _drawn_dry_g(state: State, item_id: str, weighed: Mass) -> Decimal | None:
    """Return the dry grams of what was drawn off, 0 if the weighing came after it."""
    drawn = state.get(Item, item_id)
    assert drawn is not None
    if drawn.held_from < weighed.at:
        return Decimal(0)
    mass = latest_mass(state, item_id)
    return None if mass is None else mass.dry_g


def charged_dry_g(state: State, batch_id: str) -> Decimal | None:
    """Return the dry grams put into a batch; None where not all were weighed."""
    batch = state.get(Item, batch_id)
    assert batch is not None
    found = [dry_in_book_g(state, each) for each in batch.parents]
    known = [each for each in found if each is not None]
    return sum(known, Decimal(0)) if len(known) == len(found) else None


# --- samples and solutions ----------------------------------------------------


def samples_named(
    rows: Sequence[SolutionSampleRow], path: str
) -> list[tuple[str, str]]:
    """Return the samples' ids with their fields, to be checked as new."""
    return [(row.item, f"{path}[{n}].item") for n, row in enumerate(rows)]


def draw_samples(
    state: State, act: Act, rows: Sequence[SolutionSampleRow], of: str
) -> Iterator[Record]:
    """Yield the samples of solution, each drawn off a batch or a solution."""
    parent = state.get(Item, of)
    assert parent is not None
    for row in rows:
        new = NewItem(
            item=row.item,
            sort="sample",
            step=parent.step,
            from_step=parent.step,
            place=parent.place,
            parents=(of,),
            source=parent.source,
            label=f"solution of {of}, taken by {row.taken_by}",
        )
        yield from moves.draw(state, act, new)


def sample_volumes(
    state: State, act: Act, rows: Sequence[SolutionSampleRow], path: str
) -> Iterator[Record]:
    """Yield the samples' volumes, as a measuring flask showed them."""
    for n, row in enumerate(rows):
        yield from volume(
            state,
            act,
            item=row.item,
            litres=row.volume_ml.scaleb(-3),
            tank="",
            path=f"{path}[{n}].volume",
        )


def independence_notices(
    state: State, act: Act, rows: Sequence[SolutionSampleRow], of: str
) -> Iterator[Record]:
    """Yield a finding if there are samples, but not two by different people."""
    takers = {" ".join(row.taken_by.split()).casefold() for row in rows}
    if rows and len(takers) < SAMPLES_WANTED:
        yield notice(
            state,
            act,
            "single_solution_sample",
            item=of,
            found=f"{len(rows)} by {listed([row.taken_by for row in rows])}",
            expected="two, taken by different people",
            message=f"{of} has no second sample that is independent of the first",
        )


def check_solution(
    state: State, row: SolutionRow, opened: Sequence[OpenedRow], path: str
) -> None:
    """Refuse a volume that nothing could have measured, and a tank out of reach."""
    if row.tank is not None:
        tank = check_reached(state, row.tank, opened, f"{path}.tank")
        if tank.sort != "tank":
            raise wrong_sort(f"{path}.tank", row.tank, tank.sort, "a tank")
    if row.measured_by == "tank_table":
        if row.tank is None or row.gauge is not None:
            raise BadField(
                f"{path}.tank: a volume by the tank's table needs the tank, and no"
                " meter or drum. Write the tank, or how else it was measured.",
                field=f"{path}.tank",
            )
        return
    if row.gauge is None:
        raise BadField(
            f"{path}.gauge: {row.item} was measured"
            f" {VOLUME_WORDS[row.measured_by]}; which one is missing. Write its"
            " number.",
            field=f"{path}.gauge",
        )
    if row.measured_by == "marked_drum":
        the(state, Vessel, row.gauge, f"{path}.gauge")


def check_into_tank(row: SolutionRow, path: str) -> None:
    """Refuse a solution that is kept, but in no tank."""
    if row.tank is None:
        raise BadField(
            f"{path}.tank: {row.item} is kept, but in no tank. Write the tank it is"
            " in.",
            field=f"{path}.tank",
        )


def draw_solution(
    state: State, act: Act, row: SolutionRow, *, of: str, step: str, label: str
) -> Iterator[Record]:
    """Yield a solution drawn off a batch for a step, and the samples drawn off it."""
    batch = state.get(Item, of)
    assert batch is not None
    new = NewItem(
        item=row.item,
        sort="solution",
        step=step,
        from_step="leach",
        place=batch.place,
        vessel=row.tank or "",
        parents=(of,),
        source=batch.source,
        label=label,
    )
    yield from moves.draw(state, act, new)
    yield from draw_samples(state, act, row.samples, row.item)
    yield from independence_notices(state, act, row.samples, row.item)


def solution_volumes(
    state: State, act: Act, row: SolutionRow, path: str
) -> Iterator[Record]:
    """Yield the volumes of a solution drained and of its samples."""
    yield from volume(
        state,
        act,
        item=row.item,
        litres=row.volume_l,
        tank=row.gauge or row.tank or "",
        path=f"{path}.volume",
    )
    yield from sample_volumes(state, act, row.samples, f"{path}.samples")


def solution_words(row: SolutionRow) -> str:
    """Return a solution as words: volume, how measured, where it is, samples."""
    gauge = f" {row.gauge}" if row.gauge else ""
    warm = f" at {row.temperature_c} °C" if row.temperature_c is not None else ""
    tank = f", into tank {row.tank}" if row.tank else ""
    samples = f", sampled as {samples_words(row.samples)}" if row.samples else ""
    how = f"{VOLUME_WORDS[row.measured_by]}{gauge}"
    return f"solution {row.item} ({row.volume_l} L{warm} {how}{tank}{samples})"


def samples_words(rows: Sequence[SolutionSampleRow]) -> str:
    """Return samples as words: "S-1 (50 mL, by Noor) and S-2 (50 mL, by Leith)"."""
    return listed(
        [f"{row.item} ({row.volume_ml} mL, by {row.taken_by})" for row in rows]
    )


# --- reagents and readings ----------------------------------------------------


def reagents_issued(
    state: State, act: Act, batch_id: str, rows: Sequence[ReagentRow], reason: str
) -> Iterator[Record]:
    """Yield each reagent issued, a version after any before it."""
    for n, row in enumerate(rows):
        at = f"{batch_id}/{act.measured_in}/{n:02d}"
        version = 1
        while state.get(LeachReagent, f"{at}/{version:03d}") is not None:
            version += 1
        yield LeachReagent(
            batch=batch_id,
            measured_in=act.measured_in,
            row=n,
            version=version,
            reagent=row.reagent,
            mass_kg=row.mass_kg,
            reason=reason,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )


def next_reading_version(state: State, act: Act, batch_id: str) -> int:
    """Return the number that the act's reading of a batch gets."""
    version = 1
    at = f"{batch_id}/{act.measured_in}"
    while state.get(LeachReading, f"{at}/{version:03d}") is not None:
        version += 1
    return version


def reagent_notices(
    state: State, act: Act, batch_id: str, rows: Sequence[ReagentRow]
) -> Iterator[Record]:
    """Yield a finding for each reagent of an unusual mass for the solids charged."""
    dry_g = charged_dry_g(state, batch_id)
    limit = limit_value(state, "leach_reagent_kg_t")
    for row in rows:
        # kg x 1e6 is g x 1e3: kilograms a tonne without a division.
        if dry_g and row.mass_kg * 1000 * KG_PER_T > limit * dry_g:
            yield notice(
                state,
                act,
                "leach_reagent_unusual",
                item=batch_id,
                found=f"{row.mass_kg} kg of {row.reagent} on {dry_g} g dry",
                expected=f"at most {limit} kg a tonne of dry solids at once",
                message=f"{row.mass_kg} kg of {row.reagent} is unusual for {batch_id}",
            )


def reagents_words(rows: Sequence[ReagentRow]) -> str:
    """Return reagents as words: "55 kg of sodium cyanide and 12 kg of lime"."""
    return listed([f"{row.mass_kg} kg of {row.reagent}" for row in rows])


def alkalinity_notices(
    state: State, act: Act, batch_id: str, ph: Decimal, what: str
) -> Iterator[Record]:
    """Yield a finding if a pH, read or aimed at, does not hold cyanide in solution."""
    limit = limit_value(state, "leach_ph_min")
    if ph < limit:
        yield notice(
            state,
            act,
            "leach_alkalinity_low",
            item=batch_id,
            found=f"{what} {ph}",
            expected=f"pH {limit} or above",
            message=f"{batch_id}: {what} {ph}; below {limit} hydrogen cyanide gas may"
            " leave the solution. Follow the site's cyanide procedure; rescue never"
            " waits for a signature",
        )
