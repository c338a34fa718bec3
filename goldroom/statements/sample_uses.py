"""Samples used up by a laboratory.

What a laboratory used of a sample leaves the balance as an item of its own, and what it
left is one too, so that every gram of the sample is one or the other, or missing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Record
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.errors import (
    MoistureOver100,
    UmpirePortionKept,
)
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
    OpenedRow,
    check_openings,
    check_taken_out,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.results import check_laboratory
from goldroom.statements.sampling import (
    Measure,
    NewSample,
    Wetness,
    check_new_samples,
    check_not_before,
    check_size,
    make_sample,
    measured,
    missing_notices,
    told_of,
    used_part,
)


@dataclass(frozen=True, kw_only=True)
class LeftRow:
    """What a laboratory left of a sample: a sample of its own."""

    item: str = fields.code("Sample id", help="A new id, never used before")
    mass_g: Decimal | None = fields.number("Mass", "g", optional=True)
    volume_ml: Decimal | None = fields.number("Volume", "mL", optional=True)

    @property
    def grams(self) -> Decimal | None:
        """Return the mass."""
        return self.mass_g

    @property
    def millilitres(self) -> Decimal | None:
        """Return the volume."""
        return self.volume_ml


@dataclass(frozen=True, kw_only=True)
class UsedRow:
    """What a laboratory used of a sample, and what it left, by its worksheet."""

    sample: str = fields.code("Sample", table="item")
    seal_cut: EnvelopeCutRow | None = fields.one(
        "Seal cut", EnvelopeCutRow, optional=True, help="If its envelope was sealed"
    )
    used_g: Decimal | None = fields.number("Used", "g", optional=True)
    used_ml: Decimal | None = fields.number("Used, of a solution", "mL", optional=True)
    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Of what was weighed: 0 once dried; as the sample, if left out",
    )  # fmt: skip
    left: LeftRow | None = fields.one(
        "Left over", LeftRow, optional=True, help="Leave out if all of it was used"
    )

    @property
    def grams(self) -> Decimal | None:
        """Return the mass used."""
        return self.used_g

    @property
    def millilitres(self) -> Decimal | None:
        """Return the volume used."""
        return self.used_ml

    @property
    def wetness(self) -> Wetness:
        """Return the moisture said."""
        return Wetness(percent=self.moisture_percent)


@kind("sample.consumed", group="assay", title="Samples used up", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SampleConsumed(Statement):
    """Samples used by a laboratory: how much of each, and what is left."""

    laboratory: str = fields.code("Laboratory", table="place")
    umpire: str | None = fields.text(
        "Umpire", optional=True, help="If this laboratory was called as the umpire"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    used: tuple[UsedRow, ...] = fields.rows("Used", UsedRow, most=100)

    def check(self, act: Act, state: State) -> None:
        """Refuse samples not at hand, sealed ones not looked at, the umpire's."""
        check_laboratory(state, self.laboratory)
        check_openings(state, self.opened, ())
        named: set[str] = set()
        for n, row in enumerate(self.used):
            path = f"used[{n}]"
            field = f"{path}.sample"
            sample = item_at_hand(state, row.sample, field, sorts=("sample",))
            if row.sample in named:
                raise BadField(
                    f"{field}: {row.sample} is listed twice. Write one row for it.",
                    field=field,
                )
            named.add(row.sample)
            self._check_umpire(state, sample, field)
            check_not_before(state, act, sample, field)
            check_taken_out(state, sample, self.opened, field)
            check_cut(state, row.sample, row.seal_cut, f"{path}.seal_cut")
        lefts = [
            (row.left.item, f"used[{n}].left.item")
            for n, row in enumerate(self.used)
            if row.left is not None
        ]
        check_new_samples(state, act, lefts)
        self.check_figures(act, state)

    def _check_umpire(self, state: State, sample: Item, field: str) -> None:
        if self.umpire is None and told_of(state, sample).portion == "umpire":
            raise UmpirePortionKept(
                f"{field}: {sample.item} is the umpire's portion, kept sealed until an"
                " umpire is called. If this laboratory is the umpire, say so under"
                " umpire; if not, leave the envelope closed.",
                field=field,
            )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse sizes in the wrong measure, and more than there was."""
        for n, row in enumerate(self.used):
            sample = the(state, Item, row.sample, f"used[{n}].sample")
            check_size(state, sample, row, f"used[{n}].used_g")
            if row.left is not None:
                check_size(state, sample, row.left, f"used[{n}].left")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the samples' end, what was used leaving, and what was left."""
        yield from open_vessels(state, act, self.opened)
        for row in self.used:
            sample = the(state, Item, row.sample, "used")
            yield from self._handed_over(act, state, sample)
            yield from cut_envelope(state, act, row.sample, row.seal_cut)
            yield from moves.use_up(state, act, (row.sample,))
            there = replace(sample, place=self.laboratory)
            yield from self._parts(act, state, row, there)
        yield from self.measures(act, state)
        for row in self.used:
            sample = the(state, Item, row.sample, "used")
            sizes = (row,) if row.left is None else (row, row.left)
            yield from missing_notices(state, act, sample, sizes, row.wetness)
            yield from moves.leave(
                state, act, (used_part(state, act, row.sample),), where_to="assay"
            )

    def _parts(
        self, act: Act, state: State, row: UsedRow, sample: Item
    ) -> Iterator[Record]:
        known = told_of(state, sample)
        used = NewSample(
            item=used_part(state, act, row.sample),
            label=f"what was used of {row.sample}",
            taken_by=known.taken_by,
        )
        yield from make_sample(state, act, used, sample, is_drawn=False)
        if row.left is not None:
            left = NewSample(
                item=row.left.item,
                label=f"what was left of {row.sample}",
                taken_by=known.taken_by,
                portion=known.portion if known.portion != "umpire" else None,
            )
            yield from make_sample(state, act, left, sample, is_drawn=False)

    def _handed_over(self, act: Act, state: State, sample: Item) -> Iterator[Record]:
        """Yield a finding if nobody said that the laboratory was given the sample."""
        if sample.place != self.laboratory:
            yield notice(
                state,
                act,
                "sample_not_handed_over",
                item=sample.item,
                found=f"used at {self.laboratory}",
                expected=f"at {sample.place or 'no place said'}",
                message=f"nobody handed {sample.item} to {self.laboratory}",
            )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the sizes of what was used and of what was left."""
        for n, row in enumerate(self.used):
            for item, size, path in (
                (used_part(state, act, row.sample), row, f"used[{n}]"),
                (row.left.item if row.left else "", row.left, f"used[{n}].left"),
            ):
                if size is not None:
                    yield from measured(
                        state,
                        act,
                        item=item,
                        source=row.sample,
                        measure=self._measure(act, state, size, path, row.wetness),
                        path=path,
                    )

    def _measure(
        self, act: Act, state: State, size: UsedRow | LeftRow, path: str, wet: Wetness
    ) -> Measure:
        if size.grams is None:
            return Measure(millilitres=size.millilitres)
        weighed = figures.term(
            state, act, path=path, instrument=self.laboratory, grams=size.grams
        )
        return Measure(terms=(weighed,), wetness=wet)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        umpire = f", called as umpire ({self.umpire})," if self.umpire else ""
        return (
            f"{self.laboratory}{umpire} used"
            f" {'; '.join(_used_words(row) for row in self.used)}."
            + openings_words(self.opened, ())
        )


def _used_words(row: UsedRow) -> str:
    size = f"{row.used_g} g" if row.used_g is not None else f"{row.used_ml} mL"
    words = f"{size} of {row.sample}{cut_words(row.seal_cut)}"
    if row.left is None:
        return f"{words}, all of it"
    grams = row.left.mass_g
    left = f"{grams} g" if grams is not None else f"{row.left.volume_ml} mL"
    return f"{words}, and left {left} as {row.left.item}"
