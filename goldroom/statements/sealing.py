"""Rows of seals, and the ceremony of opening and closing, for every kind with seals.

A kind that opens or closes a vessel carries `seals_removed` and `seals_fitted`, so
that one ceremony is one statement: `check_ceremony` in its check, `ceremony` in its
apply. A vessel counts as open while any of its seal points is bare. What was seen
on a seal is recorded as seen; `none` in place of a number says that no seal was
there.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from goldroom.custody import moves, seals
from goldroom.custody.act import Act
from goldroom.custody.records import Record, Vessel
from goldroom.custody.state import State
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField

TAMPER_SIGNS = (
    "none",
    "scratched",
    "cut",
    "heated",
    "glued",
    "loose",
    "broken",
    "other",
)
"""What a trained person may see on a seal before it is cut."""


@dataclass(frozen=True, kw_only=True)
class SealFittedRow:
    """A seal put on a point of a vessel."""

    point: str = fields.code("Point", help="The vessel's seal point: lid, drain, door")
    seal: str = fields.code("Seal number", table="seal", help="As printed on the seal")


@dataclass(frozen=True, kw_only=True)
class SealSeenRow:
    """A seal looked at: the number read and the signs of tampering seen."""

    point: str = fields.code("Point", help="The vessel's seal point: lid, drain, door")
    seal: str = fields.code(
        "Number read", help="Read it off the seal; none if no seal was there"
    )
    tamper_signs: str = fields.choice(
        "Tamper signs", TAMPER_SIGNS, help="Compare with a good sample of the series"
    )


@dataclass(frozen=True, kw_only=True)
class SealRemovedRow:
    """A seal taken off: as it was seen before cutting, and its remains."""

    point: str = fields.code("Point", help="The vessel's seal point: lid, drain, door")
    seal: str = fields.code(
        "Number read", help="Read it off the seal; none if no seal was there"
    )
    tamper_signs: str = fields.choice(
        "Tamper signs", TAMPER_SIGNS, help="Look before cutting"
    )
    remains_kept: bool = fields.flag(
        "Remains kept", help="Whether the cut seal went into the bag of remains"
    )


def fitted_field(label: str = "Seals fitted", **more: Any) -> Any:
    """Describe the rows of seals put on."""
    return fields.rows(label, SealFittedRow, most=20, **more)


def seen_field(label: str = "Seals seen", **more: Any) -> Any:
    """Describe the rows of seals looked at."""
    return fields.rows(label, SealSeenRow, most=20, **more)


def removed_field(label: str = "Seals removed", **more: Any) -> Any:
    """Describe the rows of seals taken off."""
    return fields.rows(label, SealRemovedRow, most=20, **more)


def check_ceremony(
    state: State,
    vessel: str,
    *,
    fitted: Sequence[SealFittedRow] = (),
    removed: Sequence[SealRemovedRow] = (),
    field: str = "seals_fitted",
) -> None:
    """Refuse seals that cannot be fitted here, and a point named twice.

    Raises UnknownVessel, UnknownSealPoint, SealNeverIssued, SealAlreadyUsed,
    SealPointTaken and BadField.
    """
    _check_each_point_once(removed, "seals_removed")
    _check_each_point_once(fitted, field)
    seals.check_fitting(state, vessel, fitted, removed, field=field)


def check_opening(
    state: State, vessel: Vessel, removed: Sequence[SealRemovedRow], *, what: str
) -> None:
    """Refuse to open a hopper or cell (`what`) that is open already."""
    check_ceremony(state, vessel.vessel, removed=removed)
    if vessel.is_open:
        raise NotInThisState(
            f"{what}: {vessel.vessel} is open already. Close it, or say what was done"
            " to it.",
            field=what,
        )


def check_closing(
    state: State, vessel: Vessel, fitted: Sequence[SealFittedRow], *, what: str
) -> None:
    """Refuse to close a hopper or cell that is closed, or to leave a point bare."""
    if not vessel.is_open:
        raise NotInThisState(
            f"{what}: {vessel.vessel} is closed already, every point sealed. Check"
            f" which {what} it was.",
            field=what,
        )
    check_ceremony(state, vessel.vessel, fitted=fitted)
    sealed = {row.point for row in fitted}
    points = [each.point for each in vessel.points if not each.seal]
    bare = [point for point in points if point not in sealed]
    if bare:
        raise NotInThisState(
            f"seals_fitted: {', '.join(bare)} of {vessel.vessel} would stay bare. Seal"
            " every point.",
            field="seals_fitted",
        )


def check_seen(
    state: State, vessel: str, rows: Sequence[SealSeenRow], field: str = "seals_seen"
) -> None:
    """Refuse a point the vessel does not have, or one named twice.

    Raises UnknownVessel, UnknownSealPoint and BadField.
    """
    _check_each_point_once(rows, field)
    seals.check_points(state, vessel, rows, field)


def ceremony(
    state: State,
    act: Act,
    vessel: str,
    *,
    fitted: Sequence[SealFittedRow] = (),
    removed: Sequence[SealRemovedRow] = (),
) -> Iterator[Record]:
    """Yield the removal, then the fitting, then whether the vessel is open now."""
    yield from seals.take_off(state, act, vessel, removed)
    yield from seals.put_on(state, act, vessel, fitted)
    held = state.get(Vessel, vessel)
    assert held is not None
    if removed or fitted:
        yield replace(held, is_open=any(not each.seal for each in held.points))


def restay(state: State, act: Act, vessel: str) -> Iterator[Record]:
    """Yield the contents' new stay in the vessel, under the seals now on it."""
    held = state.get(Vessel, vessel)
    assert held is not None
    for item in held.contents:
        yield from moves.stay(state, act, item, vessel=vessel)


def fitted_words(rows: Sequence[SealFittedRow]) -> str:
    """Return the seals put on, as words: "S-0004 on lid, S-0005 on drain"."""
    return ", ".join(f"{row.seal} on {row.point}" for row in rows)


def seen_words(rows: Sequence[SealSeenRow | SealRemovedRow]) -> str:
    """Return the seals as seen: "S-0004 on lid (no tamper signs)"."""
    return ", ".join(
        f"{row.seal} on {row.point} ({_signs(row.tamper_signs)})" for row in rows
    )


def removed_words(rows: Sequence[SealRemovedRow]) -> str:
    """Return the seals taken off as seen, and whose remains were not kept."""
    lost = [row.seal for row in rows if not row.remains_kept]
    kept = f"; remains of {', '.join(lost)} not kept" if lost else ""
    return seen_words(rows) + kept


def _signs(tamper_signs: str) -> str:
    if tamper_signs == "none":
        return "no tamper signs"
    return f"tamper signs: {tamper_signs}"


def _check_each_point_once(
    rows: Sequence[SealFittedRow | SealSeenRow | SealRemovedRow], field: str
) -> None:
    points: set[str] = set()
    for n, row in enumerate(rows):
        if row.point in points:
            raise BadField(
                f"{field}[{n}].point: {row.point} is named twice. Write one row for"
                " each point.",
                field=f"{field}[{n}].point",
            )
        points.add(row.point)
