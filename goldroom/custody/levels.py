"""Readings of a hopper at a marked level, and the loads between them.

Hoppers stand flooded: moisture has no meaning there. At a marked water level the
dry solids are

    (gross - tare - water density x marked volume) x factor,
    factor = solids density / (solids density - water density)

(Wills' Mineral Processing Technology, metallurgical accounting). A load is the rise
from one level to the next, so that two neighbouring loads share the reading between
them with opposite signs, and tare and water fall out while the mark stays the same.
Where a hopper has no cells its solids are the settled volume at a mark times a
settled density.

A marker `reading:<reading id>` lists the items whose masses use a reading: when its
figure is corrected, each of them gets a new version.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from goldroom.custody import figures
from goldroom.custody.act import Act
from goldroom.custody.reading import Reading
from goldroom.custody.records import Level, Mark, Marker, Mass, Record, Term, Terms
from goldroom.custody.records import Vessel as Hopper
from goldroom.custody.state import State
from goldroom.errors import NotAPulp
from goldroom.metal.pulp import dry_solids_in_vessel_kg
from goldroom.metal.rounding import MILLIGRAM, half_even, quotient
from goldroom.metal.starting_uncertainties import STARTING

FACTOR_STEP = Decimal("0.000000000001")
"""The factor is kept to twelve decimals: a microgram in a tonne."""

EMPTY_INTERVALS, EMPTY_UNCERTAINTIES = 10, 3
"""A hopper this near to holding water alone holds no solids: a reading's noise.

So many divisions of its cells, or of their standard uncertainties, the larger.
"""

G_PER_KG = Decimal(1000)


def solids_factor(*, solids_kg_m3: Decimal, water_kg_m3: Decimal) -> Decimal:
    """Return the dry solids for each unit of mass above water, to twelve decimals."""
    return half_even(quotient(solids_kg_m3, solids_kg_m3 - water_kg_m3), FACTOR_STEP)


def constant(name: str, grams: Decimal, coefficient: Decimal) -> Term:
    """Return a term that nobody read: a tare, or the water below a mark."""
    return Term(
        reading_id=name,
        instrument="",
        calibration="",
        coefficient=coefficient,
        grams=grams,
        reading_u_g=Decimal(0),
        slope_u_relative=Decimal(0),
    )


def empty_slack_g(
    state: State, act: Act, gross: Reading, *, interval_g: Decimal
) -> Decimal:
    """Return how far an empty hopper may seem to be from holding water alone."""
    read = figures.term(
        state, act, path="gross", instrument=gross.instrument, grams=gross.grams
    )
    slope_g = gross.grams * read.slope_u_relative
    u_g = (read.reading_u_g**2 + slope_g**2).sqrt()
    return max(EMPTY_INTERVALS * interval_g, EMPTY_UNCERTAINTIES * u_g)


def check_solids(
    hopper: Hopper,
    mark: Mark,
    gross_g: Decimal,
    *,
    water_kg_m3: Decimal,
    slack_g: Decimal,
    field: str = "gross",
) -> None:
    """Refuse a gross reading that water and these solids cannot make.

    Within `slack_g` of water alone it is a hopper without solids. Raises NotAPulp.
    """
    assert hopper.tare_kg is not None
    assert hopper.solids_density_kg_m3 is not None
    net_kg = gross_g / G_PER_KG - hopper.tare_kg
    water_kg = water_kg_m3 * mark.volume_m3
    if abs(net_kg - water_kg) * G_PER_KG <= slack_g:
        return
    try:
        dry_solids_in_vessel_kg(
            net_kg=net_kg,
            volume_m3=mark.volume_m3,
            solids_kg_m3=hopper.solids_density_kg_m3,
            water_kg_m3=water_kg_m3,
        )
    except NotAPulp:
        raise NotAPulp(
            f"{field}: {hopper.vessel} at mark {mark.mark} would hold {net_kg} kg above"
            f" its tare; water alone is {water_kg} kg there, and solids alone"
            f" {hopper.solids_density_kg_m3 * mark.volume_m3} kg. Read the display and"
            " the mark again.",
            field=field,
        ) from None


def read_on_cells(
    state: State,
    act: Act,
    hopper: Hopper,
    mark: Mark,
    gross: Reading,
    *,
    water_kg_m3: Decimal,
    path: str = "gross",
) -> Level:
    """Return the level as read on the hopper's load cells."""
    assert hopper.tare_kg is not None
    assert hopper.solids_density_kg_m3 is not None
    factor = solids_factor(
        solids_kg_m3=hopper.solids_density_kg_m3, water_kg_m3=water_kg_m3
    )
    read = figures.term(
        state,
        act,
        path=path,
        instrument=gross.instrument,
        grams=gross.grams,
        coefficient=factor,
    )
    tare_g = hopper.tare_kg * G_PER_KG
    water_g = water_kg_m3 * mark.volume_m3 * G_PER_KG
    return _level(
        act,
        mark.mark,
        (
            read,
            constant(f"tare.{hopper.vessel}", tare_g, -factor),
            constant(f"water.{hopper.vessel}.{mark.mark}", water_g, -factor),
        ),
    )


