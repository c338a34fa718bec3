"""Opening stock: what the room held when the ledger began, and its last numbers.

Heels, lots, concentrate, slag, bars and metal not yet settled, each with a mass and
an assay or, where it cannot be weighed, an estimate; the last flush of each unit,
so that the first sheet goes on from there; the last bar number. Three roles sign.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from goldroom.custody import figures, levels, moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.reading import Reading
from goldroom.custody.records import (
    STEPS,
    Concentrator,
    Marker,
    Place,
    Record,
    Vessel,
)
from goldroom.custody.rules import check_new_items
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.assays import METHODS
from goldroom.statements.bars import stamp_marker
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.plant import check_flushes
from goldroom.statements.results import (
    PERMILLE_PER_UNIT,
    STANDINGS,
    UNIT_WORDS,
    WANTED_FOR,
    check_within_whole,
)

G_PER_KG = Decimal(1000)
SORTS = tuple(each for each in WANTED_FOR if each != "melt")
"""What may be held as a ledger begins."""

MASS_WANTED_FOR = MappingProxyType(
    {
        "heel": "hopper_rise",
        "load": "hopper_rise",
        "concentrate": "table_product",
        "middlings": "table_product",
        "tails": "table_product",
        "magnetics": "table_product",
        "slag": "slag",
        "skull": "slag",
        "sweepings": "slag",
        "sample": "bar",
        "bar": "bar",
    }
)
"""What each sort of opening stock was weighed as; the others as a lot."""


@dataclass(frozen=True, kw_only=True)
class EstimateRow:
    """Metal in what cannot be weighed and assayed."""

    gold_g: Decimal = fields.number("Gold", "g")
    gold_u_g: Decimal = fields.number("Standard uncertainty of the gold", "g")
    silver_g: Decimal = fields.number("Silver", "g")
    silver_u_g: Decimal = fields.number("Standard uncertainty of the silver", "g")
    method: str = fields.text("Method", help="How it was estimated")


@dataclass(frozen=True, kw_only=True)
class ContentRow:
    """An assay of opening stock."""

    assay: str = fields.code("Assay", help="The laboratory's number")
    sample: str = fields.code("Sample")
    standing: str = fields.choice("Standing", STANDINGS)
    unit: str = fields.choice("Unit", tuple(PERMILLE_PER_UNIT), is_figure=True)
    gold: Decimal = fields.number("Gold", "")
    silver: Decimal = fields.number("Silver", "")
    laboratory: str = fields.code("Laboratory", table="place")
    method: str = fields.choice("Method", METHODS)
    sampler: str = fields.code("Sampler")


@dataclass(frozen=True, kw_only=True)
class StockRow:
    """One thing held as the ledger begins."""

    item: str = fields.code("Item", help="A new id")
    sort: str = fields.choice("Sort", SORTS)
    step: str = fields.choice("Held by step", STEPS)
    source: str = fields.choice("Source", ("gravity", "other", "mixed"))
    place: str = fields.code("Place", table="place")
    vessel: str | None = fields.code("Vessel", table="vessel", optional=True)
    label: str | None = fields.text("Label", optional=True, help="A bar's number")
    net: Reading | None = fields.reading("Net mass", optional=True)
    content: ContentRow | None = fields.one("Assay", ContentRow, optional=True)
    estimate: EstimateRow | None = fields.one("Estimate", EstimateRow, optional=True)
    dry_kg: Decimal | None = fields.number(
        "Dry solids in the hopper", "kg", optional=True, help="Of a hopper's heel"
    )
    dry_u_kg: Decimal | None = fields.number(
        "Standard uncertainty of the solids", "kg", optional=True
    )


@dataclass(frozen=True, kw_only=True)
class LastFlushRow:
    """The last flush of a unit before the ledger began."""

    unit: str = fields.code("Unit", table="concentrator")
    counter_epoch: int = fields.whole("Counter epoch", low=1)
    last_flush: int = fields.whole("Last flush")


@kind("stock.opened", group="opening", title="Opening stock", can_void=True)
@dataclass(frozen=True, kw_only=True)
class StockOpened(Statement):
    """What the room holds as the ledger begins."""

    stock: tuple[StockRow, ...] = fields.rows("Stock", StockRow, optional=True)
    last_flushes: tuple[LastFlushRow, ...] = fields.rows(
        "Last flushes", LastFlushRow, optional=True
    )
    last_bar_number: str | None = fields.code("Last bar number", optional=True)

    def check(self, act: Act, state: State) -> None:
        """Refuse ids in use, unknown places, and counts that have moved already."""
        if not (self.stock or self.last_flushes or self.last_bar_number):
            raise BadField(
                "stock: nothing is said. Write what is held, the last flushes, or the"
                " last bar number.",
                field="stock",
            )
        check_new_items(
            state, [(row.item, f"stock[{n}].item") for n, row in enumerate(self.stock)]
        )
        for n, row in enumerate(self.stock):
            the(state, Place, row.place, f"stock[{n}].place")
            if row.vessel is not None:
                the(state, Vessel, row.vessel, f"stock[{n}].vessel")
            if row.content is not None:
                lab = row.content.laboratory
                the(state, Place, lab, f"stock[{n}].content.laboratory")
            _check_not_read(state, row, f"stock[{n}]")
        for n, last in enumerate(self.last_flushes):
            _check_not_counting(state, last, f"last_flushes[{n}]")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse rows without figures, impossible readings, contents over the whole."""
        for n, row in enumerate(self.stock):
            _check_said_once(state, row, f"stock[{n}]")
            if row.net is not None:
                check_taken(state, act, row.net, f"stock[{n}].net")
            if row.content is not None:
                _check_content(row.content, f"stock[{n}].content")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the items without a crossing, their figures, and the last numbers."""
        for row in self.stock:
            new = moves.NewItem(
                item=row.item,
                sort=row.sort,
                step=row.step,
                place=row.place,
                vessel=row.vessel or "",
                source=row.source,
                label=row.label or "",
                is_opening=True,
            )
            yield from moves.make(state, act, new)
            if row.label and row.sort == "bar":
                name = stamp_marker(row.label)
                yield Marker(name=name, value=row.item, entry=act.entry)
        yield from self._levels(act, state)
        yield from self.measures(act, state)
        for row in self.stock:
            yield from weighed_notices(state, act, (row.net,), row.item)
        for last in self.last_flushes:
            unit = the(state, Concentrator, last.unit, "unit")
            yield replace(
                unit, counter_epoch=last.counter_epoch, last_flush=last.last_flush
            )
        if self.last_bar_number is not None:
            yield Marker(
                name="last_bar_number", value=self.last_bar_number, entry=act.entry
            )

    def _levels(self, act: Act, state: State) -> Iterator[Vessel]:
        """Yield each hopper with the heel that its next load rises from."""
        for row in self.stock:
            if row.dry_kg is not None and row.vessel is not None:
                hopper = the(state, Vessel, row.vessel, "vessel")
                u_g = (row.dry_u_kg or Decimal(0)) * G_PER_KG
                level = levels.heel_left(
                    act, hopper, dry_g=row.dry_kg * G_PER_KG, u_g=u_g
                )
                yield replace(hopper, last_level=level)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield each thing's mass and assay, or its estimate."""
        for n, row in enumerate(self.stock):
            if row.net is not None and row.content is not None:
                yield from _weighed_and_assayed(state, act, row, f"stock[{n}]")
            if row.estimate is not None:
                metal = figures.Metal(
                    gold_g=row.estimate.gold_g,
                    gold_u_g=row.estimate.gold_u_g,
                    silver_g=row.estimate.silver_g,
                    silver_u_g=row.estimate.silver_u_g,
                )
                yield from figures.estimate(
                    state, act, item=row.item, metal=metal, method=row.estimate.method
                )
            if act.corrects_entry and row.dry_kg is not None and row.vessel is not None:
                yield from levels.reread(
                    state,
                    act,
                    row.vessel,
                    reading_id=levels.heel_reading(act, row.vessel),
                    grams=row.dry_kg * G_PER_KG,
                )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        held = "; ".join(
            f"{row.sort} {row.item} in {row.vessel or row.place} ({_words(row)})"
            for row in self.stock
        )
        counts = ", ".join(
            f"{row.unit} at flush {row.last_flush}" for row in self.last_flushes
        )
        parts = [f"Opening stock: {held or 'nothing held'}."]
        if counts:
            parts.append(f"Counters: {counts}.")
        if self.last_bar_number:
            parts.append(f"Last bar number: {self.last_bar_number}.")
        return " ".join(parts)


