"""Residue of the intensive leach: taken out, it ends the batch.

Until then the batch holds, by difference, what was charged less what was drained.
What the residue and the solutions do not show is missing from the leach.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import Moisture, mass
from goldroom.custody.lookups import the
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.numbers import check_numbers
from goldroom.custody.records import Instrument, Item, Record
from goldroom.custody.rules import check_new_items, item_at_hand
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_taken,
    check_weighed,
    net_g,
    net_terms,
    weighed_notices,
)
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.leach_rows import ResidueRow
from goldroom.statements.leaching import batch_at_hand, brought_to, charged_dry_g
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_reached,
    check_taken_out,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.wording import kilograms, listed


@kind("leach.discharged", group="room", title="Leach residue out", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachDischarged(Statement):
    """All of a batch's residue taken out, weighed, sampled, and where it went."""

    batch: str = fields.code("Batch", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()
    residues: tuple[ResidueRow, ...] = fields.rows("Residues", ResidueRow, most=40)
    undrained: str | None = fields.text(
        "Why it was not drained", optional=True,
        help="Only for a batch whose solution is still in it",
    )  # fmt: skip
    remaining: str | None = fields.text(
        "Left in the vessel", optional=True, help="Solution or solids that stayed"
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a batch finished or not drained, and residue without a place."""
        batch = batch_at_hand(state, self.batch)
        if batch.status == "leaching" and self.undrained is None:
            raise NotInThisState(
                f"batch: {self.batch} was not drained yet; its solution is still in"
                " it. Say that it was drained, or write why it was not.",
                field="batch",
            )
        if batch.status != "leaching" and self.undrained is not None:
            raise BadField(
                f"undrained: {self.batch} was {batch.status} by entry {batch.entry}."
                " Leave this out.",
                field="undrained",
            )
        check_openings(state, self.opened, self.closed)
        check_reached(state, batch.vessel, self.opened, "batch")
        check_new_items(state, self._made())
        check_numbers(state, act, "sample", self._samples())
        for n, row in enumerate(self.residues):
            self._check_destination(state, row, f"residues[{n}]")
        self.check_figures(act, state)

    def _made(self) -> list[tuple[str, str]]:
        named = [
            (row.item, f"residues[{n}].item") for n, row in enumerate(self.residues)
        ]
        return [*named, *self._samples()]

    def _samples(self) -> list[tuple[str, str]]:
        return [
            (row.sample, f"residues[{n}].sample")
            for n, row in enumerate(self.residues)
            if row.sample is not None
        ]

    def _check_destination(self, state: State, row: ResidueRow, path: str) -> None:
        if row.oven is not None:
            the(state, Instrument, row.oven, f"{path}.oven")
        if row.goes_to != "mill" and row.vessel is None:
            raise BadField(
                f"{path}.vessel: {row.item} stays here, but in no vessel. Write the"
                " vessel it is in.",
                field=f"{path}.vessel",
            )
        if row.vessel is not None:
            check_reached(state, row.vessel, self.opened, f"{path}.vessel")
        if (row.sample is None) is not (row.sample_mass is None):
            raise BadField(
                f"{path}.sample: a sample has an id and a mass. Write both, or"
                " neither.",
                field=f"{path}.sample",
            )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and a sample heavier than its residue."""
        for n, row in enumerate(self.residues):
            path = f"residues[{n}]"
            check_weighed(state, act, row.weighed, f"{path}.gross", f"{path}.tare")
            if row.sample_mass is None:
                continue
            check_taken(state, act, row.sample_mass, f"{path}.sample_mass")
            if row.sample_mass.grams > net_g(state, row.weighed):
                raise BadField(
                    f"{path}.sample_mass: the sample weighs {row.sample_mass} and the"
                    f" residue it was taken from {net_g(state, row.weighed)} g net."
                    " Read both again.",
                    field=f"{path}.sample_mass",
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the batch's end, the residues and their samples, and what leaves."""
        batch = state.get(Item, self.batch)
        assert batch is not None
        charged_g = charged_dry_g(state, self.batch)
        yield from open_vessels(state, act, self.opened)
        yield from moves.use_up(state, act, (self.batch,))
        for row in self.residues:
            yield from _residue_out(state, act, row, batch)
        yield from brought_to(state, act, self.batch, "discharged")
        yield from self.measures(act, state)
        yield from close_vessels(state, act, self.closed)
        yield from self._notices(act, state, charged_g)
        to_mill = [row.item for row in self.residues if row.goes_to == "mill"]
        yield from moves.leave(state, act, to_mill, where_to="mill")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the masses of the residues and of their samples."""
        for n, row in enumerate(self.residues):
            path = f"residues[{n}]"
            moisture = None
            if row.moisture_percent is not None:
                moisture = Moisture(
                    percent=row.moisture_percent,
                    determination=f"{act.measured_in}.{path}.moisture",
                    oven=row.oven or "",
                )
            weighings = [(row.item, row.weighed, path, "residue")]
            if row.sample is not None and row.sample_mass is not None:
                sample = Weighed(gross=row.sample_mass)
                weighings.append((row.sample, sample, f"{path}.sample", "sample"))
            for item_id, weighed, at, wanted_for in weighings:
                yield from mass(
                    state,
                    act,
                    item=item_id,
                    terms=net_terms(state, act, weighed, at),
                    wanted_for=wanted_for,
                    moisture=moisture,
                )

    def _notices(
        self, act: Act, state: State, charged_g: Decimal | None
    ) -> Iterator[Record]:
        """Yield what should be noticed about residues, their masses and samples."""
        for row in self.residues:
            readings = (row.gross, row.tare, row.sample_mass)
            yield from weighed_notices(state, act, readings, row.item)
            if row.goes_to == "mill" and row.sample is None:
                yield _unsampled(state, act, row.item)
        if self.undrained is not None:
            yield notice(
                state,
                act,
                "leach_undrained",
                item=self.batch,
                found=self.undrained,
                expected="drained before its residue is taken out",
                message=f"{self.batch} was emptied with its solution still in it",
            )
        yield from self._dry_mass_notices(act, state, charged_g)

    def _dry_mass_notices(
        self, act: Act, state: State, charged_g: Decimal | None
    ) -> Iterator[Record]:
        """Yield a finding if the residue is not about as much as was charged."""
        out_g = sum((_dry_g(state, row) for row in self.residues), Decimal(0))
        limit_percent = limit_value(state, "leach_dry_mass_percent")
        if charged_g and abs(out_g - charged_g) * 100 > limit_percent * charged_g:
            yield notice(
                state,
                act,
                "leach_dry_mass_differs",
                item=self.batch,
                found=f"{kilograms(out_g)} dry in the residue",
                expected=f"{kilograms(charged_g)} dry charged,"
                f" within {limit_percent} %",
                message=f"the residue of {self.batch} differs by"
                f" {kilograms(out_g - charged_g)} from what was charged",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        undrained = ""
        if self.undrained is not None:
            undrained = f" It was not drained: {self.undrained}."
        left = f" Left in the vessel: {self.remaining}." if self.remaining else ""
        return (
            f"The residue of leach batch {self.batch} was taken out:"
            f" {listed([_residue_words(row) for row in self.residues])}."
            f"{undrained}{left}" + openings_words(self.opened, self.closed)
        )


RELEASED = ("residue", "solution")
"""Sorts of item that the leach keeps and may let go."""


@kind("leach.released", group="room", title="Leach residue let go", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachReleased(Statement):
    """Residue or wash solution that the leach had kept, sent back to the mill."""

    item: str = fields.code("Residue or solution", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse what is not at hand, and what the leach does not hold."""
        item = item_at_hand(state, self.item, "item", sorts=RELEASED)
        if item.step != "leach":
            raise NotInThisState(
                f"item: {self.item} is held for {item.step}, not kept by the leach."
                " Say what was done with it there.",
                field="item",
            )
        check_openings(state, self.opened, ())
        check_taken_out(state, item, self.opened, "item")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield its leaving, and a residue that nobody sampled."""
        item = state.get(Item, self.item)
        assert item is not None
        yield from open_vessels(state, act, self.opened)
        yield from moves.leave(state, act, (self.item,), where_to="mill")
        if item.sort == "residue" and not item.drawn and not item.assays:
            yield _unsampled(state, act, self.item)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return f"{self.item}, kept by the leach, went back to the mill." + (
            openings_words(self.opened, ())
        )


def _residue_out(
    state: State, act: Act, row: ResidueRow, batch: Item
) -> Iterator[Record]:
    """Yield one residue, held by the step that will use it, and its sample."""
    step = "table" if row.goes_to == "table" else "leach"
    new = NewItem(
        item=row.item,
        sort="residue",
        step=step,
        from_step="leach",
        place=batch.place,
        vessel="" if row.goes_to == "mill" else row.vessel or "",
        parents=(batch.item,),
        source=batch.source,
        label=f"residue of {batch.item}",
    )
    yield from moves.make(state, act, new)
    if row.sample is not None:
        sample = NewItem(
            item=row.sample,
            sort="sample",
            step=step,
            from_step=step,
            place=batch.place,
            parents=(row.item,),
            source=batch.source,
            label=f"sample of residue {row.item}",
        )
        yield from moves.draw(state, act, sample)


def _unsampled(state: State, act: Act, item_id: str) -> Record:
    """Return the finding that residue went to the mill without a sample."""
    return notice(
        state,
        act,
        "residue_unsampled",
        item=item_id,
        found="no sample",
        expected="a sample before it goes to the mill",
        message=f"{item_id} went to the mill and can no longer be sampled",
    )


def _dry_g(state: State, row: ResidueRow) -> Decimal:
    moisture = row.moisture_percent or Decimal(0)
    return net_g(state, row.weighed) * (100 - moisture) / 100


def _residue_words(row: ResidueRow) -> str:
    wet = f", {row.moisture_percent} % moisture" if row.moisture_percent else ""
    sample = f", sampled as {row.sample} ({row.sample_mass})" if row.sample else ""
    where = {
        "mill": "back to the mill",
        "kept": f"kept in {row.vessel}",
        "leach": f"in {row.vessel} to be leached again",
        "table": f"in {row.vessel} for the table",
    }[row.goes_to]
    return f"{row.item} ({row.gross} gross{wet}{sample}, {where})"
