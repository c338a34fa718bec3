"""Drying, calcining and retorting: what heat drives off is not metal.

Drying leaves an item what it was, with a dry mass. Calcining and retorting make it a
calcine, and all its metal passes over. Water, sulphur and mercury go; mass that goes
here is therefore never read as metal missing, and what is noticed is only what cannot
be: a gain, or more mercury caught than mass driven off.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody import moves
from goldroom.custody.act import Act
from goldroom.custody.lookups import the, wrong_sort
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Item, Record, Vessel
from goldroom.custody.rules import check_new_items, item_at_hand, pass_on
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.statements import fields
from goldroom.statements.heating import (
    CALCINED,
    DRIED,
    Heated,
    check_heat,
    check_heated,
    driven_off,
    gained_notices,
    heated_mass,
    moisture_notices,
)
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

HEATS = ("oven", "furnace")


@dataclass(frozen=True, kw_only=True)
class _HeatedSaid(Statement):
    """What drying, calcining and retorting have in common."""

    item: str = fields.code("Item", table="item")
    wet_gross: Reading | None = fields.reading("Gross mass before", optional=True)
    wet_tare: Reading | None = fields.reading(
        "Tare before", optional=True, help="Leave out to use the vessel's own tare"
    )
    gross: Reading = fields.reading("Gross mass after", help="When it has cooled")
    tare: Reading | None = fields.reading(
        "Tare after", optional=True, help="Leave out to use the vessel's own tare"
    )
    vessel: str = fields.code(
        "In", table="vessel", help="The tray or drum it is weighed and kept in"
    )
    start_c: Decimal = fields.number(
        "Temperature at the start", "°C", high="1500", is_figure=False
    )
    end_c: Decimal = fields.number(
        "Temperature at the end", "°C", high="1500", is_figure=False,
        help="Extraction proven first; the site's procedures rule",
    )  # fmt: skip
    opened: tuple[OpenedRow, ...] = opened_field()
    closed: tuple[ClosedRow, ...] = closed_field()

    @property
    def heated(self) -> Heated:
        """Return the weighings before and after."""
        return Heated(
            item=self.item,
            vessel=self.vessel,
            before=self.wet_gross,
            before_tare=self.wet_tare,
            after=self.gross,
            after_tare=self.tare,
        )

    def _check_heated(self, act: Act, state: State, sorts: tuple[str, ...]) -> None:
        """Refuse what is not at hand, of another sort, sealed in, or into a seal."""
        item = item_at_hand(state, self.item, "item", sorts=sorts)
        check_openings(state, self.opened, self.closed)
        check_taken_out(state, item, self.opened, "item")
        check_reached(state, self.vessel, self.opened, "vessel")

    def _temperatures(self) -> str:
        return f"from {self.start_c} to {self.end_c} °C"

    def _weighed_words(self) -> str:
        before = f"{self.wet_gross} gross before and " if self.wet_gross else ""
        return f"{before}{self.gross} gross after, in {self.vessel}"


@kind("material.dried", group="room", title="Material dried", can_void=True)
@dataclass(frozen=True, kw_only=True)
class MaterialDried(_HeatedSaid):
    """Material dried in an oven: the same item, its water gone, weighed dry."""

    oven: str = fields.code("Oven", table="instrument")

    def check(self, act: Act, state: State) -> None:
        """Refuse what is never dried, what is not at hand, and no oven.

        Raises WrongSort, ItemConsumed, VesselSealed, DryHeavierThanWet and others.
        """
        self._check_heated(act, state, DRIED)
        check_heat(state, self.oven, "oven")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be, and a dry mass above the wet."""
        check_heated(state, act, self.heated, cannot_gain=True)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield where it is, its dry mass, what was driven off, and what is odd."""
        yield from open_vessels(state, act, self.opened)
        yield from moves.put_into(state, act, (self.item,), self.vessel)
        yield from moisture_notices(state, act, self.heated)
        yield from self.measures(act, state)
        yield from weighed_notices(state, act, self.heated.readings, self.item)
        yield from close_vessels(state, act, self.closed)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was driven off and the dry mass."""
        item = state.get(Item, self.item)
        assert item is not None
        yield driven_off(state, act, self.heated)
        wanted_for = "sludge" if item.sort == "sludge" else "dried"
        yield from heated_mass(
            state, act, self.heated, item=self.item, wanted_for=wanted_for
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"{self.item} was dried in {self.oven} {self._temperatures()}:"
            f" {self._weighed_words()}. What went is water, not metal."
            + openings_words(self.opened, self.closed)
        )


