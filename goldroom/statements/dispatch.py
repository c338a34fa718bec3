"""Dispatch: advised beforehand, handed over, received at the refinery.

Metal is handed only to the carrier's person who was advised beforehand; carriers
have no key, so their ink signature is attached and named here. Bars stay in the
vault's balance until the refinery melts them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from goldroom.custody import moves, seals
from goldroom.custody.act import Act, utc_text
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.names import plain_name
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Place, Record, Shipment, ShippedBox, Vessel
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.errors import AlreadyRegistered, CarrierNotAdvised
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.openings import (
    OpenedRow,
    check_openings,
    check_reached,
    check_seals_once,
    check_taken_out,
    open_vessels,
    opened_field,
    openings_words,
)
from goldroom.statements.sealing import (
    SealFittedRow,
    SealSeenRow,
    ceremony,
    check_ceremony,
    check_seen,
    fitted_field,
    fitted_words,
    seen_field,
    seen_words,
)
from goldroom.statements.shipments import (
    bars_g,
    check_numbered,
    list_differs,
    mass_notice,
    shipment_in,
    shipped_items,
)
from goldroom.statements.wording import listed, wall_clock


@kind("dispatch.advised", group="shipping", title="Dispatch advised", can_void=True)
@dataclass(frozen=True, kw_only=True)
class DispatchAdvised(Statement):
    """A shipment announced: which bars, by which carrier and person, when, where."""

    shipment: str = fields.code("Shipment id", help="A new id, never used before")
    refinery: str = fields.code("Refinery", table="place")
    carrier: str = fields.text("Carrier", help="The company")
    carrier_person: str = fields.text(
        "Carrier's person", help="Name as on the identity card to be shown"
    )
    items: tuple[str, ...] = fields.codes("Bars", table="item")
    window_from: datetime = fields.moment("Pick-up from")
    window_until: datetime = fields.moment("Pick-up until")

    def check(self, act: Act, state: State) -> None:
        """Refuse a shipment advised before, and bars not numbered or not at hand."""
        if state.get(Shipment, self.shipment) is not None:
            raise AlreadyRegistered(
                f"shipment: {self.shipment} was advised before. Give this one an id"
                " never used.",
                field="shipment",
            )
        refinery = the(state, Place, self.refinery, "refinery")
        if refinery.sort != "refinery":
            raise wrong_sort("refinery", self.refinery, refinery.sort, "a refinery")
        if self.window_until <= self.window_from:
            raise BadField(
                "window_until: the pick-up ends before it begins. Check both times.",
                field="window_until",
            )
        for n, item_id in enumerate(self.items):
            check_numbered(state, item_id, f"items[{n}]")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the shipment."""
        yield Shipment(
            shipment=self.shipment,
            status="advised",
            carrier=self.carrier,
            carrier_person=self.carrier_person,
            refinery=self.refinery,
            items=self.items,
            boxes=(),
            from_at=utc_text(self.window_from),
            until_at=utc_text(self.window_until),
            at=act.at,
            entry=act.entry,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"Shipment {self.shipment} of {listed(self.items)} to {self.refinery} was"
            f" advised: {self.carrier_person} of {self.carrier} picks it up between"
            f" {wall_clock(self.window_from)} and {wall_clock(self.window_until)}."
        )


@dataclass(frozen=True, kw_only=True)
class BoxRow:
    """A box as packed: the bars in it, what it weighed, its seals."""

    box: str = fields.code("Box", table="vessel")
    items: tuple[str, ...] = fields.codes("Bars in it", table="item")
    gross: Reading | None = fields.reading("Gross mass", optional=True)
    seals_fitted: tuple[SealFittedRow, ...] = fitted_field()


