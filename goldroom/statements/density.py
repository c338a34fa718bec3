"""A bar weighed in air and hanging in water: its density against its assay's.

A question to ask, never a refusal: real alloys leave ideal mixing by about a per
cent, castings hold pores, and tungsten cannot be told from gold at all. It does find
what is lighter: lead, copper, silver, or a cavity. The air's buoyancy is taken off
both readings; the density of water is the CIPM formula's.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.act import Act
from goldroom.custody.density import Density
from goldroom.custody.figures import in_order
from goldroom.custody.notices import notice
from goldroom.custody.reading import Reading
from goldroom.custody.records import Assay, Item, Record
from goldroom.custody.rules import item_at_hand
from goldroom.custody.state import State
from goldroom.custody.weighed import check_taken, weighed_notices
from goldroom.metal.bar_density import (
    density_by_displacement_g_cm3,
    expected_density_g_cm3,
)
from goldroom.metal.rounding import half_even
from goldroom.metal.water import water_density_kg_m3
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.limits import limit_value
from goldroom.statements.openings import (
    OpenedRow,
    check_openings,
    check_taken_out,
    open_vessels,
    opened_field,
    openings_words,
)

AIR_G_CM3 = Decimal("0.0012")
"""Conventional air, which lifts bar and readings alike."""

STEP_G_CM3 = Decimal("0.001")


@kind("bar.density_measured", group="room", title="Bar's density measured")
@dataclass(frozen=True, kw_only=True)
class BarDensityMeasured(Statement):
    """A bar weighed in air and in water: its density, against that of its assay."""

    item: str = fields.code("Bar", table="item")
    opened: tuple[OpenedRow, ...] = opened_field()
    in_air: Reading = fields.reading("Reading in air")
    in_water: Reading = fields.reading(
        "Reading in water", help="Wholly under water, touching nothing, no bubbles"
    )
    hanger: Reading | None = fields.reading(
        "Hanger alone in water", optional=True, help="If the display did not read zero"
    )
    water_temperature_c: Decimal = fields.number("Water", "°C", high="40")

    def check(self, act: Act, state: State) -> None:
        """Refuse what is no bar at hand, and readings that cannot be."""
        item = item_at_hand(state, self.item, "item", sorts=("bar",))
        check_openings(state, self.opened, ())
        check_taken_out(state, item, self.opened, "item")
        self.check_figures(act, state)

    def check_figures(self, act: Act, state: State) -> None:
        """Refuse readings that cannot be: a bar that water does not lift."""
        check_taken(state, act, self.in_air, "in_air")
        check_taken(state, act, self.in_water, "in_water")
        if self.hanger is not None:
            check_taken(state, act, self.hanger, "hanger")
            if self.hanger.instrument != self.in_water.instrument:
                raise BadField(
                    f"hanger.instrument: the bar in water was read on"
                    f" {self.in_water.instrument}, the hanger on"
                    f" {self.hanger.instrument}. Read both on one balance.",
                    field="hanger.instrument",
                )
        self._density()

    @property
    def in_water_g(self) -> Decimal:
        """Return what the bar alone reads in water, in grams."""
        hanger_g = Decimal(0) if self.hanger is None else self.hanger.grams
        return self.in_water.grams - hanger_g

    def _density(self) -> Decimal:
        water = water_density_kg_m3(self.water_temperature_c, "water_temperature_c")
        found = density_by_displacement_g_cm3(
            in_air_g=self.in_air.grams,
            in_water_g=self.in_water_g,
            water_g_cm3=water / 1000,
            air_g_cm3=AIR_G_CM3,
            field="in_water.reading",
        )
        return half_even(found, STEP_G_CM3)

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the density, and what should be noticed of it and of the readings."""
        yield from open_vessels(state, act, self.opened)
        yield from self.measures(act, state)
        readings = (self.in_air, self.in_water, self.hanger)
        yield from weighed_notices(state, act, readings, self.item)

    def measures(self, act: Act, state: State) -> Iterator[Record]:
        """Yield a version of the density, and a finding where its assay differs."""
        version = 1
        while state.get(Density, f"{self.item}/{version:03d}") is not None:
            version += 1
        found, newest = self._density(), _newest_assay(state, self.item)
        expected = None if newest is None else _expected(newest)
        yield Density(
            item=self.item,
            version=version,
            in_air_g=self.in_air.grams,
            in_water_g=self.in_water_g,
            water_temperature_c=self.water_temperature_c,
            density_g_cm3=found,
            expected_g_cm3=expected,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
            measured_in=act.measured_in,
        )
        limit_percent = limit_value(state, "density_percent")
        if expected is None or _is_within(found, expected, limit_percent):
            return
        yield notice(
            state,
            act,
            "density_implausible",
            item=self.item,
            found=f"{found} g/cm3",
            expected=f"{expected} g/cm3 by its assay, within {limit_percent} %",
            message=f"the density of {self.item} is not that of its assay. Look for"
            " pores, another metal or a wrong assay; and mind that tungsten cannot be"
            " told from gold by density, so a density that agrees proves nothing"
            " against it",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        hanger = f" (the hanger alone {self.hanger})" if self.hanger else ""
        return (
            f"Bar {self.item} read {self.in_air} in air and {self.in_water} in"
            f" water{hanger} at {self.water_temperature_c} °C: {self._density()} g/cm3."
            " Tungsten cannot be told from gold by density."
            + openings_words(self.opened, ())
        )


def _newest_assay(state: State, item_id: str) -> Assay | None:
    item = state.get(Item, item_id)
    assert item is not None
    found = [state.get(Assay, f"{item_id}/{n:03d}") for n in range(1, item.assays + 1)]
    known = [each for each in found if each is not None and each.unit == "permille"]
    return in_order(known)[-1] if known else None


def _expected(assay: Assay) -> Decimal:
    mixed = expected_density_g_cm3(
        gold_permille=assay.gold, silver_permille=assay.silver
    )
    return half_even(Decimal(repr(mixed)), STEP_G_CM3)


def _is_within(found: Decimal, expected: Decimal, limit_percent: Decimal) -> bool:
    return abs(found - expected) * 100 <= limit_percent * expected
