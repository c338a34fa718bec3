"""Versions of an item's figures: masses from readings, assays, estimates.

A mass is a sum of readings, each with the calibration in force when it was read,
so that its uncertainty can be derived later and two masses that share a reading
or a calibration are seen to share it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from goldroom.custody.act import Act
from goldroom.custody.records import (
    Assay,
    Calibration,
    Estimate,
    Instrument,
    Item,
    Mass,
    Record,
    Term,
    Volume,
)
from goldroom.custody.state import State
from goldroom.metal.rounding import half_even

F = TypeVar("F", Mass, Assay, Volume, Estimate)
MILLIGRAM = Decimal("0.001")
WET = "wet"
"""What a thing is weighed as while nobody knows its moisture."""

NO_CALIBRATION = Calibration(
    calibration_id="",
    from_at="",
    due_at="",
    slope_u_relative=Decimal(0),
    reading_u_g=Decimal(0),
    place="",
)


def calibration_at(instrument: Instrument, at: str) -> Calibration:
    """Return the calibration in force at a time; `NO_CALIBRATION` if there is none."""
    in_force = [each for each in instrument.calibrations if each.from_at <= at]
    return max(in_force, key=lambda each: each.from_at, default=NO_CALIBRATION)


def term(
    state: State,
    act: Act,
    *,
    path: str,
    instrument: str,
    grams: Decimal,
    coefficient: Decimal = Decimal(1),
) -> Term:
    """Return one reading as a term; `path` tells it from the act's other readings."""
    known = state.get(Instrument, instrument)
    calibration = NO_CALIBRATION if known is None else calibration_at(known, act.at)
    return Term(
        reading_id=f"{act.measured_in}.{path}",
        instrument=instrument,
        calibration=calibration.calibration_id,
        coefficient=coefficient,
        grams=grams,
        reading_u_g=calibration.reading_u_g,
        slope_u_relative=calibration.slope_u_relative,
        at=act.at,
    )


@dataclass(frozen=True, kw_only=True)
class Moisture:
    """A moisture determination: per cent of the wet mass, its own id and oven."""

    percent: Decimal
    determination: str
    oven: str


def mass(
    state: State,
    act: Act,
    *,
    item: str,
    terms: tuple[Term, ...],
    wanted_for: str,
    moisture: Moisture | None = None,
) -> Iterator[Record]:
    """Yield a new version of the item's mass, from its readings."""
    held = state.get(Item, item)
    assert held is not None
    net_g = sum((each.coefficient * each.grams for each in terms), Decimal(0))
    dry_g = net_g
    if moisture is not None:
        dry_g = net_g * (100 - moisture.percent) / 100
    yield replace(held, masses=held.masses + 1)
    yield Mass(
        item=item,
        version=held.masses + 1,
        wanted_for=wanted_for,
        terms=terms,
        moisture_percent=None if moisture is None else moisture.percent,
        moisture_id="" if moisture is None else moisture.determination,
        oven="" if moisture is None else moisture.oven,
        net_g=half_even(net_g, MILLIGRAM),
        dry_g=half_even(dry_g, MILLIGRAM),
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
        measured_in=act.measured_in,
        drawn=_drawn_when_weighed(state, act, held),
    )


def _drawn_when_weighed(state: State, act: Act, held: Item) -> int:
    """Return how much was drawn off an item as it was weighed; put right or not."""
    for n in range(1, held.masses + 1):
        earlier = state.get(Mass, f"{held.item}/{n:03d}")
        if earlier is not None and earlier.measured_in == act.measured_in:
            return earlier.drawn
    return len(held.drawn)


