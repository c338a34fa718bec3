"""Samples: taken off what stays held, and divided into portions.

What a sample weighs is metal that its source no longer holds. A bar is sampled at the
pour, by dip or pin, or by the drill and weighed again after: those samples are made
there, and divided, handed on and used up here like all others. The umpire's and the
reserve portion are sealed from the first.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.names import any_of
from goldroom.custody.records import Instrument, Item, Marker, Record
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.custody.weighed import weighed_notices
from goldroom.errors import MoistureOver100, UmpirePortionKept, WrongSort
from goldroom.statements import fields
from goldroom.statements.envelopes import (
    EnvelopeCutRow,
    check_cut,
    cut_envelope,
    cut_words,
)
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_taken_out,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.results import WANTED_FOR, check_sample, replaced_marker
from goldroom.statements.sampling import (
    PORTIONS,
    NewSample,
    SampleRow,
    Wetness,
    check_not_before,
    check_row_figures,
    check_rows,
    make_sample,
    measured,
    missing_notices,
    portion_words,
    row_measure,
    told_of,
)
from goldroom.statements.wording import listed

WAYS = ("spear", "cutter", "grab", "dip", "pin", "solution", "scoop")
SAMPLED = (
    "load", "lot", "heel", "concentrate", "middlings", "tails", "magnetics",
    "leach_batch", "solution", "residue", "cell_load", "sludge", "calcine", "slag",
    "skull", "sweepings", "other",
)  # fmt: skip
"""Sorts that a sample is taken off while the rest stays held."""


@dataclass(frozen=True, kw_only=True)
class TakenSampleRow(SampleRow):
    """A sample taken: its moisture if it was dried, and which one it replaces."""

    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Of the sample itself; as what it was taken from, if left out",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)
    replaces: str | None = fields.code(
        "Replaces", table="item", optional=True,
        help="An earlier sample, whose results count no longer; its metal does",
    )  # fmt: skip

    @property
    def wetness(self) -> Wetness:
        """Return the moisture said."""
        return Wetness(percent=self.moisture_percent, oven=self.oven)


@kind("sample.taken", group="room", title="Sample taken", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SampleTaken(Statement):
    """Samples taken off a thing, which holds less by just what they hold."""

    item: str = fields.code("Taken from", table="item")
    way: str = fields.choice("Way", WAYS)
    opened: tuple[OpenedRow, ...] = opened_field()
    samples: tuple[TakenSampleRow, ...] = fields.rows(
        "Samples", TakenSampleRow, most=50
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a bar, what is not at hand, ids used before, seals that cannot be."""
        source = item_at_hand(state, self.item, "item")
        if source.sort == "bar":
            raise WrongSort(
                f"item: {self.item} is a bar. Say drillings with its second weighing"
                " (bar.reweighed), dip and pin samples with the pour (charge.poured).",
                field="item",
            )
        if source.sort not in SAMPLED:
            raise wrong_sort(
                "item",
                self.item,
                source.sort,
                any_of(SAMPLED),
                remedy="Divide a sample itself by sample.split.",
            )
        check_not_before(state, act, source, "item")
        check_openings(state, self.opened, self.closed)
        check_taken_out(state, source, self.opened, "item")
        check_rows(state, act, self.samples, "samples")
        for n, row in enumerate(self.samples):
            if row.oven is not None:
                the(state, Instrument, row.oven, f"samples[{n}].oven")
            if row.replaces is not None:
                check_sample(
                    state, row.replaces, f"samples[{n}].replaces", of=tuple(WANTED_FOR)
                )
        self._check_replaced_once()
        self.check_figures(act, state)

    def _check_replaced_once(self) -> None:
        replaced = [row.replaces for row in self.samples if row.replaces]
        for n, row in enumerate(self.samples):
            if row.replaces and replaced.count(row.replaces) > 1:
                raise BadField(
                    f"samples[{n}].replaces: {row.replaces} is replaced twice. Name"
                    " the one sample that takes its place.",
                    field=f"samples[{n}].replaces",
                )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and more than there is."""
        source = the(state, Item, self.item, "item")
        check_row_figures(state, act, source, self.samples, "samples")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples, drawn off what stays held, and those they replace."""
        source = the(state, Item, self.item, "item")
        yield from open_vessels(state, act, self.opened)
        for row in self.samples:
            new = NewSample(
                item=row.item,
                label=f"{self.way} sample of {self.item}",
                taken_by=self.way,
                portion=row.portion,
                seal=row.seal,
            )
            yield from make_sample(state, act, new, source, is_drawn=True)
            if row.replaces is not None:
                yield Marker(
                    name=replaced_marker(row.replaces), value=row.item, entry=act.entry
                )
        yield from close_vessels(state, act, self.closed)
        yield from self.measures(act, state)
        for row in self.samples:
            yield from weighed_notices(state, act, (row.mass,), row.item)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples' masses or volumes."""
        for n, row in enumerate(self.samples):
            path = f"samples[{n}]"
            yield from measured(
                state,
                act,
                item=row.item,
                source=self.item,
                measure=row_measure(state, act, row, path, row.wetness),
                path=path,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        taken = [f"{row.item} ({_taken_words(row)})" for row in self.samples]
        many = "samples" if len(taken) > 1 else "a sample"
        were = "were" if len(taken) > 1 else "was"
        return (
            f"By {self.way}, {many} of {self.item} {were} taken: {listed(taken)}."
            + openings_words(self.opened, self.closed)
        )


@dataclass(frozen=True, kw_only=True)
class PortionRow(SampleRow):
    """A portion of a sample, and for whom it is."""

    portion: str = fields.choice("Portion", PORTIONS)


@kind("sample.split", group="room", title="Sample split", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SampleSplit(Statement):
    """A sample divided into portions; those for umpire and reserve are sealed."""

    sample: str = fields.code("Sample", table="item")
    seal_cut: EnvelopeCutRow | None = fields.one(
        "Seal cut", EnvelopeCutRow, optional=True, help="If its envelope was sealed"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    moisture_percent: Decimal | None = fields.number(
        "Moisture of the portions", "%", high="100", above_high=MoistureOver100,
        optional=True, help="0 once it was dried; as the sample, if left out",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)
    portions: tuple[PortionRow, ...] = fields.rows("Portions", PortionRow, most=50)
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse a sample not at hand or the umpire's, and seals that cannot be."""
        sample = item_at_hand(state, self.sample, "sample", sorts=("sample",))
        if told_of(state, sample).portion == "umpire":
            raise UmpirePortionKept(
                f"sample: {self.sample} is the umpire's portion. Leave it sealed; if"
                " an umpire is called, that laboratory opens it and says what it used.",
                field="sample",
            )
        check_not_before(state, act, sample, "sample")
        check_openings(state, self.opened, self.closed)
        check_taken_out(state, sample, self.opened, "sample")
        check_cut(state, self.sample, self.seal_cut, "seal_cut")
        if len(self.portions) < 2:
            raise BadField(
                f"portions: {self.sample} is divided into one portion. Write all of"
                " them, the reject as well.",
                field="portions",
            )
        if self.oven is not None:
            the(state, Instrument, self.oven, "oven")
        check_rows(state, act, self.portions, "portions")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and a portion larger than the sample."""
        sample = the(state, Item, self.sample, "sample")
        check_row_figures(state, act, sample, self.portions, "portions")

    @property
    def _wetness(self) -> Wetness:
        return Wetness(percent=self.moisture_percent, oven=self.oven)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the sample's end, its portions, and grams not accounted for."""
        sample = the(state, Item, self.sample, "sample")
        way = told_of(state, sample).taken_by
        yield from cut_envelope(state, act, self.sample, self.seal_cut)
        yield from open_vessels(state, act, self.opened)
        yield from moves.use_up(state, act, (self.sample,))
        for row in self.portions:
            new = NewSample(
                item=row.item,
                label=f"{portion_words(row.portion)} of {self.sample}",
                taken_by=way,
                portion=row.portion,
                seal=row.seal,
            )
            yield from make_sample(state, act, new, sample, is_drawn=False)
        yield from close_vessels(state, act, self.closed)
        yield from self.measures(act, state)
        yield from missing_notices(state, act, sample, self.portions, self._wetness)
        for row in self.portions:
            yield from weighed_notices(state, act, (row.mass,), row.item)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the portions' masses or volumes."""
        for n, row in enumerate(self.portions):
            path = f"portions[{n}]"
            yield from measured(
                state,
                act,
                item=row.item,
                source=self.sample,
                measure=row_measure(state, act, row, path, self._wetness),
                path=path,
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        made = [
            f"{row.item}, {portion_words(row.portion)} ({_size_and_seal(row)})"
            for row in self.portions
        ]
        return (
            f"Sample {self.sample}{cut_words(self.seal_cut)} was divided into"
            f" {'; '.join(made)}." + openings_words(self.opened, self.closed)
        )


def _size_and_seal(row: SampleRow) -> str:
    return row.size_words + (f", under seal {row.seal}" if row.seal else "")


def _taken_words(row: TakenSampleRow) -> str:
    words = _size_and_seal(row)
    words += f", {portion_words(row.portion)}" if row.portion else ""
    if row.moisture_percent is not None:
        words += f", {row.moisture_percent} % moisture"
    return words + (f", in place of {row.replaces}" if row.replaces else "")
