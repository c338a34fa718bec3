"""Assays: a laboratory's results for items, of every standing, side by side.

A result speaks for every item it lists (a composite of many loads, the bars and the
dip sample of one pour); those share the sample and its errors. Nothing is
overwritten: each result is a new version, and the reader chooses. A result given to
the wrong bar is taken back by a correction, while nothing was built on it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import Content
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.metal.assay import THOUSAND
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.results import (
    PERMILLE_PER_UNIT,
    STANDINGS,
    UNIT_WORDS,
    WANTED_FOR,
    Work,
    check_laboratory,
    check_not_replaced,
    check_speaks_for,
    check_within_whole,
    over_the_whole,
    reported,
)
from goldroom.statements.wording import listed

METHODS = (
    "fire_assay", "screen_fire_assay", "wet_chemical", "spectrometer", "judgement",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ResultRow:
    """One result: the items it speaks for, and gold and silver as reported."""

    items: tuple[str, ...] = fields.codes(
        "Speaks for", table="item", help="All items that the sample stands for"
    )
    sample: str = fields.code("Sample", help="Number on the sample's envelope")
    unit: str = fields.choice("Unit", tuple(PERMILLE_PER_UNIT), is_figure=True)
    gold: Decimal = fields.number("Gold", "")
    silver: Decimal = fields.number("Silver", "")
    base: Decimal | None = fields.number("Base metal", "", optional=True)


@kind("assay.reported", group="assay", title="Assay reported", can_void=True)
@dataclass(frozen=True, kw_only=True)
class AssayReported(Statement):
    """A laboratory's report: results for items, with standing and method."""

    laboratory: str = fields.code("Laboratory", table="place")
    method: str = fields.choice("Method", METHODS)
    standing: str = fields.choice(
        "Standing", STANDINGS, help="Whose figure it is, and whether it may change"
    )
    sampler: str = fields.code(
        "Sampler", help="The cutter, spear, drill or ladle that took the samples"
    )
    results: tuple[ResultRow, ...] = fields.rows("Results", ResultRow)

    def check(self, act: Act, state: State) -> None:
        """Refuse unknown items and laboratories, and figures that cannot be."""
        check_laboratory(state, self.laboratory)
        for n, row in enumerate(self.results):
            path = f"results[{n}]"
            check_speaks_for(state, row.items, f"{path}.items", sorts=tuple(WANTED_FOR))
            check_not_replaced(state, row.sample, f"{path}.sample")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse a content above the whole: more than 1000 parts per thousand."""
        for n, row in enumerate(self.results):
            for metal, found in _metals(row):
                check_within_whole(found, row.unit, f"results[{n}].{metal}")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a new version of each item's content, and sums above the whole."""
        work = Work(
            laboratory=self.laboratory,
            method=self.method,
            standing=self.standing,
            sampler=self.sampler,
        )
        for n, row in enumerate(self.results):
            content = Content(
                unit=row.unit, gold=row.gold, silver=row.silver, base=row.base
            )
            yield from reported(
                state,
                act,
                items=row.items,
                content=content,
                work=work,
                path=f"results[{n}]",
                sample=row.sample,
            )
            yield from _sum_notices(state, act, row)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        results = [
            f"{listed(row.items)} at {row.gold} {UNIT_WORDS[row.unit]} gold and"
            f" {row.silver} {UNIT_WORDS[row.unit]} silver (sample {row.sample})"
            for row in self.results
        ]
        return (
            f"{self.laboratory} reported {self.standing} assays by"
            f" {self.method.replace('_', ' ')}: {'; '.join(results)}."
        )


def _metals(row: ResultRow) -> Iterator[tuple[str, Decimal]]:
    yield "gold", row.gold
    yield "silver", row.silver
    if row.base is not None:
        yield "base", row.base


def _sum_notices(state: State, act: Act, row: ResultRow) -> Iterator[Record]:
    """Yield the finding of a sum over the whole, however small the excess.

    A laboratory brings its figures to the whole before it reports them, so that even
    a tenth over is a slip of the pen; raw determinations are judged more gently, by
    their own errors (`fire_assay.reported`).
    """
    total = sum((each for _, each in _metals(row)), Decimal(0))
    permille = total * PERMILLE_PER_UNIT[row.unit]
    if permille > THOUSAND:
        yield over_the_whole(
            state, act, item=row.items[0], permille=permille, sample=row.sample
        )
