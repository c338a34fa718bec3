"""Other metal: what joins the room from elsewhere in the plant, often one pour later.

Elution sludge and eluate, what sumps, traps, floors, pipes and mill liners gave up.
It comes in from outside, into the step that will use it, with its own weighing or
volume; what it holds is assayed, or estimated until it is. What was neither sampled
nor estimated can be poured, but never again told apart from what it is poured with.

Most of it is not gravity metal. A clean-out of the gravity circuit before the hopper
is: its gold was caught by the circuit and only went round the hopper, so it is
accounted for like any other (common practice, no source).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from goldroom.custody import figures, moves
from goldroom.custody.act import Act
from goldroom.custody.figures import WET, Moisture
from goldroom.custody.lookups import check_new_item, the
from goldroom.custody.moves import NewItem
from goldroom.custody.names import a_sort
from goldroom.custody.notices import notice
from goldroom.custody.other_metal import OTHER_METAL, OtherMetal
from goldroom.custody.reading import Reading
from goldroom.custody.records import Instrument, Person, Place, Record, Vessel
from goldroom.custody.state import State
from goldroom.custody.weighed import (
    Weighed,
    check_weighed,
    net_terms,
    weighed_notices,
)
from goldroom.errors import MoistureOver100, WrongSort
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

ORIGINS = (
    "elution_sludge",
    "elution_solution",
    "sump",
    "trap",
    "mill_liner",
    "floor",
    "pipe",
    "gravity_circuit_cleanout",
    "other",
)
ORIGIN_WORDS = {
    "elution_sludge": "Elution sludge",
    "elution_solution": "Elution solution",
    "sump": "Material from a sump",
    "trap": "Material from a trap",
    "mill_liner": "Material from behind mill liners",
    "floor": "Material off the floor",
    "pipe": "Material from a pipe",
    "gravity_circuit_cleanout": "A clean-out of the gravity circuit",
    "other": "Other metal",
}
"""What was received, as the journal reads it aloud."""
SORTS: Mapping[str, str] = MappingProxyType(
    {"elution_sludge": "sludge", "elution_solution": "solution"}
)
"""The sort of item that an origin gives; all others are "other"."""

USED_BY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "sludge": ("smelt",),
        "solution": ("leach", "electrowinning"),
        "other": ("table", "leach", "smelt"),
    }
)
"""The steps that can use each sort."""

STEPS_OF_OTHER_METAL = ("table", "leach", "electrowinning", "smelt")
GRAVITY_ORIGIN = "gravity_circuit_cleanout"
NEVER_GRAVITY = ("elution_sludge", "elution_solution")
"""What was stripped off carbon: no gravity circuit caught it."""


@kind("other_metal.received", group="room", title="Other metal received", can_void=True)
@dataclass(frozen=True, kw_only=True)
class OtherMetalReceived(Statement):
    """Metal from elsewhere in the plant taken in: sludge, traps, sumps, cleanings."""

    item: str = fields.code("Item", help="A new id, never used before")
    origin: str = fields.choice("What it is", ORIGINS)
    source: str | None = fields.choice(
        "Source", ("gravity", "other", "mixed"), optional=True,
        help="Left out: gravity for a clean-out of the gravity circuit, else other",
    )  # fmt: skip
    from_where: str = fields.text("From where", help="Sump, trap, mill, column ...")
    handed_over_by: str | None = fields.code(
        "Handed over by", table="person", optional=True, help="If enrolled here"
    )
    handed_over_name: str | None = fields.text(
        "Handed over by, name", optional=True, help="If not enrolled here"
    )
    goes_to: str = fields.choice("For which step", STEPS_OF_OTHER_METAL)
    place: str = fields.code("Place", table="place")
    vessel: str | None = fields.code("Vessel", table="vessel", optional=True)
    gross: Reading | None = fields.reading("Gross mass", optional=True)
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    condition: str | None = fields.choice(
        "Weighed", ("dry", "wet"), optional=True, help="Needed with a mass"
    )
    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Water as a share of the wet mass; leave out while it is not known",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)
    volume_l: Decimal | None = fields.number(
        "Volume", "L", optional=True, help="Of a solution"
    )
    sample: str | None = fields.code(
        "Sample", optional=True, help="The sample to be assayed; leave out if none was"
    )
    estimate: EstimateRow | None = fields.one(
        "Estimate until assayed", EstimateRow, optional=True
    )
    opened: tuple[OpenedRow, ...] = opened_field()
    closed: tuple[ClosedRow, ...] = closed_field()

    @property
    def sort(self) -> str:
        """Return the sort of item that it is."""
        return SORTS.get(self.origin, "other")

    @property
    def said_source(self) -> str:
        """Return the source said, or the usual one of its origin."""
        usual = "gravity" if self.origin == GRAVITY_ORIGIN else "other"
        return self.source or usual

    @property
    def giver(self) -> str:
        """Return who handed it over."""
        return self.handed_over_by or self.handed_over_name or ""

    def check(self, act: Act, state: State) -> None:
        """Refuse ids in use, a step that cannot use it, a hand nobody named."""
        check_new_item(state, self.item, "item")
        the(state, Place, self.place, "place")
        if self.handed_over_by is not None:
            the(state, Person, self.handed_over_by, "handed_over_by")
        if (self.handed_over_by is None) == (self.handed_over_name is None):
            raise BadField(
                "handed_over_by: write who handed it over, as a person enrolled here"
                " or by name, not both.",
                field="handed_over_by",
            )
        self._check_way(state)
        check_openings(state, self.opened, self.closed)
        if self.vessel is not None:
            check_reached(state, self.vessel, self.opened, "vessel")
        self.check_figures(act, state)

    def _check_way(self, state: State) -> None:
        """Refuse a step that has no use for it, a source that it cannot have."""
        if self.goes_to not in USED_BY[self.sort]:
            raise WrongSort(
                f"goes_to: {self.goes_to} cannot use {a_sort(self.sort)}; expected"
                f" {' or '.join(USED_BY[self.sort])}. Name the step that will use it.",
                field="goes_to",
            )
        if self.origin in NEVER_GRAVITY and self.said_source != "other":
            raise BadField(
                f"source: what comes from elution was stripped off carbon; found"
                f" {self.source}. Write other, or say what it really is.",
                field="source",
            )
        if self.oven is not None:
            the(state, Instrument, self.oven, "oven")

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse what nobody measured, readings that cannot be, an exact estimate."""
        is_solution = self.sort == "solution"
        if is_solution and (self.volume_l is None or self.gross is not None):
            raise BadField(
                f"volume_l: {self.item} is a solution and goes by its volume. Write its"
                " litres, and leave a mass out.",
                field="volume_l",
            )
        if not is_solution and self.volume_l is not None:
            raise BadField(
                f"volume_l: {self.item} is {a_sort(self.sort)} and goes by its mass."
                " Weigh it, and leave the volume out.",
                field="volume_l",
            )
        if not is_solution and self.gross is None and self.estimate is None:
            raise BadField(
                f"gross: nothing tells how much {self.item} is. Weigh it, or write an"
                " estimate of its metal.",
                field="gross",
            )
        if (self.gross is None) != (self.condition is None) or (
            self.moisture_percent is not None and self.condition != "wet"
        ):
            raise BadField(
                "condition: say of a mass whether it was weighed dry or wet, and give"
                " a moisture only of what was wet.",
                field="condition",
            )
        if self.gross is not None:
            check_weighed(state, act, self._weighed(self.gross), "gross", "tare")
        elif self.tare is not None:
            raise BadField(
                "gross: there is a tare but no gross mass. Write both, or neither.",
                field="gross",
            )
        if self.estimate is not None:
            check_never_exact(self.estimate, "estimate.")

    def _weighed(self, gross: Reading) -> Weighed:
        return Weighed(gross=gross, tare=self.tare, vessel=self.vessel or "")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the item, come in from outside, its figures and what is noticed."""
        yield from open_vessels(state, act, self.opened)
        new = NewItem(
            item=self.item,
            sort=self.sort,
            step=self.goes_to,
            place=self.place,
            vessel=self.vessel or "",
            source=self.said_source,
            label=self.origin.replace("_", " "),
            is_opening=True,
        )
        yield from moves.make(state, act, new)
        yield from moves.cross(
            state, act, self.item, self.goes_to, where_to=OTHER_METAL, from_step=""
        )
        yield OtherMetal(
            item=self.item,
            origin=self.origin,
            sample=self.sample or "",
            from_where=self.from_where,
            handed_over_by=self.giver,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )
        yield from close_vessels(state, act, self.closed)
        yield from self.measures(act, state)
        yield from weighed_notices(state, act, (self.gross, self.tare), self.item)
        if self.sample is None and self.estimate is None:
            yield notice(
                state,
                act,
                "other_metal_unsampled",
                item=self.item,
                found="no sample, no estimate",
                expected="one of the two, before it joins anything",
                message=f"{self.item} came without a sample or an estimate: what it is"
                " poured or run with can no longer be told apart from it",
            )

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the mass or volume, and the estimate."""
        if self.gross is not None:
            is_unknown = self.condition == "wet" and self.moisture_percent is None
            yield from figures.mass(
                state,
                act,
                item=self.item,
                terms=net_terms(state, act, self._weighed(self.gross), "other"),
                wanted_for=WET if is_unknown else "other_metal",
                moisture=self._moisture(act),
            )
        if self.volume_l is not None:
            vessel = state.get(Vessel, self.vessel) if self.vessel else None
            yield from figures.volume(
                state,
                act,
                item=self.item,
                litres=self.volume_l,
                tank=vessel.vessel if vessel and vessel.sort == "tank" else "",
                path="other.volume",
            )
        if self.estimate is not None:
            yield from figures.estimate(
                state,
                act,
                item=self.item,
                metal=metal_of(self.estimate),
                method=self.estimate.method,
            )

    def _moisture(self, act: Act) -> Moisture | None:
        if self.moisture_percent is None:
            return None
        return Moisture(
            percent=self.moisture_percent,
            determination=f"{act.measured_in}.other.moisture",
            oven=self.oven or "",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        where = f"in {self.vessel}" if self.vessel else f"at {self.place}"
        return (
            f"{ORIGIN_WORDS[self.origin]} {self.item}"
            f" ({self._figure_words()}) was received from {self.from_where}, handed"
            f" over by {self.giver}, for the {self.goes_to}; it counts as"
            f" {self.said_source} metal and is {where}.{self._content_words()}"
            + openings_words(self.opened, self.closed)
        )

    def _figure_words(self) -> str:
        if self.volume_l is not None:
            return f"{self.volume_l} L"
        if self.gross is None:
            return "not weighed"
        wet = "" if self.condition == "dry" else ", moisture not known yet"
        if self.moisture_percent is not None:
            wet = f", {self.moisture_percent} % moisture"
        return f"{self.gross} gross, {self.condition}{wet}"

    def _content_words(self) -> str:
        said = f" Sample {self.sample} was taken of it." if self.sample else ""
        if self.estimate is not None:
            row = self.estimate
            said += (
                f" It is thought to hold {row.gold_g} g of gold (± {row.gold_u_g}) and"
                f" {row.silver_g} g of silver (± {row.silver_u_g}): {row.method}."
            )
        return said or " Nobody sampled it, and nobody said what it may hold."
