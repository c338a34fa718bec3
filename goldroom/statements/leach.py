"""The intensive leach: solids are charged into a vessel as one batch.

A batch is a holder: what is charged is used up into it and crosses to the leach's
balance; what is drawn off lessens it. So what should still be in the vessel is known
by difference at any time.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.figures import Moisture, mass
from goldroom.custody.leach import LeachBatch
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.moves import NewItem
from goldroom.custody.names import any_of
from goldroom.custody.notices import notice
from goldroom.custody.records import Instrument, Item, Record, Vessel
from goldroom.custody.rules import check_new_items, item_at_hand, source_of
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    check_weighed,
    net_g,
    net_terms,
    weighed_notices,
)
from goldroom.errors import EstimateMissing, NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.leach_rows import (
    LeachSourceRow,
    ReagentRow,
)
from goldroom.statements.leaching import (
    alkalinity_notices,
    charged_dry_g,
    dry_in_book_g,
    reagent_notices,
    reagents_issued,
)
from goldroom.statements.limits import limit_value
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
from goldroom.statements.wording import kilograms, listed

LEACHED = (
    "lot", "middlings", "tails", "magnetics", "concentrate", "sweepings", "slag",
    "skull", "other", "residue", "solution",
)  # fmt: skip
"""Sorts that a batch is charged with; a solution is a barren one, used again."""

MILLED_SLAG = ("slag", "skull")


@kind("leach.charged", group="room", title="Leach charged", can_void=True)
@dataclass(frozen=True, kw_only=True)
class LeachCharged(Statement):
    """Solids, solution used again and reagents put into a leach vessel as one batch."""

    batch: str = fields.code("Batch id", help="A new id, never used before")
    vessel: str = fields.code("Leach vessel", table="vessel")
    opened: tuple[OpenedRow, ...] = opened_field()
    sources: tuple[LeachSourceRow, ...] = fields.rows(
        "Sources", LeachSourceRow, most=100
    )
    solids_t: Decimal | None = fields.number(
        "Dry solids, as the vessel shows", "t", high="1000", optional=True,
        is_figure=False, help="By level and density: to compare with the weighings",
    )  # fmt: skip
    water_l: Decimal | None = fields.number(
        "Fresh water", "L", optional=True, is_figure=False
    )
    reagents: tuple[ReagentRow, ...] = fields.rows(
        "Reagents", ReagentRow, optional=True, most=20,
        help="In the order of the site's cyanide procedure: alkali first",
    )  # fmt: skip
    target_ph: Decimal = fields.number("Target pH", "", high="14", is_figure=False)
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse sources used already, a vessel with a batch in it, sealed vessels."""
        check_new_items(state, [(self.batch, "batch")])
        self._check_vessel(state)
        check_openings(state, self.opened, self.closed)
        named: set[str] = set()
        for n, row in enumerate(self.sources):
            path = f"sources[{n}].item"
            item = item_at_hand(state, row.item, path)
            self._check_source(item, path)
            if row.item in named:
                raise BadField(
                    f"{path}: {row.item} is listed twice. Write one row for it.",
                    field=path,
                )
            named.add(row.item)
            check_taken_out(state, item, self.opened, path)
        self.check_figures(act, state)

    def _check_vessel(self, state: State) -> None:
        vessel = check_reached(state, self.vessel, self.opened, "vessel")
        if vessel.sort != "leach_vessel":
            raise wrong_sort(
                "vessel",
                self.vessel,
                vessel.sort,
                "a leach vessel",
                remedy="Name the vessel that the batch was charged into.",
            )
        for item_id in vessel.contents:
            held = state.get(Item, item_id)
            if held is not None and held.sort == "leach_batch":
                raise NotInThisState(
                    f"vessel: {self.vessel} still holds {item_id}: the batch before is"
                    " still in it. Say that its residue was taken out, then charge.",
                    field="vessel",
                )

    def _check_source(self, item: Item, path: str) -> None:
        if item.sort not in LEACHED:
            raise wrong_sort(path, item.item, item.sort, any_of(LEACHED))
        has_metal = item.masses and (item.estimates or item.assays)
        if item.sort in MILLED_SLAG and not has_metal:
            raise EstimateMissing(
                f"{path}: {item.item} has no mass or no estimate of its metal. Weigh"
                " it and say what is thought to be in it, then leach it.",
                field=path,
            )

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and a mass of what has a volume."""
        for n, row in enumerate(self.sources):
            path = f"sources[{n}]"
            item = state.get(Item, row.item)
            if row.weighed is None:
                extra = (row.tare, row.moisture_percent, row.oven)
                if any(each is not None for each in extra):
                    raise BadField(
                        f"{path}.gross: there is a tare or moisture of {row.item} but"
                        " no gross. Write it too, or none of them.",
                        field=f"{path}.gross",
                    )
                continue
            if item is not None and item.sort == "solution":
                raise BadField(
                    f"{path}.gross: {row.item} is a solution and goes by its volume."
                    " Leave its mass out.",
                    field=f"{path}.gross",
                )
            check_weighed(state, act, row.weighed, f"{path}.gross", f"{path}.tare")
            if row.oven is not None:
                the(state, Instrument, row.oven, f"{path}.oven")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the batch in its vessel, the sources put into it, and what is seen."""
        names = tuple(row.item for row in self.sources)
        vessel = state.get(Vessel, self.vessel)
        assert vessel is not None
        yield from open_vessels(state, act, self.opened)
        for row in self.sources:
            yield from _mass_notices(state, act, row)
        yield from self.measures(act, state)
        new = NewItem(
            item=self.batch,
            sort="leach_batch",
            step="leach",
            from_step="leach",
            vessel=self.vessel,
            source=source_of(state, names),
        )
        yield from moves.make(state, act, new)
        yield from moves.put_in(state, act, names, self.batch)
        yield LeachBatch(
            batch=self.batch,
            vessel=self.vessel,
            status="leaching",
            target_ph=self.target_ph,
            at=act.at,
            entry=act.entry,
        )
        yield from close_vessels(state, act, self.closed)
        yield from self._solids_notices(act, state)
        yield from reagent_notices(state, act, self.batch, self.reagents)
        yield from alkalinity_notices(
            state, act, self.batch, self.target_ph, "the target pH is"
        )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the masses of sources weighed again, and the reagents."""
        for n, row in enumerate(self.sources):
            if row.weighed is None:
                continue
            path = f"sources[{n}]"
            moisture = None
            if row.moisture_percent is not None:
                moisture = Moisture(
                    percent=row.moisture_percent,
                    determination=f"{act.measured_in}.{path}.moisture",
                    oven=row.oven or "",
                )
            yield from mass(
                state,
                act,
                item=row.item,
                terms=net_terms(state, act, row.weighed, path),
                wanted_for="leach_charge",
                moisture=moisture,
            )
        yield from reagents_issued(state, act, self.batch, self.reagents, "charged")

    def _solids_notices(self, act: Act, state: State) -> Iterator[Record]:
        dry_g = charged_dry_g(state, self.batch)
        if self.solids_t is None or not dry_g:
            return
        limit_percent = limit_value(state, "leach_dry_mass_percent")
        shown_g = self.solids_t.scaleb(6)
        if abs(shown_g - dry_g) * 100 > limit_percent * dry_g:
            yield notice(
                state,
                act,
                "leach_solids_differ",
                item=self.batch,
                found=f"{self.solids_t} t of solids in {self.vessel}",
                expected=f"{kilograms(dry_g)} dry within {limit_percent} %",
                message=f"the vessel shows other solids than were weighed for"
                f" {self.batch}",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        solids = f" (about {self.solids_t} t dry)" if self.solids_t is not None else ""
        added = [f"{self.water_l} L of water"] if self.water_l is not None else []
        added += [f"{row.mass_kg} kg of {row.reagent}" for row in self.reagents]
        more = f", with {listed(added)}" if added else ""
        return (
            f"Leach batch {self.batch} was charged into {self.vessel} from"
            f" {listed(_source_words(self))}{solids}{more}; pH {self.target_ph} is"
            " aimed at." + openings_words(self.opened, self.closed)
        )


def _source_words(charged: LeachCharged) -> list[str]:
    return [
        row.item if row.gross is None else f"{row.item} ({row.gross} gross)"
        for row in charged.sources
    ]


def _mass_notices(state: State, act: Act, row: LeachSourceRow) -> Iterator[Record]:
    """Yield what a weighing at the leach shows: a drop or a gain since the last."""
    if row.weighed is None:
        return
    yield from weighed_notices(state, act, (row.gross, row.tare), row.item)
    before_g = dry_in_book_g(state, row.item)
    if not before_g:
        return
    moisture = row.moisture_percent or Decimal(0)
    dry_g = net_g(state, row.weighed) * (100 - moisture) / 100
    change_g = dry_g - before_g
    limit_percent = limit_value(state, "transfer_dry_drop_percent")
    if abs(change_g) * 100 > limit_percent * before_g:
        yield notice(
            state,
            act,
            "item_lost_mass" if change_g < 0 else "item_gained_mass",
            item=row.item,
            found=f"{dry_g} g dry",
            expected=f"{before_g} g dry within {limit_percent} %",
            message=f"the dry mass of {row.item} changed by {change_g} g",
        )
