"""Slag and skulls: metal with an estimate, until two people release it.

Slag is crushed, prills are taken out, the rest goes back to the mill, seldom
assayed first: so it carries an estimate with its uncertainty, never nothing. To
leave the site it needs an assay. Slag released to the smelt stays held there, for a
later charge. (Common practice, no source.)
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import estimate, mass
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Record
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    net_terms,
    weighed_notices,
)
from goldroom.errors import AssayMissing, EstimateMissing
from goldroom.statements import fields
from goldroom.statements.estimating import check_never_exact, metal_of
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

SLAGS = ("slag", "skull")
DESTINATIONS = ("mill", "smelt", "offsite")


@kind("slag.weighed", group="room", title="Slag weighed", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SlagWeighed(Statement):
    """Slag or a skull weighed, with what is thought to be in it."""

    item: str = fields.code("Slag", table="item")
    gross: Reading = fields.reading(
        "Gross mass", help="Cool it first; label it while it is hot"
    )
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    vessel: str | None = fields.code("Vessel", table="vessel", optional=True)
    gold_g: Decimal = fields.number("Gold, estimated", "g")
    gold_u_g: Decimal = fields.number("Gold, standard uncertainty", "g")
    silver_g: Decimal = fields.number("Silver, estimated", "g")
    silver_u_g: Decimal = fields.number("Silver, standard uncertainty", "g")
    method: str = fields.text("How estimated", help="From earlier slags, panned ...")
    opened: tuple[OpenedRow, ...] = opened_field()
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse slag not at hand, sealed vessels, and figures that cannot be."""
        item = item_at_hand(state, self.item, "item", sorts=SLAGS)
        check_openings(state, self.opened, self.closed)
        check_taken_out(state, item, self.opened, "item")
        if self.vessel is not None:
            check_reached(state, self.vessel, self.opened, "vessel")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and an estimate without uncertainty."""
        check_weighed(state, act, self._weighed(), "gross", "tare")
        check_never_exact(self)

    def _weighed(self) -> Weighed:
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.vessel or "")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield where the slag is, its mass and its estimate."""
        yield from open_vessels(state, act, self.opened)
        if self.vessel is not None:
            yield from moves.put_into(state, act, (self.item,), self.vessel)
        yield from close_vessels(state, act, self.closed)
        yield from self.measures(act, state)
        yield from weighed_notices(state, act, (self.gross, self.tare), self.item)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the mass and the estimate."""
        yield from mass(
            state,
            act,
            item=self.item,
            terms=net_terms(state, act, self._weighed(), "slag"),
            wanted_for="slag",
        )
        metal = metal_of(self)
        yield from estimate(state, act, item=self.item, metal=metal, method=self.method)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Slag {self.item} weighed {self.gross} gross; it is thought to hold"
            f" {self.gold_g} g of gold (± {self.gold_u_g}) and {self.silver_g} g of"
            f" silver (± {self.silver_u_g}): {self.method}."
            + openings_words(self.opened, self.closed)
        )


@kind("slag.released", group="room", title="Slag released", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SlagReleased(Statement):
    """Slag or a skull let go: to the mill, to the smelt again, or off the site."""

    item: str = fields.code("Slag", table="item")
    goes_to: str = fields.choice("Goes to", DESTINATIONS)
    receiver: str | None = fields.text(
        "Receiver", optional=True, help="Who takes it, when it leaves the site"
    )
    opened: tuple[OpenedRow, ...] = opened_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse release without mass and estimate, or off site without an assay."""
        item = item_at_hand(state, self.item, "item", sorts=SLAGS)
        check_openings(state, self.opened, ())
        check_taken_out(state, item, self.opened, "item")
        if item.masses == 0 or (item.estimates == 0 and item.assays == 0):
            raise EstimateMissing(
                f"item: {self.item} has no mass or no estimate of its metal. Weigh it"
                " and say what is thought to be in it, then release it.",
                field="item",
            )
        if self.goes_to == "offsite" and item.assays == 0:
            raise AssayMissing(
                f"item: {self.item} has no assay; slag leaves the site only with one."
                " Have it assayed first.",
                field="item",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the slag's leaving, or its staying in the smelt for a later charge."""
        yield from open_vessels(state, act, self.opened)
        if self.goes_to != "smelt":
            yield from moves.leave(state, act, (self.item,), where_to=self.goes_to)
            return
        item = state.get(Item, self.item)
        assert item is not None
        yield from moves.set_down(state, act, (self.item,), item.place)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        where = {
            "mill": "back to the mill",
            "smelt": "to be smelted again",
            "offsite": "to leave the site",
        }[self.goes_to]
        by = f", taken by {self.receiver}" if self.receiver else ""
        return f"Slag {self.item} was released {where}{by}." + openings_words(
            self.opened, ()
        )