@kind("material.calcined", group="room", title="Material calcined", can_void=True)
@dataclass(frozen=True, kw_only=True)
class MaterialCalcined(_HeatedSaid):
    """Material calcined: it becomes a calcine, and all its metal with it."""

    calcine: str = fields.code("Calcine id", help="A new id, never used before")
    furnace: str = fields.code(
        "Furnace or oven", help="A furnace's or an oven's id, as registered"
    )
    driven_off: str = fields.text(
        "Driven off", help="Water, sulphur, carbon ...: whatever is not metal"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse what is never calcined, what is not at hand, and ids in use.

        Raises WrongSort, ItemConsumed, ItemIdUsed, VesselSealed and others.
        """
        self._check_heated(act, state, CALCINED)
        check_new_items(state, [(self.calcine, "calcine")])
        furnace = state.get(Vessel, self.furnace)
        if furnace is None:
            check_heat(state, self.furnace, "furnace")
        elif furnace.sort != "furnace":
            raise wrong_sort(
                "furnace", self.furnace, furnace.sort, "a furnace or an oven"
            )
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be; some metals gain by roasting."""
        check_heated(state, act, self.heated, cannot_gain=False)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the calcine in place of what it was made from, and its mass."""
        yield from open_vessels(state, act, self.opened)
        yield from becomes(state, act, self.item, self.calcine, self.vessel)
        yield from self.measures(act, state)
        yield from gained_notices(state, act, self.heated, self.calcine)
        yield from weighed_notices(state, act, self.heated.readings, self.calcine)
        yield from close_vessels(state, act, self.closed)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was driven off and the calcine's mass."""
        yield driven_off(state, act, self.heated, becomes=self.calcine)
        yield from heated_mass(
            state, act, self.heated, item=self.calcine, wanted_for="calcine"
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"{self.item} was calcined in {self.furnace} {self._temperatures()} and is"
            f" calcine {self.calcine}: {self._weighed_words()}. What went:"
            f" {self.driven_off}, not metal." + openings_words(self.opened, self.closed)
        )


@kind("material.retorted", group="room", title="Material retorted", can_void=True)
@dataclass(frozen=True, kw_only=True)
class MaterialRetorted(_HeatedSaid):
    """Material retorted: its mercury caught and weighed, the rest a calcine."""

    calcine: str = fields.code("Calcine id", help="A new id, never used before")
    retort: str = fields.code("Retort", table="vessel")
    condenser_checked: bool = fields.flag(
        "Condenser checked", help="Whether it was cold and open before the heat was on"
    )
    mercury: Reading = fields.reading(
        "Mercury recovered", help="Net, under water; it is neither gold nor silver"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse what is never retorted, what is not at hand, and no retort.

        Raises WrongSort, ItemConsumed, ItemIdUsed, VesselSealed and others.
        """
        self._check_heated(act, state, CALCINED)
        check_new_items(state, [(self.calcine, "calcine")])
        retort = the(state, Vessel, self.retort, "retort")
        if retort.sort != "retort":
            raise wrong_sort("retort", self.retort, retort.sort, "a retort")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be; a retort only takes away."""
        check_heated(state, act, self.heated, cannot_gain=True)
        check_taken(state, act, self.mercury, "mercury")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the calcine, its mass, the mercury's, and what cannot be."""
        yield from open_vessels(state, act, self.opened)
        yield from becomes(state, act, self.item, self.calcine, self.vessel)
        yield from self.measures(act, state)
        if not self.condenser_checked:
            yield notice(
                state,
                act,
                "condenser_not_checked",
                item=self.calcine,
                found=f"{self.retort} heated, its condenser not checked",
                expected="a condenser checked before heat",
                message=f"{self.item} was retorted and nobody had checked the condenser"
                f" of {self.retort}: mercury vapour may have escaped",
            )
        readings = (*self.heated.readings, self.mercury)
        yield from weighed_notices(state, act, readings, self.calcine)
        yield from close_vessels(state, act, self.closed)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield what was driven off, the calcine's mass, and mercury beyond it."""
        off = driven_off(
            state,
            act,
            self.heated,
            becomes=self.calcine,
            mercury_g=self.mercury.grams,
        )
        yield off
        yield from heated_mass(
            state, act, self.heated, item=self.calcine, wanted_for="calcine"
        )
        if off.driven_off_g is not None and self.mercury.grams > off.driven_off_g:
            yield notice(
                state,
                act,
                "mercury_over_driven_off",
                item=self.calcine,
                found=f"{self.mercury.grams} g of mercury",
                expected=f"at most the {off.driven_off_g} g driven off",
                message=f"more mercury was caught from {self.item} than it lost mass",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        checked = "checked" if self.condenser_checked else "not checked"
        return (
            f"{self.item} was retorted in {self.retort} (condenser {checked})"
            f" {self._temperatures()} and is calcine {self.calcine}:"
            f" {self._weighed_words()}; {self.mercury} of mercury recovered."
            + openings_words(self.opened, self.closed)
        )


def becomes(
    state: State, act: Act, item_id: str, calcine: str, vessel: str
) -> Iterator[Record]:
    """Yield an item's end and the calcine that it became, both held by the smelt.

    No other step uses a calcine. The item passes there with the mass it had before
    heat, so what was driven off is not missing from the step that it came from.
    """
    item = state.get(Item, item_id)
    assert item is not None
    yield from pass_on(state, act, item_id, "smelt")
    yield from moves.use_up(state, act, (item_id,))
    new = moves.NewItem(
        item=calcine,
        sort="calcine",
        step="smelt",
        from_step="smelt",
        vessel=vessel,
        parents=(item_id,),
        source=item.source,
        label=f"calcine of {item_id}",
    )
    yield from moves.make(state, act, new)
