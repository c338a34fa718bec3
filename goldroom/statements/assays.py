"""Assays: a laboratory's results for items, of every standing, side by side.

A result speaks for every item it lists (a composite of many loads, the bars and the
dip sample of one pour); those share the sample and its errors. Nothing is
overwritten: each result is a new version, and the reader chooses. A result given to
the wrong bar is taken back by a correction, while nothing was built on it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from goldroom.custody.act import Act
from goldroom.custody.figures import Content, Origin, assay
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Place, Record
from goldroom.custody.state import State
from goldroom.errors import FinenessOver1000, ItemNotHeld, WrongSort
from goldroom.metal.assay import THOUSAND
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

PERMILLE_PER_UNIT = MappingProxyType(
    {
        "permille": Decimal(1),
        "percent": Decimal(10),
        "gpt": Decimal("0.001"),
        "mg_l": Decimal("0.001"),
    }
)
"""Parts per thousand in one of each unit that assays are reported in.

A milligram per litre is taken as one in a kilogram: to judge what cannot be, enough.
"""

UNIT_WORDS = MappingProxyType(
    {"permille": "‰", "percent": "%", "gpt": "g/t", "mg_l": "mg/L"}
)
STANDINGS = ("estimated", "provisional", "party", "umpire", "refiner", "final")
METHODS = (
    "fire_assay", "screen_fire_assay", "wet_chemical", "spectrometer", "judgement",
)  # fmt: skip
WANTED_FOR = MappingProxyType(
    {
        "load": "load",
        "lot": "lot",
        "heel": "lot",
        "concentrate": "table_concentrate",
        "middlings": "table_tails",
        "tails": "table_tails",
        "magnetics": "table_tails",
        "sludge": "sludge",
        "calcine": "sludge",
        "residue": "residue",
        "solution": "solution",
        "other": "lot",
        "slag": "slag",
        "skull": "slag",
        "sweepings": "slag",
        "bar": "bar",
        "sample": "bar",
        "melt": "melt",
    }
)
"""What an assay of each sort of item is wanted for; other sorts are not assayed."""


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
        place = the(state, Place, self.laboratory, "laboratory")
        if place.sort not in ("laboratory", "refinery"):
            raise WrongSort(
                f"laboratory: {self.laboratory} is a {place.sort}; expected a"
                " laboratory or a refinery.",
                field="laboratory",
            )
        for n, row in enumerate(self.results):
            for m, item_id in enumerate(row.items):
                _check_item(state, item_id, f"results[{n}].items[{m}]")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse a content above the whole: more than 1000 parts per thousand."""
        for n, row in enumerate(self.results):
            for metal, reported in _reported(row):
                permille = reported * PERMILLE_PER_UNIT[row.unit]
                if permille > THOUSAND:
                    raise FinenessOver1000(
                        f"results[{n}].{metal}: found {reported}"
                        f" {UNIT_WORDS[row.unit]}, which is {permille} parts per"
                        " thousand; the whole is 1000. Check the figure and its"
                        " unit.",
                        field=f"results[{n}].{metal}",
                    )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a new version of each item's content, and sums above the whole."""
        for n, row in enumerate(self.results):
            content = Content(
                unit=row.unit, gold=row.gold, silver=row.silver, base=row.base
            )
            for item_id in row.items:
                item = state.get(Item, item_id)
                assert item is not None
                origin = Origin(
                    assay_id=f"{act.measured_in}.results[{n}]",
                    sample=row.sample,
                    standing=self.standing,
                    laboratory=self.laboratory,
                    method=self.method,
                    sampler=self.sampler,
                    wanted_for=WANTED_FOR[item.sort],
                )
                yield from assay(
                    state, act, item=item_id, content=content, origin=origin
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


def _check_item(state: State, item_id: str, field: str) -> None:
    item = the(state, Item, item_id, field)
    if item.status in ("void", "expected"):
        raise ItemNotHeld(
            f"{field}: {item_id} was never in the room's care ({item.status}).",
            field=field,
        )
    if item.sort not in WANTED_FOR:
        raise WrongSort(
            f"{field}: {item_id} is a {item.sort}, which is not assayed itself;"
            f" expected one of {', '.join(WANTED_FOR)}.",
            field=field,
        )


def _reported(row: ResultRow) -> Iterator[tuple[str, Decimal]]:
    yield "gold", row.gold
    yield "silver", row.silver
    if row.base is not None:
        yield "base", row.base


def _sum_notices(state: State, act: Act, row: ResultRow) -> Iterator[Record]:
    reported = sum((each for _, each in _reported(row)), Decimal(0))
    permille = reported * PERMILLE_PER_UNIT[row.unit]
    if permille > THOUSAND:
        yield notice(
            state,
            act,
            "fineness_sum_over_1000",
            item=row.items[0],
            found=f"{permille} parts per thousand",
            expected="at most 1000 together",
            message=f"the metals of sample {row.sample} add up to more than the whole",
        )
