"""Seals on vessels: fitted, found, removed; what may be done and what was seen.

To fit a seal that was never issued, or was used before, is an intent and refused.
To find another number than the one fitted, or signs of tampering, is a thing seen:
recorded, with a finding.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import Protocol

from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Record, Seal, SealPoint, Vessel
from goldroom.custody.state import State
from goldroom.errors import (
    SealAlreadyUsed,
    SealNeverIssued,
    SealPointTaken,
    UnknownSealPoint,
)

NO_SEAL = "none"
"""Written in place of a number by people who found no seal on the point."""


class FittedRow(Protocol):
    """A seal put on: which point, which number."""

    @property
    def point(self) -> str:
        """Return the seal point's name."""

    @property
    def seal(self) -> str:
        """Return the seal's number."""


class SeenRow(FittedRow, Protocol):
    """A seal looked at: its point, the number read, the tamper signs seen."""

    @property
    def tamper_signs(self) -> str:
        """Return the signs of tampering seen."""


class RemovedRow(SeenRow, Protocol):
    """A seal taken off: as seen, and whether its remains were kept."""

    @property
    def remains_kept(self) -> bool:
        """Return whether the cut seal was kept."""


def check_points(
    state: State, vessel_id: str, rows: Sequence[FittedRow], field: str
) -> None:
    """Refuse a point the vessel does not have."""
    vessel = the(state, Vessel, vessel_id, "vessel")
    points = [each.point for each in vessel.points]
    for n, row in enumerate(rows):
        if row.point not in points:
            raise UnknownSealPoint(
                f"{field}[{n}].point: {vessel_id} has no seal point {row.point!r};"
                f" it has {', '.join(points) or 'none'}."
                " Write the point that the seal was on.",
                field=f"{field}[{n}].point",
            )


def check_fitting(
    state: State,
    vessel_id: str,
    fitted: Sequence[FittedRow],
    removed: Sequence[FittedRow] = (),
    field: str = "seals_fitted",
) -> None:
    """Refuse to fit a seal never issued, used before, or on a point still sealed.

    Raises UnknownSealPoint, SealNeverIssued, SealAlreadyUsed, SealPointTaken.
    """
    check_points(state, vessel_id, fitted, field)
    check_points(state, vessel_id, removed, "seals_removed")
    vessel = the(state, Vessel, vessel_id, "vessel")
    taken = {each.point for each in vessel.points if each.seal}
    taken -= {row.point for row in removed}
    numbers: set[str] = set()
    for n, row in enumerate(fitted):
        number = f"{field}[{n}].seal"
        check_unused(state, row.seal, number, numbers)
        if row.point in taken:
            raise SealPointTaken(
                f"{field}[{n}].point: {row.point} of {vessel_id} still bears a"
                " seal. Say its removal in seals_removed first.",
                field=f"{field}[{n}].point",
            )
        numbers.add(row.seal)
        taken.add(row.point)


def check_unused(
    state: State, number: str, field: str, taken: Collection[str] = ()
) -> None:
    """Refuse a seal never issued, used before, or among those taken.

    Raises SealNeverIssued and SealAlreadyUsed.
    """
    seal = state.get(Seal, number)
    if seal is None:
        raise SealNeverIssued(
            f"{field}: seal {number} was never issued. Take one from the issued"
            " range, or have this range issued first.",
            field=field,
        )
    if seal.status != "issued" or number in taken:
        raise SealAlreadyUsed(
            f"{field}: seal {number} is {seal.status} already"
            f" ({seal.vessel or 'no vessel'}). A seal is used once: take a new"
            " one.",
            field=field,
        )


def seen(
    state: State, act: Act, vessel_id: str, rows: Sequence[SeenRow]
) -> Iterator[Record]:
    """Yield the findings of an inspection: number and tamper signs."""
    vessel = state.get(Vessel, vessel_id)
    assert vessel is not None
    fitted = {each.point: each.seal for each in vessel.points}
    for row in rows:
        number = "" if row.seal == NO_SEAL else row.seal
        if number != fitted[row.point]:
            code = "seal_not_the_one_fitted"
            if number and state.get(Seal, number) is None:
                code = "seal_unknown"
            yield notice(
                state,
                act,
                code,
                item=vessel_id,
                found=row.seal,
                expected=fitted[row.point] or "no seal",
                message=f"the seal on {vessel_id} {row.point} is not the one fitted",
            )
        if row.tamper_signs != "none":
            yield notice(
                state,
                act,
                "seal_tampered",
                item=vessel_id,
                found=f"{row.seal}: {row.tamper_signs}",
                expected="no tamper signs",
                message=f"the seal on {vessel_id} {row.point} shows tamper signs",
            )


def take_off(
    state: State, act: Act, vessel_id: str, rows: Sequence[RemovedRow]
) -> Iterator[Record]:
    """Yield the seals' removal, and what was seen on them."""
    yield from seen(state, act, vessel_id, rows)
    for row in rows:
        vessel = state.get(Vessel, vessel_id)
        assert vessel is not None
        expected = next(each.seal for each in vessel.points if each.point == row.point)
        for number in dict.fromkeys((row.seal, expected)):
            seal = state.get(Seal, number) if number else None
            if seal is not None:
                yield replace(seal, status="removed", removed_entry=act.entry)
        yield _with_seal(vessel, row.point, "")
        if not row.remains_kept:
            yield notice(
                state,
                act,
                "seal_remains_not_kept",
                item=vessel_id,
                found=row.seal,
                expected="remains kept",
                message=f"the remains of seal {row.seal} were not kept",
            )


def put_on(
    state: State, act: Act, vessel_id: str, rows: Sequence[FittedRow]
) -> Iterator[Record]:
    """Yield the seals' fitting."""
    for row in rows:
        vessel = state.get(Vessel, vessel_id)
        seal = state.get(Seal, row.seal)
        assert vessel is not None
        assert seal is not None
        yield replace(
            seal,
            status="fitted",
            vessel=vessel_id,
            point=row.point,
            fitted_entry=act.entry,
        )
        yield _with_seal(vessel, row.point, row.seal)


def _with_seal(vessel: Vessel, point: str, number: str) -> Vessel:
    return replace(
        vessel,
        points=tuple(
            SealPoint(point=each.point, seal=number) if each.point == point else each
            for each in vessel.points
        ),
    )
