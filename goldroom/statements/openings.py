"""Vessels opened and closed in one act, for kinds that reach into several.

Such a kind carries `opened` (vessels whose seals came off) and `closed` (vessels
that got seals). What is put into a vessel or taken out of one needs it open: a
vessel whose seals are all said to be whole cannot have been reached into.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from goldroom.custody import seals
from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.moves import last_vessel
from goldroom.custody.records import Item, Record, Vessel
from goldroom.custody.state import State
from goldroom.errors import SealAlreadyUsed, VesselSealed
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.sealing import (
    SealFittedRow,
    SealRemovedRow,
    ceremony,
    check_ceremony,
    fitted_field,
    fitted_words,
    removed_field,
    removed_words,
    restay,
)


@dataclass(frozen=True, kw_only=True)
class OpenedRow:
    """A vessel opened, and the seals taken off it."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_removed: tuple[SealRemovedRow, ...] = removed_field()


@dataclass(frozen=True, kw_only=True)
class ClosedRow:
    """A vessel closed, and the seals put on it."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field()


def opened_field() -> Any:
    """Describe the vessels opened."""
    return fields.rows(
        "Vessels opened",
        OpenedRow,
        optional=True,
        most=20,
        help="Each vessel whose seals came off for this",
    )


def closed_field() -> Any:
    """Describe the vessels closed."""
    return fields.rows(
        "Vessels closed",
        ClosedRow,
        optional=True,
        most=20,
        help="Each vessel sealed at the end of this",
    )


def check_openings(
    state: State, opened: Sequence[OpenedRow], closed: Sequence[ClosedRow]
) -> None:
    """Refuse seals that cannot be, a vessel listed twice, a seal used twice."""
    for rows, field in ((opened, "opened"), (closed, "closed")):
        _check_each_vessel_once([row.vessel for row in rows], field)
    removed = {row.vessel: row.seals_removed for row in opened}
    for n, row in enumerate(opened):
        field = f"opened[{n}]"
        the(state, Vessel, row.vessel, f"{field}.vessel")
        seals.check_points(
            state, row.vessel, row.seals_removed, f"{field}.seals_removed"
        )
        check_ceremony(state, row.vessel, removed=row.seals_removed)
    for n, closing in enumerate(closed):
        the(state, Vessel, closing.vessel, f"closed[{n}].vessel")
        check_ceremony(
            state,
            closing.vessel,
            fitted=closing.seals_fitted,
            removed=removed.get(closing.vessel, ()),
            field=f"closed[{n}].seals_fitted",
        )
    check_seals_once(
        [
            (each.seal, f"closed[{n}].seals_fitted[{m}].seal")
            for n, closing in enumerate(closed)
            for m, each in enumerate(closing.seals_fitted)
        ]
    )


def check_seals_once(named: Sequence[tuple[str, str]]) -> None:
    """Refuse (seal, field) pairs that fit one seal on two vessels."""
    taken: set[str] = set()
    for number, field in named:
        if number in taken:
            raise SealAlreadyUsed(
                f"{field}: seal {number} is fitted twice in this statement. Read the"
                " numbers again.",
                field=field,
            )
        taken.add(number)


def check_reached(
    state: State, vessel_id: str, opened: Sequence[OpenedRow], field: str
) -> Vessel:
    """Return the vessel; refuse to reach into one whose seals are all whole."""
    vessel = the(state, Vessel, vessel_id, field)
    was_opened = any(row.vessel == vessel_id for row in opened)
    is_sealed = bool(vessel.points) and all(each.seal for each in vessel.points)
    if is_sealed and not was_opened:
        raise VesselSealed(
            f"{field}: {vessel_id} is sealed"
            f" ({', '.join(each.seal for each in vessel.points)}). List it under"
            " opened, with the seals as they were seen before cutting.",
            field=field,
        )
    return vessel


def check_taken_out(
    state: State, item: Item, opened: Sequence[OpenedRow], field: str
) -> None:
    """Refuse to take an item out of a vessel whose seals are all whole."""
    vessel_id = last_vessel(state, item)
    vessel = state.get(Vessel, vessel_id) if vessel_id else None
    if vessel is not None and item.item in vessel.contents:
        check_reached(state, vessel_id, opened, field)


def open_vessels(
    state: State, act: Act, opened: Sequence[OpenedRow]
) -> Iterator[Record]:
    """Yield the seals' removal from each vessel, and what was seen on them."""
    for row in opened:
        yield from ceremony(state, act, row.vessel, removed=row.seals_removed)


def close_vessels(
    state: State, act: Act, closed: Sequence[ClosedRow]
) -> Iterator[Record]:
    """Yield the seals' fitting on each vessel; what is in it stays under them."""
    for row in closed:
        yield from ceremony(state, act, row.vessel, fitted=row.seals_fitted)
        yield from restay(state, act, row.vessel)


def openings_words(opened: Sequence[OpenedRow], closed: Sequence[ClosedRow]) -> str:
    """Return " Opened D1: ... . Closed D2: ... ." for the end of a sentence."""
    words = [
        f" {row.vessel} was opened: {removed_words(row.seals_removed)}."
        for row in opened
    ]
    words += [
        f" {row.vessel} was sealed: {fitted_words(row.seals_fitted)}." for row in closed
    ]
    return "".join(words)


def _check_each_vessel_once(vessels: Sequence[str], field: str) -> None:
    for n, vessel in enumerate(vessels):
        if vessel in vessels[:n]:
            raise BadField(
                f"{field}[{n}].vessel: {vessel} is listed twice. Put all its seals"
                " in one row.",
                field=f"{field}[{n}].vessel",
            )
