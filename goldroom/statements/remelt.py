"""Bars melted again: back from the vault into a charge, their numbers closed.

A bar that is not homogeneous, is damaged or must be split goes back into the furnace,
alone or with other sources. It passes from the vault's balance to the smelt's with
its own newest mass and assay; its stamped number is closed for good. Pouring and
numbering then go on as for any charge: what is cast bears new numbers.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody.act import Act
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Marker, Record
from goldroom.custody.rules import check_new_items
from goldroom.custody.state import State
from goldroom.statements import fields
from goldroom.statements.bars import closed_marker
from goldroom.statements.charges import (
    FluxRow,
    SourceRow,
    check_furnace,
    check_source_figures,
    check_sources,
    flux_words,
    fluxes_field,
    make_charge,
    source_masses,
    source_notices,
    source_words,
)
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    ClosedRow,
    OpenedRow,
    check_openings,
    check_taken_out,
    close_vessels,
    closed_field,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.shipments import check_numbered
from goldroom.statements.wording import listed, used_before

REASONS = ("not_homogeneous", "split_for_shipping", "damaged", "other")
REASON_WORDS = {
    "not_homogeneous": "not homogeneous",
    "split_for_shipping": "to be split for shipping",
    "damaged": "damaged",
}


@dataclass(frozen=True, kw_only=True)
class BarBackRow:
    """A bar going back into the furnace, with the number read off it."""

    item: str = fields.code("Bar", table="item")
    stamped: str = fields.code("Stamped number", help="Read it off the bar")


@kind("remelt.charged", group="room", title="Bars charged again", can_void=True)
@dataclass(frozen=True, kw_only=True)
class RemeltCharged(Statement):
    """Numbered bars put back into a charge, alone or with other sources, and why."""

    charge: str = fields.code("Charge id", help="A new id, never used before")
    furnace: str = fields.code("Furnace", table="vessel")
    crucible: str = fields.text("Crucible", help="Its mark")
    crucible_uses: int = fields.whole(
        "Earlier uses of the crucible", high=10000, help="0 for a new one"
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    bars: tuple[BarBackRow, ...] = fields.rows(
        "Bars", BarBackRow, most=50,
        help="Dry and preheated: water under metal explodes",
    )  # fmt: skip
    sources: tuple[SourceRow, ...] = fields.rows(
        "Other sources", SourceRow, optional=True, most=100
    )
    fluxes: tuple[FluxRow, ...] = fluxes_field()
    reason: str = fields.choice("Reason", REASONS)
    detail: str | None = fields.text(
        "What was found", optional=True, help="Needed where the reason is another"
    )
    closed: tuple[ClosedRow, ...] = closed_field()

    def check(self, act: Act, state: State) -> None:
        """Refuse bars without a number, on their way or sealed in, and used sources."""
        check_new_items(state, [(self.charge, "charge")])
        check_furnace(state, self.furnace, self.opened)
        check_openings(state, self.opened, self.closed)
        if self.reason == "other" and self.detail is None:
            raise BadField(
                "detail: the reason is another one; write which, so that whoever reads"
                " this knows why a numbered bar went back into the furnace.",
                field="detail",
            )
        named: set[str] = set()
        for n, row in enumerate(self.bars):
            path = f"bars[{n}].item"
            item = check_numbered(state, row.item, path)
            if row.item in named:
                raise BadField(
                    f"{path}: {row.item} is listed twice. Write one row for it.",
                    field=path,
                )
            named.add(row.item)
            check_taken_out(state, item, self.opened, path)
        check_sources(state, self.sources, self.opened)
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse dry readings that cannot be."""
        check_source_figures(act, state, self.sources)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the numbers closed, bars and sources in the charge, and the charge."""
        yield from open_vessels(state, act, self.opened)
        for row in self.bars:
            yield from self._close_number(act, state, row)
        yield from source_notices(act, state, self.sources)
        yield from self.measures(act, state)
        names = (*(bar.item for bar in self.bars), *(row.item for row in self.sources))
        yield from make_charge(
            act, state, charge=self.charge, furnace=self.furnace, names=names
        )
        yield from close_vessels(state, act, self.closed)

    def _close_number(
        self, act: Act, state: State, row: BarBackRow
    ) -> Iterator[Record]:
        """Yield the bar's number closed, and a finding if another was read off it."""
        item = state.get(Item, row.item)
        assert item is not None
        number = item.label
        yield Marker(name=closed_marker(number), value=self.charge, entry=act.entry)
        if row.stamped != number:
            yield notice(
                state,
                act,
                "stamped_number_differs",
                item=row.item,
                found=row.stamped,
                expected=number,
                message=f"the number read off {row.item} before it was melted again is"
                " not the one on record",
            )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the dry masses of the sources that were weighed again."""
        yield from source_masses(act, state, self.sources)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        bars = [f"{row.item} (stamped {row.stamped})" for row in self.bars]
        others = (
            f", together with {listed(source_words(self.sources))},"
            if self.sources
            else ""
        )
        why = [REASON_WORDS[self.reason]] if self.reason != "other" else []
        why += [self.detail] if self.detail else []
        their = "Its number is" if len(self.bars) == 1 else "Their numbers are"
        return (
            f"Charge {self.charge} was made up from {listed(bars)}{others}"
            f"{flux_words(self.fluxes)}, to be melted again in furnace {self.furnace},"
            f" crucible {self.crucible} ({used_before(self.crucible_uses)}):"
            f" {', '.join(why)}. {their} closed."
            + openings_words(self.opened, self.closed)
        )
