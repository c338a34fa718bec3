"""The smelt: a charge is made up from its sources, and poured.

A charge has no mass of its own in the balance: its sources stay held by the smelt,
in the charge, until the pour uses them up. What is poured (castings in the order
of the pour, slag, skull, dip and pin samples) is held by the smelt until a bar is
numbered, slag is released. Mass is not compared across a furnace.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import mass
from goldroom.custody.lookups import the
from goldroom.custody.moves import NewItem
from goldroom.custody.numbers import check_numbers
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Place, Record
from goldroom.custody.rules import check_new_items, item_at_hand
from goldroom.custody.state import State
from goldroom.custody.weighed import Weighed, check_taken, net_terms, weighed_notices
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.charges import (
    FluxRow,
    SourceRow,
    check_furnace,
    check_source_figures,
    check_sources,
    flux_words,
    fluxes_field,
    make_charge,
    source_masses,
    source_notices,
    source_words,
)
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.wording import listed, used_before


@kind("charge.made_up", group="room", title="Charge made up", can_void=True)
@dataclass(frozen=True, kw_only=True)
class ChargeMadeUp(Statement):
    """Sources and fluxes put together for one pour."""

    charge: str = fields.code("Charge id", help="A new id, never used before")
    furnace: str = fields.code("Furnace", table="vessel")
    crucible: str = fields.text("Crucible", help="Its mark")
    crucible_uses: int = fields.whole(
        "Earlier uses of the crucible", high=10000, help="0 for a new one"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    sources: tuple[SourceRow, ...] = fields.rows("Sources", SourceRow, most=100)
    fluxes: tuple[FluxRow, ...] = fluxes_field()
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse sources used already, a charge id used before, sealed vessels."""
        check_new_items(state, [(self.charge, "charge")])
        check_furnace(state, self.furnace, self.opened)
        check_openings(state, self.opened, self.closed)
        check_sources(state, self.sources, self.opened)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse dry readings that cannot be."""
        check_source_figures(act, state, self.sources)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the sources in the charge, their dry masses, and the charge."""
        names = tuple(row.item for row in self.sources)
        yield from open_vessels(state, act, self.opened)
        yield from source_notices(act, state, self.sources)
        yield from self.measures(act, state)
        yield from make_charge(
            act, state, charge=self.charge, furnace=self.furnace, names=names
        )
        yield from close_vessels(state, act, self.closed)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the dry masses of the sources that were weighed again."""
        yield from source_masses(act, state, self.sources)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        sources = listed(source_words(self.sources))
        return (
            f"Charge {self.charge} was made up from {sources}{flux_words(self.fluxes)},"
            f" for furnace {self.furnace} in crucible {self.crucible}"
            f" ({used_before(self.crucible_uses)})."
            + openings_words(self.opened, self.closed)
        )


@dataclass(frozen=True, kw_only=True)
class CastingRow:
    """A casting, in the order poured: the bar that it will be."""

    item: str = fields.code("Casting id", help="A new id; the bar keeps it")
    mould: str = fields.text("Mould", help="Its mark; dry and preheated")


@dataclass(frozen=True, kw_only=True)
class PourSampleRow:
    """A sample of the melt, taken at the pour; its mass is metal."""

    item: str = fields.code("Sample id", help="A new id, never used before")
    taken_by: str = fields.choice("Way", ("dip", "pin"))
    mass: Reading = fields.reading("Mass")


@kind("charge.poured", group="room", title="Charge poured", can_void=True)
@dataclass(frozen=True, kw_only=True)
class ChargePoured(Statement):
    """One tapping: castings in the order poured, slag, and samples of the melt."""

    charge: str = fields.code("Charge", table="item")
    place: str = fields.code("Where the castings cool", table="place")
    tapped_at: datetime | None = fields.moment("Tapped at", optional=True)
    temperature_c: Decimal | None = fields.number(
        "Tap temperature", "°C", low="500", high="2000", optional=True
    )
    castings: tuple[CastingRow, ...] = fields.rows("Castings", CastingRow, most=50)
    slag: str | None = fields.code(
        "Slag id", optional=True, help="Hot inside for long; a new id"
    )
    skull: str | None = fields.code(
        "Skull id", optional=True, help="Metal and slag left in the crucible; a new id"
    )
    samples: tuple[PourSampleRow, ...] = fields.rows(
        "Samples", PourSampleRow, optional=True, most=20
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a charge poured before, and ids used before."""
        charge = item_at_hand(state, self.charge, "charge", sorts=("charge",))
        the(state, Place, self.place, "place")
        for parent in charge.parents:
            source = state.get(Item, parent)
            if source is None or source.status != "in_charge":
                raise NotInThisState(
                    f"charge: {parent} is no longer in {self.charge}. Look at what"
                    " was said of it since.",
                    field="charge",
                )
        check_new_items(state, self._made())
        sampled = [
            (row.item, f"samples[{n}].item") for n, row in enumerate(self.samples)
        ]
        check_numbers(state, act, "sample", sampled)
        self.check_figures(act, state)

    def _made(self) -> Sequence[tuple[str, str]]:
        named = [
            (row.item, f"castings[{n}].item") for n, row in enumerate(self.castings)
        ]
        named += [
            (row.item, f"samples[{n}].item") for n, row in enumerate(self.samples)
        ]
        named += [(self.slag, "slag")] if self.slag else []
        named += [(self.skull, "skull")] if self.skull else []
        return named

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be."""
        for n, row in enumerate(self.samples):
            check_taken(state, act, row.mass, f"samples[{n}].mass")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the sources' end, then castings, slag, skull and samples."""
        charge = state.get(Item, self.charge)
        assert charge is not None
        yield from moves.use_up(state, act, charge.parents)
        yield from moves.use_up(state, act, (self.charge,))
        for item_id, sort, label in self._poured():
            new = NewItem(
                item=item_id,
                sort=sort,
                step="smelt",
                from_step="smelt",
                place=self.place,
                parents=(self.charge,),
                source=charge.source,
                label=label,
            )
            yield from moves.make(state, act, new)
        yield from self.measures(act, state)
        for row in self.samples:
            yield from weighed_notices(state, act, (row.mass,), row.item)

    def _poured(self) -> Iterator[tuple[str, str, str]]:
        for n, row in enumerate(self.castings, start=1):
            yield row.item, "bar", f"casting {n} of {self.charge}"
        if self.slag:
            yield self.slag, "slag", f"slag of {self.charge}"
        if self.skull:
            yield self.skull, "skull", f"skull of {self.charge}"
        for sample in self.samples:
            yield sample.item, "sample", f"{sample.taken_by} sample of {self.charge}"

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples' masses."""
        for n, row in enumerate(self.samples):
            weighed = Weighed(gross=row.mass)
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, weighed, f"samples[{n}]"),
                wanted_for="sample",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        castings = [f"{row.item} into mould {row.mould}" for row in self.castings]
        others = [f"slag {self.slag}"] if self.slag else []
        others += [f"skull {self.skull}"] if self.skull else []
        others += [
            f"{row.taken_by} sample {row.item} of {row.mass}" for row in self.samples
        ]
        at_heat = f" at {self.temperature_c} °C" if self.temperature_c else ""
        rest = f", with {listed(others)}" if others else ""
        is_many = len(castings) > 1
        order, cools = (", in this order", "They cool") if is_many else ("", "It cools")
        return (
            f"Charge {self.charge} was poured{at_heat}:"
            f" {listed(castings)}{order}{rest}. {cools} in {self.place}."
        )