def _check_said_once(state: State, row: StockRow, field: str) -> None:
    """Refuse a row with no figures, with both sorts, or a heel that has no solids."""
    is_weighed = row.net is not None and row.content is not None
    is_half = (row.net is None) != (row.content is None)
    if is_half or is_weighed == (row.estimate is not None):
        raise BadField(
            f"{field}.net: nothing tells the metal of {row.item}, or two things do."
            " Write its net mass with its assay, or an estimate, and not both.",
            field=f"{field}.net",
        )
    vessel = state.get(Vessel, row.vessel) if row.vessel else None
    is_in_hopper = vessel is not None and vessel.sort == "hopper"
    if is_in_hopper != (row.dry_kg is not None) or (row.dry_kg is None) != (
        row.dry_u_kg is None
    ):
        raise BadField(
            f"{field}.dry_kg: what lies in a hopper needs its dry solids and their"
            " uncertainty, for the next load is what rises above them; nothing else"
            " has them. Write both, or leave both out.",
            field=f"{field}.dry_kg",
        )


def _check_not_read(state: State, row: StockRow, field: str) -> None:
    vessel = state.get(Vessel, row.vessel) if row.vessel else None
    if vessel is not None and vessel.last_level is not None:
        raise NotInThisState(
            f"{field}.vessel: {row.vessel} was read before; its heel is known already."
            " Leave it out.",
            field=f"{field}.vessel",
        )


