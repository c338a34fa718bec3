"""Samples on their way: handed on, and what a laboratory gives back of them.

A sample stays the room's metal wherever it lies, until it is used up. Cornets, beads
and the like are made of what was used: they come back from outside, with what is
thought to be in them, and may join a charge.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.figures import Metal
from goldroom.custody.lookups import the
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Person, Place, Record, Vessel
from goldroom.custody.rules import item_at_hand, source_of
from goldroom.custody.sampled import Sample
from goldroom.custody.state import State
from goldroom.custody.weighed import Weighed, check_taken, net_terms, weighed_notices
from goldroom.errors import EstimateMissing, NotInThisState, OutOfRange
from goldroom.statements import fields
from goldroom.statements.envelopes import (
    EnvelopeSeenRow,
    check_sealing,
    look_at_envelope,
    look_words,
    seal_envelope,
    seal_on,
)
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    OpenedRow,
    check_openings,
    check_taken_out,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.sampling import (
    check_new_samples,
    check_not_before,
    part_used,
    size_of,
    told_of,
)
from goldroom.statements.wording import listed

ASSAYED_AT = ("laboratory", "refinery")
"""Sorts of place where samples are used up."""


@dataclass(frozen=True, kw_only=True)
class HandedRow:
    """A sample handed on: its envelope's seal as seen, or a seal put on for the way."""

    item: str = fields.code("Sample", table="item")
    seal_seen: EnvelopeSeenRow | None = fields.one(
        "Seal seen", EnvelopeSeenRow, optional=True, help="Needed if it is sealed"
    )
    seal_fitted: str | None = fields.code(
        "Seal put on", table="seal", optional=True, help="On an envelope not yet sealed"
    )


