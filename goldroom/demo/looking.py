"""What people of the invented mine see: readings and assays of true metal.

Each is the true value with errors drawn by name, one for every effect that the
reconciliation knows (a reading's own, a scale's slope between calibrations, an
oven, a sampler, a sample, a laboratory's method, a determination), each within the
uncertainty that a site starts from, then rounded to what the display shows.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from goldroom.demo.chance import Chance
from goldroom.demo.liquor import Liquor
from goldroom.demo.mine import HOPPER_MARK_M3, HOPPER_TARE_KG, SOLIDS_KG_M3, Scale
from goldroom.demo.truth import Matter, OreDay
from goldroom.metal.starting_uncertainties import STARTING, StartingUncertainty
from goldroom.metal.units import grams_per

WATER_KG_M3 = 1000.0
UNIT_PER_GRAM = {"gpt": 1e6, "permille": 1e3, "percent": 1e2}
DIGITS = {"gpt": "0.1", "permille": "0.01", "percent": "0.01"}


def shown(value: float, step: str) -> str:
    """Return a value as an instrument shows it: to its step, ties to even."""
    steps = (Decimal(repr(value)) / Decimal(step)).quantize(
        Decimal(1), rounding=ROUND_HALF_EVEN
    )
    return format(max(steps, Decimal(0)) * Decimal(step), "f")


@dataclass(frozen=True)
class Assaying:
    """How a sort of thing is sampled and assayed: rows of the starting table."""

    sampling: str
    assaying: str
    sampler: str
    method: str
    unit: str


LOADS = Assaying(
    "cleanup_sample", "concentrate_assay", "cutter-1", "screen_fire_assay", "gpt"
)
LOTS = Assaying(
    "hopper_lot_sample", "concentrate_assay", "spear-1", "screen_fire_assay", "gpt"
)
CONCENTRATES = Assaying(
    "table_concentrate_sample", "high_grade_assay", "spear-2", "fire_assay", "percent"
)
TAILS = Assaying(
    "table_tails_sample", "concentrate_assay", "cutter-2", "screen_fire_assay", "gpt"
)
RESIDUES = Assaying(
    "leach_residue_sample", "concentrate_assay", "cutter-2", "screen_fire_assay", "gpt"
)
SLUDGES = Assaying(
    "sludge_sample", "high_grade_assay", "scoop-1", "fire_assay", "percent"
)
BARS = Assaying("bar_drilling", "bullion_assay", "dip-1", "fire_assay", "permille")


class Looking:
    """The senses of the invented mine."""

    def __init__(self, chance: Chance) -> None:
        """Look at things with the errors of this chance."""
        self._chance = chance
        self.calibrations: dict[str, str] = {}
        """Calibrations later than the opening one, by instrument."""

    def reading(self, scale: Scale, true_g: float, name: str) -> dict[str, Any]:
        """Return a reading of a mass, as it stands in a statement."""
        in_force = self.calibrations.get(scale.instrument, scale.calibration)
        slope = self._chance.error(f"slope/{scale.instrument}/{in_force}")
        own = self._chance.error(f"reading/{name}")
        seen_g = true_g * (1 + float(scale.slope_u_relative) * slope)
        seen_g += float(scale.reading_u_g) * own
        in_unit = seen_g / float(grams_per(scale.unit))
        return {
            "reading": shown(in_unit, scale.interval),
            "unit": scale.unit,
            "instrument": scale.instrument,
        }

    def moisture_percent(self, true_percent: float, name: str) -> str:
        """Return a moisture determined in the oven, in per cent of the wet mass."""
        row = STARTING["moisture"]
        bias = row.shared.u * self._chance.error("oven")
        own = row.random.u * self._chance.error(f"moisture/{name}")
        return shown(true_percent + bias + own, "0.1")

    def content(
        self, how: Assaying, matter: Matter, metal: str, *, sample: str, assay: str
    ) -> str:
        """Return gold or silver as the laboratory reports it, in the usual unit."""
        sampling = STARTING[how.sampling]
        row = STARTING[f"{how.assaying}_{metal}"]
        factor = self._both(sampling, f"sample/{sample}", f"sampler/{how.sampler}")
        if how is BARS and metal == "silver":
            factor = 1.0
        factor *= self._both(
            row, f"repeat/{assay}/{metal}", f"laboratory/{how.method}/{metal}"
        )
        true = matter.content(metal) * UNIT_PER_GRAM[how.unit]
        return shown(true * factor, DIGITS[how.unit])

    def contents(
        self, how: Assaying, matter: Matter, *, sample: str, assay: str
    ) -> dict[str, str]:
        """Return gold and silver as reported, by name."""
        return {
            metal: self.content(how, matter, metal, sample=sample, assay=assay)
            for metal in ("gold", "silver")
        }

    def spectrometer(self, matter: Matter, metal: str, name: str) -> str:
        """Return a quick figure of a bar in permille: coarse, and soon replaced."""
        factor = 1 + 0.003 * self._chance.error(f"spectrometer/{metal}")
        factor *= 1 + 0.004 * self._chance.error(f"spectrometer/{metal}/{name}")
        return shown(matter.content(metal) * 1000 * factor, "0.1")

    def refiners(self, matter: Matter, metal: str, name: str) -> str:
        """Return a refinery's figure for a melt, in permille."""
        row = STARTING[f"refinery_assay_{metal}"]
        factor = self._both(row, f"refiner/{metal}/{name}", f"refiner/{metal}")
        return shown(matter.content(metal) * 1000 * factor, "0.01")

    def refinery_g(self, true_g: float, name: str) -> str:
        """Return a mass as the refinery's balance shows it, in grams."""
        own = 0.2 * self._chance.error(f"refinery reading/{name}")
        slope = 1 + 2e-5 * self._chance.error("refinery slope")
        return shown(true_g * slope + own, "0.1")

    def litres(self, true_l: float, tank: str, name: str) -> str:
        """Return a solution's volume by the tank's level table, in litres."""
        row = STARTING["tank_volume"]
        return shown(true_l * self._both(row, f"dip/{name}", f"tank/{tank}"), "1")

    def liquor_mg_l(self, liquor: Liquor, metal: str, name: str, dilution: int) -> str:
        """Return what the laboratory's instrument reads of a diluted solution."""
        row = STARTING[f"solution_assay_{metal}"]
        factor = self._both(
            row, f"repeat/{name}/{metal}", f"laboratory/atomic_absorption/{metal}"
        )
        return shown(liquor.mg_l(metal) * factor / dilution, "0.01")

    def head_gpt(self, ore: OreDay, metal: str) -> str:
        """Return a day's head assay: a few kilograms stand for a day's tonnes."""
        true = ore.gold_gpt if metal == "gold" else ore.silver_gpt
        u = STARTING["gravity_head_assay"].random.u
        return shown(true * (1 + u * self._chance.error(f"head/{ore.day}")), "0.01")

    def tonnes(self, ore: OreDay) -> str:
        """Return a day's dry feed as the belt weigher and a moisture give it."""
        return shown(
            ore.feed_t * (1 + 0.005 * self._chance.error(f"belt/{ore.day}")), "0.1"
        )

    def guess_g(self, true_g: float, u_relative: float, name: str) -> str:
        """Return somebody's judgement of metal that cannot be assayed, in grams."""
        error = u_relative * self._chance.error(f"guess/{name}")
        return shown(true_g * (1 + error), "0.1")

    def _both(self, row: StartingUncertainty, own: str, shared: str) -> float:
        return (1 + row.random.u * self._chance.error(own)) * (
            1 + row.shared.u * self._chance.error(shared)
        )


def hopper_gross_g(dry_g: float) -> float:
    """Return what a flooded hopper weighs at its mark, with tare and water."""
    tare_kg, volume_m3 = float(HOPPER_TARE_KG), float(HOPPER_MARK_M3)
    dry_kg = dry_g / 1000
    water_m3 = volume_m3 - dry_kg / float(SOLIDS_KG_M3)
    return 1000 * (tare_kg + dry_kg + WATER_KG_M3 * water_m3)
