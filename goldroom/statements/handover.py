"""The shift handed over: both crews sign, or one seals and the other inspects.

What waits in a room over a change of shift is held by the crews that sign together,
or by the seals that the incoming pair read. So under seals every vessel at the place
is listed, each of its seals is read for number and tamper signs, and none stands
open; what is otherwise is written down as found, and noticed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody import seals
from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.presence import vessels_at
from goldroom.custody.records import Noticed, Place, Record, Vessel
from goldroom.custody.state import State
from goldroom.errors import CrewNotSigned
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.room import check_a_person
from goldroom.statements.sealing import SealSeenRow, check_seen, seen_field, seen_words
from goldroom.statements.wording import listed

WAYS = ("all_sign", "sealed_and_inspected")
CREW = 2
"""How many of a crew sign: never one alone."""


@dataclass(frozen=True, kw_only=True)
class VesselSeenRow:
    """A vessel taken over, and its seals as they were read."""

    vessel: str = fields.code("Vessel", table="vessel")
    seals_seen: tuple[SealSeenRow, ...] = seen_field(
        optional=True, help="Every seal on it: the number, and any tamper signs"
    )


@kind("shift.handed_over", group="room", title="Shift handed over")
@dataclass(frozen=True, kw_only=True)
class ShiftHandedOver(Statement):
    """One crew takes a room over from another, by signatures or by seals."""

    place: str = fields.code("Room", table="place")
    outgoing: tuple[str, ...] = fields.codes("Outgoing crew", table="person")
    incoming: tuple[str, ...] = fields.codes("Incoming crew", table="person")
    way: str = fields.choice(
        "Way", WAYS,
        help="Two of each crew sign; or the incoming pair inspects what was sealed",
    )  # fmt: skip
    vessels: tuple[VesselSeenRow, ...] = fields.rows(
        "Vessels taken over", VesselSeenRow, optional=True,
        help="Every vessel in the room that takes seals",
    )  # fmt: skip
    open_items: str | None = fields.text(
        "Open items", optional=True, help="Work begun, and what to watch"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a crew that has not signed, and seals that a vessel has not."""
        the(state, Place, self.place, "place")
        for field in ("outgoing", "incoming"):
            for n, each in enumerate(getattr(self, field)):
                check_a_person(state, each, f"{field}[{n}]")
        both = sorted(set(self.outgoing) & set(self.incoming))
        if both:
            raise BadField(
                f"incoming: {listed(both)} would hand over to themselves. Name each"
                " person in one crew.",
                field="incoming",
            )
        if self.way == "all_sign":
            _check_signed(act, self.outgoing, "outgoing")
        elif not self.vessels:
            raise BadField(
                "vessels: no vessel is listed. List every vessel with its seals as"
                " read, or let two of each crew sign.",
                field="vessels",
            )
        _check_signed(act, self.incoming, "incoming")
        self._check_vessels(state)

    def _check_vessels(self, state: State) -> None:
        named: set[str] = set()
        for n, row in enumerate(self.vessels):
            the(state, Vessel, row.vessel, f"vessels[{n}].vessel")
            if row.vessel in named:
                raise BadField(
                    f"vessels[{n}].vessel: {row.vessel} is listed twice. Write each"
                    " vessel once.",
                    field=f"vessels[{n}].vessel",
                )
            named.add(row.vessel)
            check_seen(state, row.vessel, row.seals_seen, f"vessels[{n}].seals_seen")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what the crews found that should not be."""
        for row in self.vessels:
            yield from seals.seen(state, act, row.vessel, row.seals_seen)
            yield from self._open(act, state, row.vessel)
        if self.way == "sealed_and_inspected":
            for row in self.vessels:
                yield from self._not_read(act, state, row)
            yield from self._not_listed(act, state)

    def _open(self, act: Act, state: State, name: str) -> Iterator[Noticed]:
        """Yield that a vessel stands open."""
        vessel = state.get(Vessel, name)
        assert vessel is not None
        if vessel.is_open:
            yield notice(
                state,
                act,
                "handover_open_vessel",
                item=name,
                found="open, by the record",
                expected="sealed on every point",
                message=f"{name} stood open as the shift was handed over",
            )

    def _not_read(
        self, act: Act, state: State, row: VesselSeenRow
    ) -> Iterator[Noticed]:
        """Yield the seals on a vessel that nobody read."""
        vessel = state.get(Vessel, row.vessel)
        assert vessel is not None
        read = {each.point for each in row.seals_seen}
        for each in vessel.points:
            if each.seal and each.point not in read:
                yield notice(
                    state,
                    act,
                    "handover_seal_not_read",
                    item=row.vessel,
                    found=f"nothing of {each.point}",
                    expected=f"the number and tamper signs of {each.seal}",
                    message=f"the seal on {row.vessel} {each.point} was not read as"
                    " the shift was handed over",
                )

    def _not_listed(self, act: Act, state: State) -> Iterator[Noticed]:
        """Yield the vessels at the place that take seals and are not on the list."""
        listed_here = {row.vessel for row in self.vessels}
        for name in vessels_at(state, self.place):
            vessel = state.get(Vessel, name)
            if vessel is not None and vessel.points and name not in listed_here:
                yield notice(
                    state,
                    act,
                    "handover_vessel_not_listed",
                    item=name,
                    found=f"no word of {name}",
                    expected=f"every vessel in {self.place} that takes seals",
                    message=f"{name} was not inspected as the shift was handed over",
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        how = {
            "all_sign": "both crews signed",
            "sealed_and_inspected": "sealed by those going, inspected by those coming",
        }[self.way]
        vessels = [
            row.vessel + (f": {seen_words(row.seals_seen)}" if row.seals_seen else "")
            for row in self.vessels
        ]
        return (
            f"{self.place} was handed over by {listed(self.outgoing)} to"
            f" {listed(self.incoming)}; {how}."
            + (f" Vessels: {'; '.join(vessels)}." if vessels else "")
            + (f" Open items: {self.open_items}." if self.open_items else "")
        )


def _check_signed(act: Act, crew: tuple[str, ...], field: str) -> None:
    """Refuse a crew of which fewer than two signed. Raises CrewNotSigned."""
    signed = [each for each in crew if each in act.people]
    if len(signed) < CREW:
        raise CrewNotSigned(
            f"{field}: of the {field} crew {listed(signed) or 'nobody'} signs; expected"
            f" at least {CREW} of {listed(crew)}. Name them among the signers.",
            field=field,
        )