@kind("dispatch.handed_over", group="shipping", title="Handed over")
@dataclass(frozen=True, kw_only=True)
class DispatchHandedOver(Statement):
    """Boxes given to the carrier's person, whose identity was checked."""

    shipment: str = fields.code("Shipment", table="shipment")
    carrier: str = fields.text("Carrier", help="The company")
    carrier_person: str = fields.text(
        "Carrier's person", help="Name read off the identity card"
    )
    identity_check: str = fields.text(
        "How identity was checked", help="Card, its number, against the advice"
    )
    waybill: str = fields.text("Waybill number")
    paper_signature: str = fields.text(
        "Signed on paper",
        help="Name of the attached receipt with the carrier's ink signature",
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    boxes: tuple[BoxRow, ...] = fields.rows("Boxes", BoxRow, most=40)

    def check(self, act: Act, state: State) -> None:
        """Refuse a carrier not advised, bars not at hand, seals that cannot be."""
        shipment = shipment_in(state, self.shipment, ("advised",))
        for field, found, advised in (
            ("carrier", self.carrier, shipment.carrier),
            ("carrier_person", self.carrier_person, shipment.carrier_person),
        ):
            if plain_name(found) != plain_name(advised):
                raise CarrierNotAdvised(
                    f"{field}: {found} came for {self.shipment}, but {advised} was"
                    " advised. Hand nothing over. Call the security manager; a"
                    " change of carrier is advised anew.",
                    field=field,
                )
        check_openings(state, self.opened, ())
        packed: set[str] = set()
        for n, row in enumerate(self.boxes):
            self._check_box(state, row, f"boxes[{n}]", packed)
        check_seals_once(
            [
                (each.seal, f"boxes[{n}].seals_fitted[{m}].seal")
                for n, row in enumerate(self.boxes)
                for m, each in enumerate(row.seals_fitted)
            ]
        )
        self.check_figures(act, state)

    def _check_box(
        self, state: State, row: BoxRow, path: str, packed: set[str]
    ) -> None:
        check_reached(state, row.box, self.opened, f"{path}.box")
        removed = {each.vessel: each.seals_removed for each in self.opened}
        check_ceremony(
            state,
            row.box,
            fitted=row.seals_fitted,
            removed=removed.get(row.box, ()),
            field=f"{path}.seals_fitted",
        )
        for m, item_id in enumerate(row.items):
            field = f"{path}.items[{m}]"
            item = check_numbered(state, item_id, field)
            if moves.last_vessel(state, item) != row.box:
                check_taken_out(state, item, self.opened, field)
            if item_id in packed:
                raise BadField(
                    f"{field}: {item_id} is packed twice. Write it once, in the box"
                    " that it is in.",
                    field=field,
                )
            packed.add(item_id)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be."""
        for n, row in enumerate(self.boxes):
            if row.gross is not None:
                check_taken(state, act, row.gross, f"boxes[{n}].gross")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the bars on their way, under seal, and what differs from the advice."""
        shipment = state.get(Shipment, self.shipment)
        assert shipment is not None
        yield from open_vessels(state, act, self.opened)
        for row in self.boxes:
            yield from ceremony(state, act, row.box, fitted=row.seals_fitted)
            yield from moves.put_into(state, act, row.items, row.box)
            for item_id in row.items:
                item = state.get(Item, item_id)
                assert item is not None
                yield replace(item, status="in_transit", place="")
            yield from weighed_notices(state, act, (row.gross,), row.box)
        packed = [item_id for row in self.boxes for item_id in row.items]
        yield from list_differs(state, act, self.shipment, packed, shipment.items)
        boxes = tuple(
            ShippedBox(
                box=row.box,
                items=row.items,
                gross_g=None if row.gross is None else row.gross.grams,
            )
            for row in self.boxes
        )
        yield replace(shipment, status="handed_over", boxes=boxes)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        boxes = [
            f"box {row.box} with {listed(row.items)}"
            + (f" ({row.gross} gross)" if row.gross else "")
            + f", sealed {fitted_words(row.seals_fitted)}"
            for row in self.boxes
        ]
        return (
            f"Shipment {self.shipment} was handed to {self.carrier_person} of"
            f" {self.carrier} ({self.identity_check}) under waybill {self.waybill}:"
            f" {'; '.join(boxes)}. Signed on paper: {self.paper_signature}."
            + openings_words(self.opened, ())
        )


@dataclass(frozen=True, kw_only=True)
class ReceivedBoxRow:
    """A box as the refinery found it."""

    box: str = fields.code("Box", table="vessel")
    gross_g: Decimal | None = fields.number(
        "Gross mass at the refinery", "g", optional=True
    )
    seals_seen: tuple[SealSeenRow, ...] = seen_field(optional=True)


@kind("dispatch.received", group="shipping", title="Received", can_void=True)
@dataclass(frozen=True, kw_only=True)
class DispatchReceived(Statement):
    """The refinery's receipt: boxes, their seals, the mass as received."""

    shipment: str = fields.code("Shipment", table="shipment")
    received_by: str = fields.text("Received by", help="The refinery's person")
    receipt: str = fields.text("Receipt", help="Number, and name of the attachment")
    boxes: tuple[ReceivedBoxRow, ...] = fields.rows("Boxes", ReceivedBoxRow, most=40)
    as_received_g: Decimal | None = fields.number(
        "Bars as received, all together", "g", optional=True
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a shipment not on its way, and seal points that a box lacks."""
        shipment_in(state, self.shipment, ("handed_over",))
        for n, row in enumerate(self.boxes):
            the(state, Vessel, row.box, f"boxes[{n}].box")
            check_seen(state, row.box, row.seals_seen, f"boxes[{n}].seals_seen")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the bars at the refinery, seals as seen, and what differs."""
        shipment = state.get(Shipment, self.shipment)
        assert shipment is not None
        for row in self.boxes:
            yield from seals.seen(state, act, row.box, row.seals_seen)
        found = [row.box for row in self.boxes]
        handed = [each.box for each in shipment.boxes]
        yield from list_differs(state, act, self.shipment, found, handed)
        for item_id in shipped_items(shipment):
            item = state.get(Item, item_id)
            if item is not None and item.status == "in_transit":
                yield from moves.set_down(state, act, (item_id,), shipment.refinery)
        yield from self._mass_differs(act, state, shipment)
        yield replace(shipment, status="received")

    def _mass_differs(
        self, act: Act, state: State, shipment: Shipment
    ) -> Iterator[Record]:
        """Yield boxes, or the bars together, whose mass differs beyond the limit."""
        handed = {each.box: each.gross_g for each in shipment.boxes}
        for row in self.boxes:
            yield from mass_notice(
                state, act, item=row.box, found_g=row.gross_g,
                expected_g=handed.get(row.box),
            )  # fmt: skip
        yield from mass_notice(
            state, act, item=self.shipment, found_g=self.as_received_g,
            expected_g=bars_g(state, shipped_items(shipment)),
        )  # fmt: skip

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        boxes = [
            f"box {row.box}"
            + (f" ({row.gross_g} g gross)" if row.gross_g is not None else "")
            + (f", {seen_words(row.seals_seen)}" if row.seals_seen else "")
            for row in self.boxes
        ]
        together = (
            f" Bars as received: {self.as_received_g} g." if self.as_received_g else ""
        )
        return (
            f"Shipment {self.shipment} was received by {self.received_by}"
            f" ({self.receipt}): {'; '.join(boxes)}.{together}"
        )
