"""Sweepings: metal found again inside the room, after the pours that lost it.

Floor sweepings, prills off tools and moulds, scrapings of a crucible. They were
missing from their pours, in the smelt's own balance, so they come out of the smelt
and are held by it: nothing enters from outside, and what was unaccounted falls by
just what they hold. Where the pours are known they are named, and the sweepings share
their sources (common practice, no source).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import check_new_item, the, wrong_sort
from goldroom.custody.moves import NewItem
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Place, Record
from goldroom.custody.rules import source_of
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    net_terms,
    weighed_notices,
)
from goldroom.errors import NotInThisState
from goldroom.statements import fields
from goldroom.statements.estimating import check_never_exact, metal_of
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.opening import EstimateRow
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_reached,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.wording import listed

WHAT = ("floor_sweepings", "skulls", "tool_scrapings", "crucible_scrapings")


@kind("sweepings.collected", group="room", title="Sweepings collected", can_void=True)
@dataclass(frozen=True, kw_only=True)
class SweepingsCollected(Statement):
    """Metal found inside the room: floor sweepings, skulls, scrapings of tools."""

    item: str = fields.code("Item", help="A new id, never used before")
    what: str = fields.choice("What it is", WHAT)
    charges: tuple[str, ...] = fields.codes(
        "Of which pours", table="item", optional=True,
        help="The charges that it was lost from, if they are known",
    )  # fmt: skip
    source: str | None = fields.choice(
        "Source", ("gravity", "other", "mixed"), optional=True,
        help="Only where no pour is named",
    )  # fmt: skip
    place: str = fields.code("Place", table="place")
    vessel: str | None = fields.code("Vessel", table="vessel", optional=True)
    gross: Reading = fields.reading("Gross mass")
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    estimate: EstimateRow = fields.one("Estimate until assayed", EstimateRow)
    opened: tuple[OpenedRow, ...] = opened_field()
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse ids in use, pours that never were, a source that nobody said."""
        check_new_item(state, self.item, "item")
        the(state, Place, self.place, "place")
        for n, charge in enumerate(self.charges):
            _check_poured(state, charge, f"charges[{n}]")
        if bool(self.charges) == (self.source is not None):
            raise BadField(
                f"source: name the pours that {self.item} was lost from, or else say"
                " what source its metal is of; not both.",
                field="source",
            )
        check_openings(state, self.opened, self.closed)
        if self.vessel is not None:
            check_reached(state, self.vessel, self.opened, "vessel")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and an estimate without uncertainty."""
        check_weighed(state, act, self._weighed(), "gross", "tare")
        check_never_exact(self.estimate, "estimate.")

    def _weighed(self) -> Weighed:
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.vessel or "")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the item, out of the smelt and held by it, and its figures."""
        yield from open_vessels(state, act, self.opened)
        new = NewItem(
            item=self.item,
            sort="sweepings",
            step="smelt",
            from_step="smelt",
            place=self.place,
            vessel=self.vessel or "",
            parents=self.charges,
            source=self.source or source_of(state, self.charges),
            label=self.what.replace("_", " "),
        )
        yield from moves.make(state, act, new)
        yield from close_vessels(state, act, self.closed)
        yield from self.measures(act, state)
        yield from weighed_notices(state, act, (self.gross, self.tare), self.item)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the mass and the estimate."""
        yield from figures.mass(
            state,
            act,
            item=self.item,
            terms=net_terms(state, act, self._weighed(), "sweepings"),
            wanted_for="slag",
        )
        yield from figures.estimate(
            state,
            act,
            item=self.item,
            metal=metal_of(self.estimate),
            method=self.estimate.method,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        row = self.estimate
        lost = (
            f"lost from {listed(self.charges)}"
            if self.charges
            else f"of pours that nobody can name; they count as {self.source} metal"
        )
        return (
            f"{self.what.replace('_', ' ').capitalize()} {self.item} were collected,"
            f" {lost}: {self.gross} gross, thought to hold {row.gold_g} g of gold (±"
            f" {row.gold_u_g}) and {row.silver_g} g of silver (± {row.silver_u_g}):"
            f" {row.method}."
        ) + openings_words(self.opened, self.closed)


def _check_poured(state: State, charge_id: str, field: str) -> None:
    """Refuse what is no charge, or was not poured."""
    charge = the(state, Item, charge_id, field)
    if charge.sort != "charge":
        raise wrong_sort(field, charge_id, charge.sort, "a charge that was poured")
    if charge.status != "consumed":
        raise NotInThisState(
            f"{field}: {charge_id} was not poured ({charge.status}), so nothing of it"
            " was lost yet. Name the pour that it was.",
            field=field,
        )