@dataclass(frozen=True, kw_only=True)
class Content:
    """Gold, silver and (where reported) base metal per mass or volume, in `unit`.

    Each metal may be the mean of independent determinations, or below a limit.
    """

    unit: str
    gold: Decimal
    silver: Decimal
    base: Decimal | None = None
    gold_determinations: int = 1
    silver_determinations: int = 1
    gold_limit: Decimal | None = None
    silver_limit: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where an assay comes from: id, sample, standing, laboratory, method, sampler."""

    assay_id: str
    sample: str
    standing: str
    laboratory: str
    method: str
    sampler: str
    wanted_for: str


def assay(
    state: State, act: Act, *, item: str, content: Content, origin: Origin
) -> Iterator[Record]:
    """Yield a new version of the item's content."""
    held = state.get(Item, item)
    assert held is not None
    yield replace(held, assays=held.assays + 1)
    yield Assay(
        item=item,
        version=held.assays + 1,
        assay_id=origin.assay_id,
        sample=origin.sample,
        standing=origin.standing,
        unit=content.unit,
        gold=content.gold,
        silver=content.silver,
        base=content.base,
        laboratory=origin.laboratory,
        method=origin.method,
        sampler=origin.sampler,
        wanted_for=origin.wanted_for,
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
        measured_in=act.measured_in,
        gold_determinations=content.gold_determinations,
        silver_determinations=content.silver_determinations,
        gold_limit=content.gold_limit,
        silver_limit=content.silver_limit,
    )


def volume(
    state: State, act: Act, *, item: str, litres: Decimal, tank: str, path: str
) -> Iterator[Record]:
    """Yield a new version of a solution's volume; `path` names the reading."""
    held = state.get(Item, item)
    assert held is not None
    yield replace(held, volumes=held.volumes + 1)
    yield Volume(
        item=item,
        version=held.volumes + 1,
        volume_id=f"{act.measured_in}.{path}",
        litres=litres,
        tank=tank,
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
        measured_in=act.measured_in,
    )


@dataclass(frozen=True, kw_only=True)
class Metal:
    """Grams of gold and silver with their standard uncertainties."""

    gold_g: Decimal
    gold_u_g: Decimal
    silver_g: Decimal
    silver_u_g: Decimal


def estimate(
    state: State, act: Act, *, item: str, metal: Metal, method: str
) -> Iterator[Record]:
    """Yield a new version of the estimated metal in an item."""
    held = state.get(Item, item)
    assert held is not None
    yield replace(held, estimates=held.estimates + 1)
    yield Estimate(
        item=item,
        version=held.estimates + 1,
        gold_g=metal.gold_g,
        gold_u_g=metal.gold_u_g,
        silver_g=metal.silver_g,
        silver_u_g=metal.silver_u_g,
        method=method,
        at=act.at,
        entry=act.entry,
        known_at=act.known_at,
        measured_in=act.measured_in,
    )


def latest_mass(state: State, item_id: str) -> Mass | None:
    """Return the item's newest mass, or None while it has none.

    The latest version of the newest weighing.
    """
    known = _masses(state, item_id)
    return in_order(known)[-1] if known else None


def is_weighed_dry(state: State, item_id: str) -> bool:
    """Return whether any weighing tells the item's dry mass; a wet one does not."""
    return any(each.wanted_for != WET for each in _masses(state, item_id))


def _masses(state: State, item_id: str) -> list[Mass]:
    held = state.get(Item, item_id)
    count = 0 if held is None else held.masses
    found = [state.get(Mass, f"{item_id}/{n:03d}") for n in range(1, count + 1)]
    return [each for each in found if each is not None]


def in_order(figures: Iterable[F]) -> list[F]:
    """Return an item's masses, assays, volumes or estimates, the newest last.

    Newest by when it was measured; of one time, by what was taken down last. To put
    an old figure right does not make it the newest: it takes the place it had.
    """
    by_version = sorted(figures, key=lambda each: each.version)
    first: dict[str, int] = {}
    for each in by_version:
        first.setdefault(each.measured_in or each.entry, each.version)
    return sorted(
        by_version,
        key=lambda each: (each.at, first[each.measured_in or each.entry]),
    )
