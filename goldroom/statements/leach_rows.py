"""Rows of the intensive leach: sources, reagents, solutions drained, residues."""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.reading import Reading
from goldroom.custody.weighed import Weighed
from goldroom.errors import MoistureOver100
from goldroom.statements import fields

VOLUME_BY = ("tank_table", "flow_meter", "marked_drum")
VOLUME_WORDS = {
    "tank_table": "by the tank's table",
    "flow_meter": "by flow meter",
    "marked_drum": "by marked drum",
}
DESTINATIONS = ("mill", "kept", "leach", "table")


@dataclass(frozen=True, kw_only=True)
class LeachSourceRow:
    """A source of a batch, weighed again where that was done."""

    item: str = fields.code("Source", table="item")
    gross: Reading | None = fields.reading("Gross mass", optional=True)
    tare: Reading | None = fields.reading("Tare", optional=True)
    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Water as a share of the wet mass; leave out for a dry source",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)

    @property
    def weighed(self) -> Weighed | None:
        """Return the weighing, if there was one."""
        if self.gross is None:
            return None
        return Weighed(gross=self.gross, tare=self.tare)


@dataclass(frozen=True, kw_only=True)
class ReagentRow:
    """A reagent issued, by mass."""

    reagent: str = fields.text("Reagent", help="Sodium cyanide, lime, caustic ...")
    mass_kg: Decimal = fields.number("Mass", "kg", high="100000")


@dataclass(frozen=True, kw_only=True)
class TitrationRow:
    """Free cyanide by silver nitrate: what the burette showed."""

    titrant_ml: Decimal = fields.number("Titrant used", "mL", high="1000")
    titrant_g_l: Decimal = fields.number(
        "Titrant's strength", "g/L", low="0.001", high="1000", help="Silver nitrate"
    )
    sample_ml: Decimal = fields.number(
        "Sample titrated", "mL", low="0.01", high="10000"
    )


@dataclass(frozen=True, kw_only=True)
class SolutionSampleRow:
    """A sample of solution, by whom it was taken; what is in it is metal."""

    item: str = fields.code("Sample id", help="A new id, never used before")
    volume_ml: Decimal = fields.number("Volume", "mL", low="0.1", high="100000")
    taken_by: str = fields.text("Taken by", help="Two by different people are wanted")


@dataclass(frozen=True, kw_only=True)
class SolutionRow:
    """A solution drained, its volume and how that was measured, and its samples."""

    item: str = fields.code("Solution id", help="A new id, never used before")
    volume_l: Decimal = fields.number("Volume", "L", low="0.001", high="10000000")
    measured_by: str = fields.choice("Volume measured by", VOLUME_BY)
    gauge: str | None = fields.code(
        "Meter or drum", optional=True,
        help="The meter's number, or the marked drum; none with the tank's own table",
    )  # fmt: skip
    tank: str | None = fields.code(
        "Into tank", table="vessel", optional=True, help="Where it is now"
    )
    temperature_c: Decimal | None = fields.number(
        "Temperature", "°C", high="100", optional=True, is_figure=False
    )
    samples: tuple[SolutionSampleRow, ...] = fields.rows(
        "Samples of it", SolutionSampleRow, optional=True, most=20,
        help="Stir first; drawn off the solution after its volume was read",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ResidueRow:
    """Residue taken out: what it weighed, its moisture, where it went."""

    item: str = fields.code("Residue id", help="A new id, never used before")
    gross: Reading = fields.reading("Gross mass", help="Before its sample was taken")
    tare: Reading | None = fields.reading(
        "Tare", optional=True, help="Leave out to use the vessel's registered tare"
    )
    moisture_percent: Decimal | None = fields.number(
        "Moisture", "%", high="100", above_high=MoistureOver100, optional=True,
        help="Water as a share of the wet mass; leave out for a dry residue",
    )  # fmt: skip
    oven: str | None = fields.code("Oven", table="instrument", optional=True)
    vessel: str | None = fields.code(
        "Vessel", table="vessel", optional=True, help="What it was weighed in"
    )
    goes_to: str = fields.choice(
        "Goes to", DESTINATIONS,
        help="The mill, kept in its vessel, another leach, or over the table",
    )  # fmt: skip
    sample: str | None = fields.code(
        "Sample id", optional=True, help="A new id, never used before"
    )
    sample_mass: Reading | None = fields.reading("Sample's wet mass", optional=True)

    @property
    def weighed(self) -> Weighed:
        """Return the weighing."""
        return Weighed(gross=self.gross, tare=self.tare, vessel=self.vessel or "")
