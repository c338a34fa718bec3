"""A screen assay's worksheet, for samples with coarse gold.

What stayed on the screen was assayed whole, the fines by portions; the sample's
grade is that of the two by their masses (`goldroom.metal.metallics`). There is but
one coarse fraction, so that the grade counts as one determination.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import Content
from goldroom.custody.notices import notice
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.errors import PortionOfNothing
from goldroom.metal.determinations import spread_percent
from goldroom.metal.metallics import fractions_gap_percent, metallics_grade
from goldroom.metal.rounding import half_even
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.results import (
    STANDINGS,
    UNIT_WORDS,
    WANTED_FOR,
    Work,
    check_laboratory,
    check_samples,
    check_within_whole,
    reported,
)
from goldroom.statements.wording import listed

UNITS = ("gpt", "percent")
"""Units that such grades are reported in."""

STEP = Decimal("0.001")
GROUND = tuple(
    sort for sort in WANTED_FOR if sort not in ("bar", "melt", "sample", "solution")
)
"""What can be ground and screened: no bullion and no solution."""


@dataclass(frozen=True, kw_only=True)
class FinesRow:
    """A portion of the fines: its gold and silver, in the sample's unit."""

    gold: Decimal = fields.number("Gold", "")
    silver: Decimal = fields.number("Silver", "")


@dataclass(frozen=True, kw_only=True)
class ScreenSampleRow:
    """A sample screened into two fractions, and for whom it speaks."""

    sample: str = fields.code(
        "Sample", table="item", help="The sample that was ground and screened"
    )
    items: tuple[str, ...] = fields.codes(
        "Speaks for", table="item", help="All items that the sample stands for"
    )
    unit: str = fields.choice("Unit", UNITS, is_figure=True)
    sample_g: Decimal = fields.number("Sample before screening", "g", high="1000000")
    coarse_g: Decimal = fields.number("Left on the screen", "g", high="1000000")
    coarse_gold: Decimal = fields.number("Gold of the coarse", "")
    coarse_silver: Decimal = fields.number("Silver of the coarse", "")
    fines_g: Decimal = fields.number("Passed the screen", "g", high="1000000")
    fines: tuple[FinesRow, ...] = fields.rows(
        "Portions of the fines", FinesRow, most=10, help="Two at least, as a rule"
    )

    def grade(self, metal: str) -> Decimal:
        """Return the sample's gold or silver, rounded once."""
        grade = metallics_grade(
            coarse_mass=self.coarse_g,
            coarse_grade=getattr(self, f"coarse_{metal}"),
            fines_mass=self.fines_g,
            fines_grades=[getattr(each, metal) for each in self.fines],
        )
        return half_even(grade, STEP)


@kind(
    "screen_assay.reported", group="assay", title="Screen assay reported", can_void=True
)
@dataclass(frozen=True, kw_only=True)
class ScreenAssayReported(Statement):
    """A screen assay's worksheet: the coarse assayed whole, the fines by portions."""

    laboratory: str = fields.code("Laboratory", table="place")
    standing: str = fields.choice(
        "Standing", STANDINGS, help="Whose figure it is, and whether it may change"
    )
    sampler: str = fields.code(
        "Sampler", help="The cutter, spear or scoop that took the samples"
    )
    screen_um: int = fields.whole(
        "Screen", low=10, high=5000, unit="µm", help="Its opening"
    )
    samples: tuple[ScreenSampleRow, ...] = fields.rows(
        "Samples", ScreenSampleRow, most=50
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse samples never taken or replaced, and what cannot be screened."""
        check_laboratory(state, self.laboratory)
        check_samples(state, self.samples, sorts=GROUND)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse fractions of no mass, and grades above the whole."""
        for n, row in enumerate(self.samples):
            for name in ("sample_g", "coarse_g", "fines_g"):
                if getattr(row, name) <= 0:
                    raise PortionOfNothing(
                        f"samples[{n}].{name}: found {getattr(row, name)} g; expected"
                        " a mass above zero. If nothing stayed on the screen, report an"
                        " ordinary assay (fire_assay.reported).",
                        field=f"samples[{n}].{name}",
                    )
            for name, grade in _grades(row):
                check_within_whole(grade, row.unit, f"samples[{n}].{name}")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a new version of each item's content, and what the fractions show."""
        work = Work(
            laboratory=self.laboratory,
            method="screen_fire_assay",
            standing=self.standing,
            sampler=self.sampler,
        )
        for n, row in enumerate(self.samples):
            content = Content(
                unit=row.unit, gold=row.grade("gold"), silver=row.grade("silver")
            )
            yield from reported(
                state,
                act,
                items=row.items,
                content=content,
                work=work,
                path=f"samples[{n}]",
                sample=row.sample,
            )
            yield from _notices(state, act, row)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        samples = [
            f"sample {row.sample}, for {listed(row.items)}, at {row.grade('gold')}"
            f" {UNIT_WORDS[row.unit]} gold and {row.grade('silver')}"
            f" {UNIT_WORDS[row.unit]} silver ({row.coarse_g} g of {row.sample_g} g"
            " on the screen)"
            for row in self.samples
        ]
        return (
            f"{self.laboratory} reported {self.standing} screen assays at"
            f" {self.screen_um} µm: {'; '.join(samples)}."
        )


def _grades(row: ScreenSampleRow) -> Iterator[tuple[str, Decimal]]:
    """Yield every grade of a row with the name of its field."""
    yield "coarse_gold", row.coarse_gold
    yield "coarse_silver", row.coarse_silver
    for n, portion in enumerate(row.fines):
        yield f"fines[{n}].gold", portion.gold
        yield f"fines[{n}].silver", portion.silver


def _notices(state: State, act: Act, row: ScreenSampleRow) -> Iterator[Record]:
    """Yield fractions that do not make the sample, and portions that disagree."""
    gap_percent = fractions_gap_percent(
        sample_mass=row.sample_g, coarse_mass=row.coarse_g, fines_mass=row.fines_g
    )
    limit_percent = limit_value(state, "screen_fractions_percent")
    if abs(gap_percent) > limit_percent:
        yield notice(
            state,
            act,
            "fractions_not_whole",
            item=row.items[0],
            found=f"{row.coarse_g} g and {row.fines_g} g",
            expected=f"{row.sample_g} g together, within {limit_percent} %",
            message=f"the fractions of sample {row.sample} do not make the sample",
        )
    golds = [portion.gold for portion in row.fines]
    limit_percent = limit_value(state, "duplicates_concentrate_percent")
    if spread_percent(golds) > limit_percent:
        shown = listed([str(each) for each in golds])
        yield notice(
            state,
            act,
            "duplicates_differ",
            item=row.items[0],
            found=f"{shown} {UNIT_WORDS[row.unit]} gold",
            expected=f"within {limit_percent} % of each other",
            message=f"portions of the fines of sample {row.sample} disagree; assay them"
            " again",
        )
