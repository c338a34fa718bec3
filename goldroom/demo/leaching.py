"""The intensive leach: a lot and two tails leached, drained, washed, taken out.

The table stands still for a day, so a lot goes to the leach with tails kept from
earlier runs.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from goldroom.demo import mine
from goldroom.demo.liquor import (
    Leached,
    Liquor,
    leach,
)
from goldroom.demo.looking import RESIDUES
from goldroom.demo.lots import Lot
from goldroom.demo.room import Room, at
from goldroom.demo.shifts import laboratory_hands, report_assay
from goldroom.demo.truth import together

BATCH, PREGNANT, WASH = "LB-01", "SOL-01", "SOL-02"
RESIDUES_OUT = ("RES-01", "RES-02")
"""The residue fills the bin twice."""
SOLUTION_L, WASH_L = 2600.0, 900.0
SAMPLE_ML = "250"
RESIDUE_SAMPLE_G = 1090.0
DILUTION = 100


@dataclass
class LeachWeek:
    """What the week's crews keep in mind from one day to the next."""

    room: Room
    tails: list[str] = field(default_factory=list)
    liquors: dict[str, Liquor] = field(default_factory=dict)
    samples: dict[str, list[str]] = field(default_factory=dict)
    """Numbers of the samples, by what they were taken of."""

    def charge(self, lot: Lot, day: datetime) -> None:
        """Write a lot and the kept tails put into the leach vessel."""
        room = self.room
        sources: list[str] = [lot.item("LOT"), *self.tails]
        opened = room.seals.open(mine.LOT_BIN, mine.TAILS_BIN, mine.LEACH_VESSEL)
        values: dict[str, Any] = {
            "batch": BATCH,
            "vessel": mine.LEACH_VESSEL,
            "opened": opened,
            "sources": [{"item": each} for each in sources],
            "solids_t": f"{together(room.truth[s] for s in sources).dry_g / 1e6:.2f}",
            "water_l": f"{SOLUTION_L:.0f}",
            "reagents": [
                {"reagent": "caustic soda", "mass_kg": "9.5"},
                {"reagent": "sodium cyanide", "mass_kg": "42.0"},
                {"reagent": "hydrogen peroxide", "mass_kg": "18.0"},
            ],
            "target_ph": "11.5",
            "closed": room.seals.close((mine.LEACH_VESSEL, "lid")),
        }
        self._say("charged", "leach.charged", values, at(day, "09:10"))
        made = leach(
            room.chance,
            BATCH,
            together(room.truth[each] for each in sources),
            litres=SOLUTION_L,
            wash_l=WASH_L,
        )
        self._keep(made)
        self.tails.clear()

    def _keep(self, made: Leached) -> None:
        self.liquors |= {PREGNANT: made.pregnant, WASH: made.wash}
        for item in RESIDUES_OUT:
            self.room.truth[item] = made.residue.part(dry=0.5, gold=0.5)

    def run_through(self, day: datetime) -> None:
        """Write the batch's first day: looked at twice, cyanide added once."""
        for clock, ph, titrant_ml, oxygen in (
            ("13:05", "11.6", "15.85", "14.2"),
            ("21:10", "11.3", "13.90", "11.8"),
        ):
            values = {
                "batch": BATCH,
                "ph": ph,
                "oxygen_mg_l": oxygen,
                "titration": {
                    "titrant_ml": titrant_ml,
                    "titrant_g_l": "17.332",
                    "sample_ml": "10.0",
                },
            }
            self._say(f"seen {clock}", "leach.sampled", values, at(day, clock))
        dose = {
            "batch": BATCH,
            "reagents": [{"reagent": "sodium cyanide", "mass_kg": "4.0"}],
            "reason": "cyanide down by an eighth since noon",
        }
        self._say("dosed", "leach.dosed", dose, at(day, "21:30"))

    def drain(self, day: datetime) -> None:
        """Write the draining, the wash and the residue's going back to the mill."""
        values = {
            "batch": BATCH,
            "opened": self.room.seals.open(mine.LEACH_VESSEL),
            "solution": self._solution(PREGNANT, mine.TANKS[0]),
        }
        self._say("drained", "leach.drained", values, at(day, "07:20"))
        values = {
            "batch": BATCH,
            "water_l": f"{WASH_L:.0f}",
            "solution": self._solution(WASH, mine.TANKS[1]),
            "goes_to": "electrowinning",
        }
        self._say("washed", "leach.washed", values, at(day, "09:30"))
        self._discharge(day)

    def _discharge(self, day: datetime) -> None:
        values = {
            "batch": BATCH,
            "residues": [self._residue(each) for each in RESIDUES_OUT],
        }
        self._say("discharged", "leach.discharged", values, at(day, "12:40"))

    def _residue(self, item: str) -> dict[str, Any]:
        room = self.room
        wet = room.chance.uniform(f"residue moisture/{item}", 16.0, 20.0)
        tare_g = 1000 * float(mine.TAILS_BIN_TARE_KG)
        gross_g = room.truth[item].dry_g / (1 - wet / 100) + tare_g
        return {
            "item": item,
            "gross": room.look.reading(mine.PLATFORM, gross_g, f"gross/{item}"),
            "tare": room.look.reading(mine.PLATFORM, tare_g, f"tare/{item}"),
            "moisture_percent": room.look.moisture_percent(wet, item),
            "oven": mine.OVEN,
            "goes_to": "mill",
            "sample": self._numbered(item, "S")[0],
            "sample_mass": self._residue_sample(item),
        }

    def _solution(self, item: str, tank: str) -> dict[str, Any]:
        liquor = self.liquors[item]
        officer, second = self.room.crew(self.room.number("solution"))
        names = self._numbered(item, *"AB")
        return {
            "item": item,
            "volume_l": self.room.look.litres(liquor.litres, tank, item),
            "measured_by": "tank_table",
            "tank": tank,
            "samples": [
                {"item": name, "volume_ml": SAMPLE_ML, "taken_by": who}
                for name, (who, _) in zip(names, (officer, second), strict=True)
            ],
        }

    def _numbered(self, item: str, *sides: str) -> list[str]:
        """Return the numbers of an item's samples, and keep them in mind."""
        self.samples[item] = [self.room.sample(f"{item}-{side}") for side in sides]
        return self.samples[item]

    def use_samples(self, day: datetime) -> None:
        """Write all samples handed to the laboratory and used up there."""
        names = [name for item in self.samples for name in self.samples[item]]
        values = {
            "samples": [{"item": name} for name in names],
            "to": "laboratory",
            "received_by": mine.LABORATORY,
        }
        self._say("samples handed on", "sample.moved", values, at(day, "07:50"))
        rows = []
        for item, taken in self.samples.items():
            for name in taken:
                used = {"used_ml": SAMPLE_ML}
                if item in RESIDUES_OUT:
                    used = {"used_g": self._residue_sample(item)["reading"]}
                rows.append({"sample": name, **used})
        self.room.diary.say(
            f"{BATCH}/samples used", "sample.consumed",
            {"laboratory": "laboratory", "used": rows}, at(day, "10:05"),
            laboratory_hands(self.room),
        )  # fmt: skip

    def _residue_sample(self, item: str) -> dict[str, Any]:
        return self.room.look.reading(mine.BENCH, RESIDUE_SAMPLE_G, f"sample/{item}")

    def assay_solutions(self, day: datetime) -> None:
        """Write the laboratory's worksheet on both solutions and on the residue."""
        look = self.room.look
        rows = []
        for item in (PREGNANT, WASH):
            names = self.samples[item]
            rows.append(
                {
                    "items": [item, *names],
                    "readings": [
                        {
                            "sample": name,
                            "dilution": str(DILUTION),
                            **{
                                f"{metal}_mg_l": look.liquor_mg_l(
                                    self.liquors[item],
                                    metal,
                                    f"{item}-{side}",
                                    DILUTION,
                                )
                                for metal in ("gold", "silver")
                            },
                        }
                        for side, name in zip("AB", names, strict=True)
                    ],
                }
            )
        values = {
            "laboratory": "laboratory",
            "method": "atomic_absorption",
            "standing": "final",
            "sampler": "dipper-1",
            "gold_blank_mg_l": "0.00",
            "gold_detection_mg_l": "0.02",
            "silver_blank_mg_l": "0.00",
            "silver_detection_mg_l": "0.01",
            "solutions": rows,
        }
        self.room.diary.say(
            f"{BATCH}/solution assay", "solution_assay.reported", values,
            at(day, "10:20"), laboratory_hands(self.room),
        )  # fmt: skip
        report_assay(
            self.room,
            f"assay/{BATCH}/residues",
            RESIDUES,
            [
                {
                    "items": [item, *self.samples[item]],
                    "sample": self.samples[item][0],
                    "unit": RESIDUES.unit,
                    **look.contents(
                        RESIDUES, self.room.truth[item], sample=item, assay=item
                    ),
                }
                for item in RESIDUES_OUT
            ],
            at(day, "11:05"),
        )

    def _say(
        self, name: str, kind: str, values: dict[str, Any], when: datetime
    ) -> None:
        said = {key: value for key, value in values.items() if value != []}
        turn = self.room.number("leach crew")
        self.room.diary.say(f"{BATCH}/{name}", kind, said, when, self.room.crew(turn))