def read_as_settled(
    act: Act, hopper: Hopper, mark: Mark, settled_kg_m3: Decimal
) -> Level:
    """Return the level of solids settled up to a mark, in a hopper without cells.

    Its uncertainty is that of a tank's volume, by engineering judgement.
    """
    grams = settled_kg_m3 * mark.volume_m3 * G_PER_KG
    volume = STARTING["tank_volume"]
    read = Term(
        reading_id=f"{act.measured_in}.settled",
        instrument=hopper.vessel,
        calibration="marks",
        coefficient=Decimal(1),
        grams=grams,
        reading_u_g=half_even(grams * Decimal(str(volume.random.u)), MILLIGRAM),
        slope_u_relative=Decimal(str(volume.shared.u)),
    )
    return _level(act, mark.mark, (read,))


def heel_left(act: Act, hopper: Hopper, *, dry_g: Decimal, u_g: Decimal) -> Level:
    """Return the level of a hopper emptied down to an estimated heel."""
    estimated = Term(
        reading_id=heel_reading(act, hopper.vessel),
        instrument=hopper.vessel,
        calibration="heel",
        coefficient=Decimal(1),
        grams=dry_g,
        reading_u_g=u_g,
        slope_u_relative=Decimal(0),
    )
    return _level(act, "", (estimated,))


def heel_reading(act: Act, hopper_id: str) -> str:
    """Return the id of the estimate of a hopper's heel, as if it were a reading."""
    return f"{act.measured_in}.heel.{hopper_id}"


def _level(act: Act, mark: str, terms: tuple[Term, ...]) -> Level:
    return Level(
        entry=act.entry, at=act.at, mark=mark, net=Terms(terms=terms), dry_g=_sum(terms)
    )


def _sum(terms: Iterable[Term]) -> Decimal:
    total = sum((each.coefficient * each.grams for each in terms), Decimal(0))
    return half_even(total, MILLIGRAM)


def rise(now: Level, before: Level | None) -> tuple[Term, ...]:
    """Return what came between two levels, as terms; what is equal falls out."""
    taken = () if before is None else before.net.terms
    summed: dict[tuple[str, Decimal], Term] = {}
    turned = (replace(each, coefficient=-each.coefficient) for each in taken)
    for each in (*now.net.terms, *turned):
        key = (each.reading_id, each.grams)
        held = summed.get(key)
        if held is not None:
            each = replace(held, coefficient=held.coefficient + each.coefficient)
        summed[key] = each
    return tuple(each for each in summed.values() if each.coefficient != 0)


def fall_g(now: Level, before: Level | None, load_cells: str) -> Decimal:
    """Return by how many grams the cells fell at equal mark (0 if not comparable)."""
    if before is None or before.mark != now.mark:
        return Decimal(0)
    shown = [
        each.grams
        for level in (before, now)
        for each in level.net.terms
        if each.instrument == load_cells
    ]
    return max(shown[0] - shown[1], Decimal(0)) if len(shown) == 2 else Decimal(0)


def remember_uses(
    state: State, act: Act, item: str, terms: Iterable[Term]
) -> Iterator[Record]:
    """Yield, for each reading in the terms, that this item's mass uses it."""
    for each in terms:
        if each.instrument:
            name = f"reading:{each.reading_id}"
            known = state.get(Marker, name)
            users = item if known is None else f"{known.value},{item}"
            yield Marker(name=name, value=users, entry=act.entry)


def is_used(state: State, reading_id: str) -> bool:
    """Say whether any item's mass uses the reading."""
    return state.get(Marker, f"reading:{reading_id}") is not None


def reread(
    state: State, act: Act, hopper_id: str, *, reading_id: str, grams: Decimal
) -> Iterator[Record]:
    """Yield what a corrected reading changes: the level, each mass that uses it."""
    hopper = state.get(Hopper, hopper_id)
    assert hopper is not None
    if hopper.last_level is not None:
        terms = _corrected(hopper.last_level.net.terms, reading_id, grams)
        level = replace(hopper.last_level, net=Terms(terms=terms), dry_g=_sum(terms))
        yield replace(hopper, last_level=level)
    uses = state.get(Marker, f"reading:{reading_id}")
    for item in uses.value.split(",") if uses is not None else ():
        before = figures.latest_mass(state, item)
        assert before is not None
        for record in figures.mass(
            state,
            act,
            item=item,
            terms=_corrected(before.terms, reading_id, grams),
            wanted_for=before.wanted_for,
        ):
            if isinstance(record, Mass):
                record = replace(record, at=before.at, measured_in=before.measured_in)
            yield record


def _corrected(
    terms: tuple[Term, ...], reading_id: str, grams: Decimal
) -> tuple[Term, ...]:
    return tuple(
        replace(each, grams=grams) if each.reading_id == reading_id else each
        for each in terms
    )
