"""A solution assay's worksheet: what an instrument read of diluted samples.

Each row is one solution, with one or more samples of it taken independently; the
mean of the samples is its strength in mg/L (`goldroom.metal.solution_assay`). By
how much each was diluted is always said: a dilution forgotten is an error of ten.
What lies below the detection limit is taken as half of it, with an uncertainty that
covers all from nothing to the limit.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.figures import Content
from goldroom.custody.notices import notice
from goldroom.custody.records import Record
from goldroom.custody.state import State
from goldroom.errors import DilutionMissing, FinenessOver1000
from goldroom.metal.determinations import spread_percent
from goldroom.metal.rounding import half_even
from goldroom.metal.solution_assay import (
    Strength,
    is_about_tenfold,
    mean_strength,
    strength,
)
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.results import (
    STANDINGS,
    Work,
    check_laboratory,
    check_sample,
    check_speaks_for,
    reported,
)
from goldroom.statements.wording import listed, plain

METALS = ("gold", "silver")
METHODS = ("atomic_absorption", "plasma_emission")
STEP = Decimal("0.0001")
MOST_MG_L = Decimal(1000000)
SAMPLED = ("sample", "solution")
"""What an instrument is given: a sample, or the solution's own bottle."""


@dataclass(frozen=True, kw_only=True)
class SolutionReadingRow:
    """One sample as the instrument read it, and by how much it was diluted."""

    sample: str = fields.code(
        "Sample", table="item", help="Its number, or the solution's own"
    )
    dilution: Decimal | None = fields.number(
        "Dilution", "", low="1", high="1000000", optional=True,
        help="1 if undiluted; 10 for one part made up to ten",
    )  # fmt: skip
    gold_mg_l: Decimal | None = fields.number(
        "Gold read", "mg/L", low="-1000000", optional=True
    )
    gold_below: bool | None = fields.flag(
        "Gold below detection", optional=True, is_figure=True
    )
    silver_mg_l: Decimal | None = fields.number(
        "Silver read", "mg/L", low="-1000000", optional=True
    )
    silver_below: bool | None = fields.flag(
        "Silver below detection", optional=True, is_figure=True
    )


@dataclass(frozen=True, kw_only=True)
class SolutionRow:
    """A solution, what its result speaks for, and its samples' readings."""

    items: tuple[str, ...] = fields.codes(
        "Speaks for", table="item", help="The solution, and samples kept of it"
    )
    readings: tuple[SolutionReadingRow, ...] = fields.rows(
        "Readings", SolutionReadingRow, most=20,
        help="A row for each sample taken independently: two at least, as a rule",
    )  # fmt: skip