def _check_not_counting(state: State, row: LastFlushRow, field: str) -> None:
    unit = the(state, Concentrator, row.unit, f"{field}.unit")
    check_flushes(unit, f"{field}.unit")
    if unit.last_flush or unit.last_cycle:
        raise NotInThisState(
            f"{field}.last_flush: flushes of {row.unit} are counted here already, up"
            f" to {max(unit.last_flush, unit.last_cycle)}. Opening numbers come before"
            " the first: leave this out.",
            field=f"{field}.last_flush",
        )


def _check_content(content: ContentRow, field: str) -> None:
    for metal in ("gold", "silver"):
        found = getattr(content, metal)
        check_within_whole(found, content.unit, f"{field}.{metal}")


def _weighed_and_assayed(
    state: State, act: Act, row: StockRow, path: str
) -> Iterator[Record]:
    assert row.net is not None
    assert row.content is not None
    read = figures.term(
        state,
        act,
        path=f"{path}.net",
        instrument=row.net.instrument,
        grams=row.net.grams,
    )
    yield from figures.mass(
        state,
        act,
        item=row.item,
        terms=(read,),
        wanted_for=MASS_WANTED_FOR.get(row.sort, "lot"),
    )
    said = row.content
    yield from figures.assay(
        state,
        act,
        item=row.item,
        content=figures.Content(unit=said.unit, gold=said.gold, silver=said.silver),
        origin=figures.Origin(
            assay_id=said.assay,
            sample=said.sample,
            standing=said.standing,
            laboratory=said.laboratory,
            method=said.method,
            sampler=said.sampler,
            wanted_for=WANTED_FOR[row.sort],
        ),
    )


def _words(row: StockRow) -> str:
    if row.net is not None and row.content is not None:
        unit = UNIT_WORDS[row.content.unit]
        return (
            f"{row.net} net at {row.content.gold} {unit} gold and"
            f" {row.content.silver} {unit} silver"
        )
    assert row.estimate is not None
    return (
        f"estimated {row.estimate.gold_g} g of gold and {row.estimate.silver_g} g of"
        f" silver by {row.estimate.method}"
    )
