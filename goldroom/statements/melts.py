"""The refinery's melt: bars become one melt, which leaves with its own figures.

Outturn is per melt, often of several bars. The bars are used up; the melt crosses
out of the vault's balance with the refinery's mass after melting and the refinery's
assay, so that balance shows what the melting took. The refinery's balance is not
registered here: its readings stand under the refinery's own name.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.dealings import Outturn
from goldroom.custody.figures import Content, Origin, assay, mass, term
from goldroom.custody.lookups import held_item
from goldroom.custody.moves import NewItem
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Record, Shipment
from goldroom.custody.rules import check_new_items, source_of
from goldroom.custody.state import State
from goldroom.errors import FinenessOver1000, NotInThisState
from goldroom.metal.assay import fineness_sum
from goldroom.statements import fields
from goldroom.statements.kind import Statement, kind
from goldroom.statements.shipments import (
    bars_g,
    mass_notice,
    shipment_in,
    shipped_items,
)
from goldroom.statements.wording import listed

STANDINGS = ("provisional", "refiner", "final")


@kind(
    "dispatch.melted",
    group="shipping",
    title="Melted at the refinery",
    can_void=True,
)
@dataclass(frozen=True, kw_only=True)
class DispatchMelted(Statement):
    """One melt of shipped bars, with the refinery's mass and assay."""

    shipment: str = fields.code("Shipment", table="shipment")
    melt: str = fields.code("Melt id", help="A new id; the refinery's melt number")
    items: tuple[str, ...] = fields.codes("Bars melted", table="item")
    as_received_g: Decimal | None = fields.number(
        "These bars as received", "g", optional=True
    )
    after_melt_g: Decimal = fields.number("Mass after melting", "g")
    gold_permille: Decimal = fields.number(
        "Gold", "‰", high="1000", above_high=FinenessOver1000
    )
    silver_permille: Decimal = fields.number(
        "Silver", "‰", high="1000", above_high=FinenessOver1000
    )
    standing: str = fields.choice(
        "Standing", STANDINGS, help="The refinery's first figure, or settled"
    )
    sample: str = fields.code("Sample", help="Number of the melt's sample")
    report: str = fields.text("Report", help="Number, and name of the attachment")

    def check(self, act: Act, state: State) -> None:
        """Refuse a shipment not handed over, and bars that are not of it."""
        shipment = shipment_in(state, self.shipment, ("handed_over", "received"))
        check_new_items(state, [(self.melt, "melt")])
        shipped = shipped_items(shipment)
        for n, item_id in enumerate(self.items):
            field = f"items[{n}]"
            held_item(state, item_id, field, sorts=("bar",))
            if item_id not in shipped:
                raise NotInThisState(
                    f"{field}: {item_id} is not in shipment {self.shipment}, which"
                    f" holds {listed(shipped)}. Check the refinery's list.",
                    field=field,
                )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the bars' end, and the melt leaving with its figures."""
        shipment = state.get(Shipment, self.shipment)
        assert shipment is not None
        yield from mass_notice(
            state,
            act,
            item=self.shipment,
            found_g=self.as_received_g,
            expected_g=bars_g(state, self.items),
        )
        yield from moves.use_up(state, act, self.items)
        new = NewItem(
            item=self.melt,
            sort="melt",
            step="vault",
            from_step="vault",
            place=shipment.refinery,
            parents=self.items,
            source=source_of(state, self.items),
            label=f"melt of {self.shipment}",
        )
        yield from moves.make(state, act, new)
        yield from self.measures(act, state)
        yield from moves.leave(state, act, (self.melt,), where_to="refinery")
        if all(_is_melted(state, each) for each in shipped_items(shipment)):
            yield replace(shipment, status="melted")

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the melt's mass and assay, and metals that exceed the whole."""
        shipment = state.get(Shipment, self.shipment)
        assert shipment is not None
        yield self._outturn(act, state, shipment)
        weighed = term(
            state,
            act,
            path="after_melt",
            instrument=shipment.refinery,
            grams=self.after_melt_g,
        )
        yield from mass(state, act, item=self.melt, terms=(weighed,), wanted_for="melt")
        origin = Origin(
            assay_id=f"{act.measured_in}.melt",
            sample=self.sample,
            standing=self.standing,
            laboratory=shipment.refinery,
            method="fire_assay",
            sampler=shipment.refinery,
            wanted_for="melt",
        )
        content = Content(
            unit="permille", gold=self.gold_permille, silver=self.silver_permille
        )
        yield from assay(state, act, item=self.melt, content=content, origin=origin)
        both = fineness_sum(
            {"gold": self.gold_permille, "silver": self.silver_permille}
        )
        if both.finding is not None:
            yield notice(
                state,
                act,
                both.finding,
                item=self.melt,
                found=f"{both.total_permille} parts per thousand",
                expected="at most 1000 together",
                message=f"the metals of melt {self.melt} add up to more than the whole",
            )

    def _outturn(self, act: Act, state: State, shipment: Shipment) -> Outturn:
        """Return the melt as mine and refinery deal with it; a correction keeps what
        was said of it since.
        """
        before = state.get(Outturn, self.melt)
        if before is not None:
            return replace(
                before, as_received_g=self.as_received_g, known_at=act.known_at
            )
        return Outturn(
            melt=self.melt,
            shipment=self.shipment,
            refinery=shipment.refinery,
            items=self.items,
            as_received_g=self.as_received_g,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        received = (
            f" ({self.as_received_g} g as received)" if self.as_received_g else ""
        )
        return (
            f"The refinery melted {listed(self.items)} of shipment {self.shipment}"
            f"{received} into {self.melt}: {self.after_melt_g} g after melting, at"
            f" {self.gold_permille} ‰ gold and {self.silver_permille} ‰ silver"
            f" ({self.standing}, {self.report})."
        )


def _is_melted(state: State, item_id: str) -> bool:
    item = state.get(Item, item_id)
    return item is not None and item.status == "consumed"
