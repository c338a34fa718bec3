"""The shaking table: lots and middlings become concentrate, middlings and tails.

Concentrate passes to the smelt's balance. Middlings, tails and magnetics are kept
for another pass or a leach, or go back to the mill, where their gold was counted
once already when it was flushed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import Moisture, mass
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.moves import NewItem
from goldroom.custody.reading import Reading
from goldroom.custody.records import Instrument, Record, Vessel
from goldroom.custody.rules import check_new_items, item_at_hand, pass_on, source_of
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    net_terms,
    weighed_notices,
)
from goldroom.errors import MoistureOver100
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
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
from goldroom.statements.wording import listed

FED = ("lot", "middlings", "tails", "magnetics", "residue", "other")
PRODUCTS = ("concentrate", "middlings", "tails", "magnetics")


@dataclass(frozen=True, kw_only=True)
class ProductRow:
    """One product of a run: what it is, what it weighed, where it went."""

    item: str = fields.code("Product id", help="A new id, never used before")
    product: str = fields.choice("Product", PRODUCTS)
    gross: Reading = fields.reading("Gross mass")
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Water as a share of the wet mass; leave out for a dry product",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)
    vessel: str | None = fields.code(
        "Vessel", table="vessel", optional=True, help="What it was weighed in"
    )
    goes_to: str = fields.choice(
        "Goes to", ("kept", "mill"), help="Kept in its vessel, or back to the mill"
    )

    @property
    def weighed(self) -> Weighed:
        """Return the weighing."""
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.vessel or "")


@kind("table.run", group="room", title="Table run", can_void=True)
@dataclass(frozen=True, kw_only=True)
class TableRun(Statement):
    """One run of a table over lots or middlings, and all that came off it."""

    table: str = fields.code("Table", table="vessel")
    feed: tuple[str, ...] = fields.codes(
        "Fed", table="item", help="Lots, middlings of an earlier run, other metal"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    products: tuple[ProductRow, ...] = fields.rows("Products", ProductRow, most=40)
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse feed not at hand, ids used before, vessels not opened."""
        table = the(state, Vessel, self.table, "table")
        if table.sort != "table":
            raise wrong_sort("table", self.table, table.sort, "a table")
        check_openings(state, self.opened, self.closed)
        for n, item_id in enumerate(self.feed):
            item = item_at_hand(state, item_id, f"feed[{n}]", sorts=FED)
            check_taken_out(state, item, self.opened, f"feed[{n}]")
        check_new_items(
            state,
            [(row.item, f"products[{n}].item") for n, row in enumerate(self.products)],
        )
        for n, row in enumerate(self.products):
            self._check_destination(state, row, f"products[{n}]")
        self.check_figures(act, state)

    def _check_destination(self, state: State, row: ProductRow, path: str) -> None:
        if row.oven is not None:
            the(state, Instrument, row.oven, f"{path}.oven")
        if row.goes_to == "mill" and row.product == "concentrate":
            raise BadField(
                f"{path}.goes_to: {row.item} is concentrate and goes to the smelt."
                " Write kept, or say what product it is.",
                field=f"{path}.goes_to",
            )
        if row.goes_to == "kept" and row.vessel is None:
            raise BadField(
                f"{path}.vessel: {row.item} is kept, but in no vessel. Write the"
                " vessel it is in.",
                field=f"{path}.vessel",
            )
        if row.vessel is not None:
            check_reached(state, row.vessel, self.opened, f"{path}.vessel")

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be."""
        for n, row in enumerate(self.products):
            path = f"products[{n}]"
            check_weighed(state, act, row.weighed, f"{path}.gross", f"{path}.tare")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the feed's end, the products, their masses, and what leaves."""
        place = _place_of(state, self.table)
        source = source_of(state, self.feed)
        yield from open_vessels(state, act, self.opened)
        for item_id in self.feed:
            yield from pass_on(state, act, item_id, "table")
        yield from moves.use_up(state, act, self.feed)
        yield from close_vessels(state, act, self.closed)
        for row in self.products:
            is_kept = row.goes_to == "kept"
            new = NewItem(
                item=row.item,
                sort=row.product,
                step="smelt" if row.product == "concentrate" else "table",
                from_step="table",
                place=place,
                vessel=row.vessel or "" if is_kept else "",
                parents=self.feed,
                source=source,
            )
            yield from moves.make(state, act, new)
        yield from self.measures(act, state)
        for row in self.products:
            yield from weighed_notices(state, act, (row.gross, row.tare), row.item)
        to_mill = [row.item for row in self.products if row.goes_to == "mill"]
        yield from moves.leave(state, act, to_mill, where_to="mill")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield each product's mass."""
        for n, row in enumerate(self.products):
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, row.weighed, f"products[{n}]"),
                wanted_for="table_product",
                moisture=_moisture(act, row, f"products[{n}].moisture"),
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        made = [
            f"{row.product} {row.item} ({row.gross} gross{_wet_words(row)},"
            f" {_destination_words(row)})"
            for row in self.products
        ]
        return (
            f"Table {self.table} ran {listed(self.feed)} and gave {listed(made)}."
            + openings_words(self.opened, self.closed)
        )


def _place_of(state: State, vessel_id: str) -> str:
    vessel = state.get(Vessel, vessel_id)
    assert vessel is not None
    return vessel.place


def _moisture(act: Act, row: ProductRow, path: str) -> Moisture | None:
    if row.moisture_percent is None:
        return None
    return Moisture(
        percent=row.moisture_percent,
        determination=f"{act.measured_in}.{path}",
        oven=row.oven or "",
    )


def _wet_words(row: ProductRow) -> str:
    if row.moisture_percent is None:
        return ""
    return f", {row.moisture_percent} % moisture"


def _destination_words(row: ProductRow) -> str:
    return "back to the mill" if row.goes_to == "mill" else f"kept in {row.vessel}"