@kind("sample.moved", group="room", title="Samples handed on", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SampleMoved(Statement):
    """Samples handed to a laboratory, a store or back to the room, and to whom."""

    samples: tuple[HandedRow, ...] = fields.rows("Samples", HandedRow, most=100)
    opened: tuple[OpenedRow, ...] = opened_field()
    to: str = fields.code("Taken to", table="place")
    received_by: str | None = fields.code(
        "Received by", table="person", optional=True, help="Somebody enrolled here"
    )
    received_by_outsider: str | None = fields.text(
        "Received by, from outside", optional=True, help="Their name, and of which firm"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse what is not at hand, a sealed envelope not looked at, no receiver."""
        the(state, Place, self.to, "to")
        if (self.received_by is None) is (self.received_by_outsider is None):
            raise BadField(
                "received_by: write who took the samples: a person enrolled here, or"
                " the name of somebody from outside.",
                field="received_by",
            )
        if self.received_by is not None:
            the(state, Person, self.received_by, "received_by")
        check_openings(state, self.opened, ())
        for n, row in enumerate(self.samples):
            path = f"samples[{n}]"
            sample = item_at_hand(state, row.item, f"{path}.item", sorts=("sample",))
            check_not_before(state, act, sample, f"{path}.item")
            check_taken_out(state, sample, self.opened, f"{path}.item")
            if seal_on(state, row.item) and row.seal_seen is None:
                raise BadField(
                    f"{path}.seal_seen: the envelope of {row.item} is sealed. Write"
                    " the number read off the seal, and the signs of tampering seen.",
                    field=f"{path}.seal_seen",
                )
        self._check_each_once()
        check_sealing(
            state,
            [
                (row.item, row.seal_fitted, f"samples[{n}].seal_fitted")
                for n, row in enumerate(self.samples)
                if row.seal_fitted is not None
            ],
        )

    def _check_each_once(self) -> None:
        named = [row.item for row in self.samples]
        for n, name in enumerate(named):
            if name in named[:n]:
                raise BadField(
                    f"samples[{n}].item: {name} is listed twice. Write one row for it.",
                    field=f"samples[{n}].item",
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was seen on the seals, and where the samples are now."""
        yield from open_vessels(state, act, self.opened)
        for row in self.samples:
            yield from look_at_envelope(state, act, row.item, row.seal_seen)
            if row.seal_fitted is not None:
                yield from seal_envelope(state, act, row.item, row.seal_fitted, self.to)
            yield from self._told_where(act, state, row.item)
            yield from moves.set_down(state, act, (row.item,), self.to)

    def _told_where(self, act: Act, state: State, name: str) -> Iterator[Record]:
        """Yield the envelope's new place, and whether the sample came back."""
        envelope = state.get(Vessel, name)
        if envelope is not None:
            yield replace(envelope, place=self.to)
        item = the(state, Item, name, "samples")
        known = told_of(state, item)
        if known.status in ("open", "back"):
            left = _is_of_a_laboratory(state, item.place)
            arrived = _is_of_a_laboratory(state, self.to)
            came_back = not arrived and (left or known.status == "back")
            known = replace(known, status="back" if came_back else "open")
        yield known

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        handed = [
            row.item
            + look_words(row.seal_seen)
            + (f", sealed with {row.seal_fitted}" if row.seal_fitted else "")
            for row in self.samples
        ]
        receiver = self.received_by or self.received_by_outsider
        return (
            f"Handed to {receiver}, for {self.to}: {'; '.join(handed)}."
            + openings_words(self.opened, ())
        )


def _is_of_a_laboratory(state: State, place_id: str) -> bool:
    place = state.get(Place, place_id)
    return place is not None and place.sort in ASSAYED_AT


GIVEN_BACK = ("remains", "rejects", "cornets", "beads", "slag")
ESTIMATED = ("cornets", "beads", "slag")
"""What is of another grade than the samples: worth nothing known without a word."""


@dataclass(frozen=True, kw_only=True)
class GivenBackRow:
    """Something a laboratory gives back, of which samples, and what is in it."""

    item: str = fields.code("Id", help="A new id, never used before")
    what: str = fields.choice("What", GIVEN_BACK)
    of: tuple[str, ...] = fields.codes("Of samples", table="item")
    mass: Reading = fields.reading("Mass")
    gold_g: Decimal | None = fields.number("Gold, estimated", "g", optional=True)
    gold_u_g: Decimal | None = fields.number(
        "Gold, standard uncertainty", "g", optional=True
    )
    silver_g: Decimal | None = fields.number("Silver, estimated", "g", optional=True)
    silver_u_g: Decimal | None = fields.number(
        "Silver, standard uncertainty", "g", optional=True
    )

    @property
    def metal(self) -> Metal | None:
        """Return the estimate; None if no gold is said."""
        if self.gold_g is None:
            return None
        zero = Decimal(0)
        return Metal(
            gold_g=self.gold_g,
            gold_u_g=self.gold_u_g or zero,
            silver_g=self.silver_g or zero,
            silver_u_g=self.silver_u_g or zero,
        )


@kind(
    "sample.returned", group="room", title="Given back by the laboratory", can_void=True
)
@dataclass(frozen=True, kw_only=True)
class SampleReturned(Statement):
    """Remains, rejects, cornets and beads that a laboratory gives back."""

    place: str = fields.code("Now in", table="place")
    returned: tuple[GivenBackRow, ...] = fields.rows(
        "Given back", GivenBackRow, most=100
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse samples that no laboratory used, and ids used before."""
        the(state, Place, self.place, "place")
        check_new_samples(
            state,
            act,
            [(row.item, f"returned[{n}].item") for n, row in enumerate(self.returned)],
        )
        for n, row in enumerate(self.returned):
            for m, sample in enumerate(row.of):
                self._check_used(act, state, sample, f"returned[{n}].of[{m}]")
        self.check_figures(act, state)

    def _check_used(self, act: Act, state: State, sample: str, field: str) -> None:
        the(state, Item, sample, field)
        used = part_used(state, sample)
        if used is None:
            raise NotInThisState(
                f"{field}: no laboratory was said to use {sample}. Say what it used"
                " first (sample.consumed); a sample that comes back as it went is"
                " handed on (sample.moved).",
                field=field,
            )
        check_not_before(state, act, used, field)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and estimates missing or without doubt."""
        for n, row in enumerate(self.returned):
            path = f"returned[{n}]"
            check_taken(state, act, row.mass, f"{path}.mass")
            if row.what in ESTIMATED and row.gold_g is None:
                raise EstimateMissing(
                    f"{path}.gold_g: {row.what} are of another grade than their"
                    f" samples. Write what {row.item} is thought to hold, and by how"
                    " much that may be out.",
                    field=f"{path}.gold_g",
                )
            for metal, value_g, u_g in (
                ("gold", row.gold_g, row.gold_u_g),
                ("silver", row.silver_g, row.silver_u_g),
            ):
                if value_g and not u_g:
                    raise OutOfRange(
                        f"{path}.{metal}_u_g: the estimate is {value_g} g with no"
                        " uncertainty, but an estimate is never exact. Write by how"
                        " much it may be out (one standard uncertainty).",
                        field=f"{path}.{metal}_u_g",
                    )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what came back, from outside, with its mass and estimate."""
        for row in self.returned:
            used = [part_used(state, each) for each in row.of]
            parents = tuple(each.item for each in used if each is not None)
            new = NewItem(
                item=row.item,
                sort="sample",
                step="smelt",
                place=self.place,
                parents=parents,
                source=source_of(state, parents),
                label=f"{row.what} of {listed(row.of)}",
            )
            yield from moves.make(state, act, new)
            yield Sample(
                sample=row.item,
                status="given_back",
                taken_by="",
                portion="",
                at=act.at,
            )
        yield from self.measures(act, state)
        for row in self.returned:
            yield from weighed_notices(state, act, (row.mass,), row.item)
            yield from _more_than_used(act, state, row)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the masses and the estimates."""
        for n, row in enumerate(self.returned):
            weighed = Weighed(gross=row.mass)
            yield from figures.mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, weighed, f"returned[{n}]"),
                wanted_for="sample",
            )
            if row.metal is not None:
                yield from figures.estimate(
                    state, act, item=row.item, metal=row.metal, method=row.what
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        back = [
            f"{row.item}, {row.what} of {listed(row.of)} ({row.mass}"
            f"{_estimate_words(row)})"
            for row in self.returned
        ]
        return f"The laboratory gave back, to {self.place}: {'; '.join(back)}."


def _estimate_words(row: GivenBackRow) -> str:
    if row.metal is None:
        return ""
    metal = row.metal
    words = f", thought to hold {metal.gold_g} g of gold (± {metal.gold_u_g})"
    if metal.silver_g:
        words += f" and {metal.silver_g} g of silver (± {metal.silver_u_g})"
    return words


def _more_than_used(act: Act, state: State, row: GivenBackRow) -> Iterator[Record]:
    """Yield a finding if remains or rejects outweigh what was used of the samples."""
    if row.what in ESTIMATED:
        return
    used = [part_used(state, each) for each in row.of]
    sizes = [size_of(state, each) for each in used if each is not None]
    known = [each for each in sizes if each is not None]
    if len(known) == len(row.of) and row.mass.grams > sum(known):
        yield notice(
            state,
            act,
            "item_gained_mass",
            item=row.item,
            found=str(row.mass),
            expected=f"at most the {sum(known)} g used of {listed(row.of)}",
            message=f"more came back as {row.item} than was used of its samples",
        )
