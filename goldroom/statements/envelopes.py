"""Envelopes: a sample's own seal, from the same issued ranges as any other.

An envelope is a vessel that bears its sample's id and has one point, so that its seal
is fitted, looked at and taken off like every seal here (and may be inspected alone).
The sample in it is handed on, put in a safe or sent away unopened; it is not listed
among any vessel's contents.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody import seals
from goldroom.custody.act import Act
from goldroom.custody.records import Record, SealPoint, Vessel
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered, SealMissing, VesselSealed
from goldroom.statements import fields
from goldroom.statements.openings import check_seals_once
from goldroom.statements.sealing import (
    TAMPER_SIGNS,
    SealFittedRow,
    SealRemovedRow,
    SealSeenRow,
    ceremony,
    removed_words,
    seen_words,
)

ENVELOPE = "envelope"
SEALED = ("umpire", "reserve")
"""Portions that nobody may open before their time: they are sealed from the first."""


@dataclass(frozen=True, kw_only=True)
class EnvelopeCutRow:
    """An envelope's seal as it was seen before cutting, and its remains."""

    seal: str = fields.code("Number read", help="Read it off; none if no seal was on")
    tamper_signs: str = fields.choice("Tamper signs", TAMPER_SIGNS)
    remains_kept: bool = fields.flag("Remains kept")

    @property
    def row(self) -> SealRemovedRow:
        """Return the seal as any vessel's."""
        return SealRemovedRow(
            point=ENVELOPE,
            seal=self.seal,
            tamper_signs=self.tamper_signs,
            remains_kept=self.remains_kept,
        )


@dataclass(frozen=True, kw_only=True)
class EnvelopeSeenRow:
    """An envelope's seal as it was seen when the sample changed hands."""

    seal: str = fields.code("Number read", help="Read it off; none if no seal was on")
    tamper_signs: str = fields.choice("Tamper signs", TAMPER_SIGNS)

    @property
    def row(self) -> SealSeenRow:
        """Return the seal as any vessel's."""
        return SealSeenRow(
            point=ENVELOPE, seal=self.seal, tamper_signs=self.tamper_signs
        )


def seal_on(state: State, sample: str) -> str:
    """Return the seal on the sample's envelope; "" if none is."""
    envelope = state.get(Vessel, sample)
    return "" if envelope is None else envelope.points[0].seal


def check_sealing(state: State, named: list[tuple[str, str, str]]) -> None:
    """Refuse (sample, seal, field) of envelopes that cannot be sealed so.

    Raises SealNeverIssued, SealAlreadyUsed, SealPointTaken and AlreadyRegistered.
    """
    for sample, number, field in named:
        seals.check_unused(state, number, field)
        envelope = state.get(Vessel, sample)
        if envelope is None:
            continue
        if envelope.sort != ENVELOPE:
            raise AlreadyRegistered(
                f"{field}: {sample} is the id of a {envelope.sort} as well, so its"
                " envelope cannot bear it. Give the sample another id.",
                field=field,
            )
        row = SealFittedRow(point=ENVELOPE, seal=number)
        seals.check_fitting(state, sample, (row,), field=field.rpartition(".")[0])
    check_seals_once([(number, field) for _, number, field in named])


def check_portion_sealed(portion: str | None, seal: str | None, field: str) -> None:
    """Refuse an umpire's or reserve portion without a seal. Raises SealMissing."""
    if portion in SEALED and seal is None:
        raise SealMissing(
            f"{field}: the {portion} portion has no seal. Close its envelope with a"
            " seal of an issued range, and write the number here.",
            field=field,
        )


def check_cut(
    state: State, sample: str, cut: EnvelopeCutRow | None, field: str
) -> None:
    """Refuse to reach into a sealed envelope without saying its seal as seen."""
    number = seal_on(state, sample)
    if number and cut is None:
        raise VesselSealed(
            f"{field}: the envelope of {sample} is sealed. Write the number read off"
            " its seal before cutting, and the signs of tampering seen.",
            field=field,
        )


def envelope(state: State, sample: str, place: str) -> Iterator[Record]:
    """Yield a bare envelope for a sample that has none."""
    if state.get(Vessel, sample) is None:
        yield Vessel(
            vessel=sample,
            name=f"envelope of {sample}",
            sort=ENVELOPE,
            place=place,
            tare_kg=None,
            points=(SealPoint(point=ENVELOPE, seal=""),),
            is_open=True,
            contents=(),
            load_cells="",
            marks=(),
            solids_density_kg_m3=None,
            pending_flushes=(),
            last_level=None,
        )


def seal_envelope(
    state: State, act: Act, sample: str, number: str, place: str
) -> Iterator[Record]:
    """Yield the sample's envelope, sealed."""
    yield from envelope(state, sample, place)
    row = SealFittedRow(point=ENVELOPE, seal=number)
    yield from ceremony(state, act, sample, fitted=(row,))


def cut_envelope(
    state: State, act: Act, sample: str, cut: EnvelopeCutRow | None
) -> Iterator[Record]:
    """Yield the seal's removal, and what was seen on it."""
    if cut is not None:
        item_place = state.get(Vessel, sample)
        yield from envelope(state, sample, item_place.place if item_place else "")
        yield from ceremony(state, act, sample, removed=(cut.row,))


def look_at_envelope(
    state: State, act: Act, sample: str, seen: EnvelopeSeenRow | None
) -> Iterator[Record]:
    """Yield the findings of what was seen on the envelope, sealed or not."""
    if seen is not None:
        yield from envelope(state, sample, "")
        yield from seals.seen(state, act, sample, (seen.row,))


def cut_words(cut: EnvelopeCutRow | None) -> str:
    """Return ", its seal S-0012 on envelope (no tamper signs) cut", or nothing."""
    return "" if cut is None else f", its seal {removed_words((cut.row,))} cut"


def look_words(seen: EnvelopeSeenRow | None) -> str:
    """Return ", under seal S-0012 on envelope (no tamper signs)", or nothing."""
    return "" if seen is None else f", under seal {seen_words((seen.row,))}"