@kind(
    "solution_assay.reported",
    group="assay",
    title="Solution assay reported",
    can_void=True,
)
@dataclass(frozen=True, kw_only=True)
class SolutionAssayReported(Statement):
    """A solution assay's worksheet: readings, blanks, dilutions, detection limits."""

    laboratory: str = fields.code("Laboratory", table="place")
    method: str = fields.choice("Method", METHODS)
    standing: str = fields.choice(
        "Standing", STANDINGS, help="Whose figure it is, and whether it may change"
    )
    sampler: str = fields.code("Sampler", help="The tap, dipper or bottle that sampled")
    gold_blank_mg_l: Decimal = fields.number(
        "Gold blank", "mg/L", low="-1000", help="As read, at the samples' dilution"
    )
    gold_detection_mg_l: Decimal = fields.number(
        "Gold detection limit", "mg/L", help="Of the instrument, undiluted"
    )
    silver_blank_mg_l: Decimal = fields.number("Silver blank", "mg/L", low="-1000")
    silver_detection_mg_l: Decimal = fields.number("Silver detection limit", "mg/L")
    solutions: tuple[SolutionRow, ...] = fields.rows("Solutions", SolutionRow, most=50)

    def check(self, act: Act, state: State) -> None:
        """Refuse what is no solution, and samples never taken, replaced or twice."""
        check_laboratory(state, self.laboratory)
        seen: set[str] = set()
        for n, row in enumerate(self.solutions):
            path = f"solutions[{n}]"
            check_speaks_for(state, row.items, f"{path}.items", sorts=("solution",))
            for m, read in enumerate(row.readings):
                field = f"{path}.readings[{m}].sample"
                check_sample(state, read.sample, field, of=("solution",), sorts=SAMPLED)
                if read.sample in seen:
                    raise BadField(
                        f"{field}: {read.sample} is listed twice. Only samples taken"
                        " independently count apart: write one row with the mean of"
                        " its readings.",
                        field=field,
                    )
                seen.add(read.sample)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse a dilution not said, and metals neither read nor below detection."""
        for n, row in enumerate(self.solutions):
            for m, read in enumerate(row.readings):
                path = f"solutions[{n}].readings[{m}]"
                if read.dilution is None:
                    raise DilutionMissing(
                        f"{path}.dilution: the dilution of {read.sample} is missing."
                        " Write by how much the sample was diluted: 1 if undiluted, 10"
                        " for one part made up to ten.",
                        field=f"{path}.dilution",
                    )
                for metal in METALS:
                    _check_read(read, metal, path)
            self._check_strengths(row, f"solutions[{n}]")

    def _check_strengths(self, row: SolutionRow, path: str) -> None:
        for metal in METALS:
            strongest = max(each.mg_l for each in self._strengths(row, metal))
            if strongest > MOST_MG_L:
                raise FinenessOver1000(
                    f"{path}: {metal} comes to {strongest} mg/L, more than a kilogram"
                    " in a litre. Check the readings and the dilutions.",
                    field=path,
                )

    def _strengths(self, row: SolutionRow, metal: str) -> list[Strength]:
        """Return a metal's strength by each sample of a solution."""
        return [
            strength(
                reading_mg_l=getattr(read, f"{metal}_mg_l"),
                blank_mg_l=getattr(self, f"{metal}_blank_mg_l"),
                dilution=Decimal(1) if read.dilution is None else read.dilution,
                detection_mg_l=getattr(self, f"{metal}_detection_mg_l"),
            )
            for read in row.readings
        ]

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a new version of each item's strength, and samples that disagree."""
        work = Work(
            laboratory=self.laboratory,
            method=self.method,
            standing=self.standing,
            sampler=self.sampler,
        )
        for n, row in enumerate(self.solutions):
            gold, silver = (
                mean_strength(self._strengths(row, each)) for each in METALS
            )
            content = Content(
                unit="mg_l",
                gold=half_even(gold.mg_l, STEP),
                silver=half_even(silver.mg_l, STEP),
                gold_determinations=len(row.readings),
                silver_determinations=len(row.readings),
                gold_limit=_limit(gold),
                silver_limit=_limit(silver),
            )
            yield from reported(
                state,
                act,
                items=row.items,
                content=content,
                work=work,
                path=f"solutions[{n}]",
                sample=row.readings[0].sample,
            )
            for metal in METALS:
                yield from self._notices(act, state, row, metal)

    def _notices(
        self, act: Act, state: State, row: SolutionRow, metal: str
    ) -> Iterator[Record]:
        """Yield the finding that independent samples of one solution disagree."""
        strengths = self._strengths(row, metal)
        found = [each.mg_l for each in strengths]
        limit_percent = limit_value(state, "solution_samples_percent")
        nobody_read = all(each.limit_mg_l is not None for each in strengths)
        if nobody_read or spread_percent(found) <= limit_percent:
            return
        hint = (
            "; they are about ten times apart: look at the dilution"
            if is_about_tenfold(found)
            else ""
        )
        shown = [str(half_even(each, STEP)) for each in found]
        yield notice(
            state,
            act,
            "solution_samples_differ",
            item=row.items[0],
            found=f"{listed(shown)} mg/L {metal}",
            expected=f"within {limit_percent} % of each other",
            message=f"samples of {row.items[0]} disagree in {metal}{hint}",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        solutions = []
        for row in self.solutions:
            gold, silver = (
                _aloud(mean_strength(self._strengths(row, each)), each)
                for each in METALS
            )
            samples = listed([read.sample for read in row.readings])
            solutions.append(f"{listed(row.items)} at {gold} and {silver} ({samples})")
        return (
            f"{self.laboratory} reported {self.standing} solution assays by"
            f" {self.method.replace('_', ' ')}: {'; '.join(solutions)}."
        )


def _check_read(read: SolutionReadingRow, metal: str, path: str) -> None:
    """Refuse a metal that was both read and below detection, or neither."""
    was_read = getattr(read, f"{metal}_mg_l") is not None
    is_below = bool(getattr(read, f"{metal}_below"))
    if was_read == is_below:
        raise BadField(
            f"{path}.{metal}_mg_l: {metal} of {read.sample} is"
            f" {'both read and' if was_read else 'neither read nor'} below detection."
            " Write what the instrument read, or that it was below detection.",
            field=f"{path}.{metal}_mg_l",
        )


def _limit(found: Strength) -> Decimal | None:
    """Return the limit that a strength was found below, as reported."""
    return None if found.limit_mg_l is None else half_even(found.limit_mg_l, STEP)


def _aloud(found: Strength, metal: str) -> str:
    """Return a strength in words."""
    limit = _limit(found)
    if limit is not None:
        return f"less than {plain(limit)} mg/L {metal}"
    return f"{plain(half_even(found.mg_l, STEP))} mg/L {metal}"
