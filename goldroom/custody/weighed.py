"""A thing weighed: gross on an instrument, less the vessel's tare.

The tare is read in the same act, or known from the vessel's registration; with
neither, what was read is the net. A registered tare counts as read on the
instrument that read the gross (its slope error then falls on the net alone) and is
one reading, shared by everything ever weighed in that vessel.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import term
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.reading import (
    Reading,
    check_display,
    check_reading,
    reading_notices,
)
from goldroom.custody.records import Instrument, Record, Term, Vessel
from goldroom.custody.state import State
from goldroom.errors import TareMissing, TareOverGross
from goldroom.metal.units import to_grams

HALF = Decimal("0.5")
MINUS = Decimal(-1)


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """One weighing as said; `vessel` ("" if none) is what it was weighed in."""

    gross: Reading
    tare: Reading | None = None
    vessel: str = ""


def check_taken(state: State, act: Act, reading: Reading, field: str) -> None:
    """Refuse a reading that the instrument cannot have shown, or may not take now.

    A correction speaks of a reading taken before: whether the instrument is blocked
    now says nothing about it.
    """
    if act.corrects_entry:
        instrument = the(state, Instrument, reading.instrument, f"{field}.instrument")
        check_display(instrument, reading, field)
    else:
        check_reading(state, reading, field)


def check_weighed(
    state: State, act: Act, weighed: Weighed, gross_field: str, tare_field: str
) -> None:
    """Refuse readings that cannot be, a tare nobody knows, a tare above the gross."""
    check_taken(state, act, weighed.gross, gross_field)
    if weighed.tare is not None:
        check_taken(state, act, weighed.tare, tare_field)
    elif weighed.vessel:
        vessel = the(state, Vessel, weighed.vessel, "vessel")
        if vessel.tare_kg is None:
            raise TareMissing(
                f"{tare_field}: {weighed.vessel} has no registered tare. Weigh it"
                " empty and write its tare here.",
                field=tare_field,
            )
    tare_g = _tare_g(state, weighed)
    if tare_g > weighed.gross.grams:
        raise TareOverGross(
            f"{tare_field}: the tare is {tare_g} g and the gross"
            f" {weighed.gross.grams} g; an empty container cannot outweigh the full"
            " one. Check which is which.",
            field=tare_field,
        )


def net_g(state: State, weighed: Weighed) -> Decimal:
    """Return gross less tare in grams, exactly."""
    return weighed.gross.grams - _tare_g(state, weighed)


def net_terms(state: State, act: Act, weighed: Weighed, path: str) -> tuple[Term, ...]:
    """Return the weighing as terms: the gross, and the tare taken from it."""
    gross = term(
        state,
        act,
        path=f"{path}.gross",
        instrument=weighed.gross.instrument,
        grams=weighed.gross.grams,
    )
    if weighed.tare is not None:
        tare = term(
            state,
            act,
            path=f"{path}.tare",
            instrument=weighed.tare.instrument,
            grams=weighed.tare.grams,
            coefficient=MINUS,
        )
        return gross, tare
    tare_g = _tare_g(state, weighed)
    if tare_g == 0:
        return (gross,)
    known = replace(
        gross,
        reading_id=f"tare.{weighed.vessel}",
        grams=tare_g,
        coefficient=MINUS,
    )
    return gross, known


def mean_terms(
    state: State, act: Act, readings: Sequence[Reading], path: str
) -> tuple[Term, ...]:
    """Return one reading, or the mean of two, as terms."""
    coefficient = HALF if len(readings) == 2 else Decimal(1)
    return tuple(
        term(
            state,
            act,
            path=f"{path}.{n}",
            instrument=each.instrument,
            grams=each.grams,
            coefficient=coefficient,
        )
        for n, each in enumerate(readings)
    )


def mean_g(readings: Sequence[Reading]) -> Decimal:
    """Return the mean of one or two readings in grams, exactly."""
    return sum((each.grams for each in readings), Decimal(0)) / len(readings)


def weighed_notices(
    state: State, act: Act, readings: Sequence[Reading | None], item: str
) -> Iterator[Record]:
    """Yield what should be noticed about each of these readings, once an instrument."""
    told: set[tuple[str, str]] = set()
    for each in readings:
        if each is None:
            continue
        for found in reading_notices(state, act, each, item):
            if (found.code, each.instrument) not in told:
                told.add((found.code, each.instrument))
                yield found


def repeat_notices(
    state: State, act: Act, readings: Sequence[Reading], item: str
) -> Iterator[Record]:
    """Yield a finding if two readings of one thing differ by more than a division."""
    if len(readings) < 2:
        return
    instrument = state.get(Instrument, readings[0].instrument)
    assert instrument is not None
    apart_g = abs(readings[0].grams - readings[1].grams)
    division_g = to_grams(instrument.interval, instrument.unit)
    if apart_g > division_g:
        yield notice(
            state,
            act,
            "readings_differ",
            item=item,
            found=f"{readings[0]} and {readings[1]}",
            expected=f"within one division, {instrument.interval} {instrument.unit}",
            message=f"two readings of {item} differ by {apart_g} g",
        )


def _tare_g(state: State, weighed: Weighed) -> Decimal:
    if weighed.tare is not None:
        return weighed.tare.grams
    vessel = state.get(Vessel, weighed.vessel) if weighed.vessel else None
    if vessel is None or vessel.tare_kg is None:
        return Decimal(0)
    return vessel.tare_kg * 1000
