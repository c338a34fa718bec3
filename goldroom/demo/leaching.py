"""The intensive leach week: a lot and two tails leached, their gold won in a cell.

The table stands still for a day, so a lot goes to the leach with tails kept from
earlier runs. Its solutions run through the cell, the sludge is dried and calcined,
and joins the next smelt beside sludge from the plant's elution.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.liquor import (
    CALCINED,
    Leached,
    Liquor,
    electrowin,
    leach,
    mixed,
    wash_cathodes,
)
from goldroom.demo.looking import RESIDUES, SLUDGES
from goldroom.demo.lots import Lot
from goldroom.demo.room import Room, at
from goldroom.demo.shifts import laboratory_hands, report_assay
from goldroom.demo.truth import Matter, together

BATCH, PREGNANT, WASH = "LB-01", "SOL-01", "SOL-02"
RESIDUES_OUT = ("RES-01", "RES-02")
"""The residue fills the bin twice."""
LOAD, SLUDGE, CALCINE, HEEL = "CL-01", "SLU-01", "CAL-01", "HEEL-01"
SOLUTION_L, WASH_L = 2600.0, 900.0
TRAY_TARE_G = 1840.0
SAMPLE_ML = "250"
RESIDUE_SAMPLE_G = 1090.0
CELL_A = 260
DILUTION = 100


@dataclass
class LeachWeek:
    """What the week's crews keep in mind from one day to the next."""

    room: Room
    tails: list[str] = field(default_factory=list)
    liquors: dict[str, Liquor] = field(default_factory=dict)
    plated: list[Matter] = field(default_factory=list)

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
            "sample": f"{item}-S",
            "sample_mass": room.look.reading(
                mine.BENCH, RESIDUE_SAMPLE_G, f"sample/{item}"
            ),
        }

    def _solution(self, item: str, tank: str) -> dict[str, Any]:
        liquor = self.liquors[item]
        officer, second = self.room.crew(self.room.number("solution"))
        return {
            "item": item,
            "volume_l": self.room.look.litres(liquor.litres, tank, item),
            "measured_by": "tank_table",
            "tank": tank,
            "samples": [
                {"item": f"{item}-{side}", "volume_ml": SAMPLE_ML, "taken_by": who}
                for side, (who, _) in (("A", officer), ("B", second))
            ],
        }

    def assay_solutions(self, day: datetime) -> None:
        """Write the laboratory's worksheet on both solutions and on the residue."""
        look = self.room.look
        rows = []
        for item in (PREGNANT, WASH):
            names = [f"{item}-{side}" for side in "AB"]
            rows.append(
                {
                    "items": [item, *names],
                    "readings": [
                        {
                            "sample": name,
                            "dilution": str(DILUTION),
                            **{
                                f"{metal}_mg_l": look.liquor_mg_l(
                                    self.liquors[item], metal, name, DILUTION
                                )
                                for metal in ("gold", "silver")
                            },
                        }
                        for name in names
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
                    "items": [item, f"{item}-S"],
                    "sample": f"{item}-S",
                    "unit": RESIDUES.unit,
                    **look.contents(
                        RESIDUES, self.room.truth[item], sample=item, assay=item
                    ),
                }
                for item in RESIDUES_OUT
            ],
            at(day, "11:05"),
        )

    def close_cell(self, day: datetime) -> None:
        """Write the cell closed over clean cathodes, before its first run."""
        values = {
            "cell": mine.CELL,
            "seals_fitted": self.room.seals.fit(mine.CELL, "lid"),
        }
        self._say("cell closed", "cells.closed", values, at(day, "13:45"))

    def run_cell(self, day: datetime, item: str, *, clock: str, hours: int) -> None:
        """Write a run of the cell over one solution, from `clock` on."""
        room = self.room
        name = f"run/{item}"
        pregnant = mixed([self.liquors[item].without(self.liquors[item].part(0.5))])
        barren, plated = electrowin(room.chance, name, pregnant)
        self.plated.append(plated)
        started = at(day, clock)
        ended = started + timedelta(hours=hours)
        values = {
            "cell": mine.CELL,
            **({"load": LOAD} if len(self.plated) == 1 else {}),
            "solutions": [item],
            "started_at": started.isoformat(),
            "ended_at": ended.isoformat(),
            "readings": self._cell_readings(pregnant, barren, started, hours),
            "charge_ah": str(CELL_A * hours),
            "barren": {
                "item": f"BAR-{item}",
                "volume_l": room.look.litres(barren.litres, mine.TANKS[2], name),
                "gold_mg_l": f"{barren.mg_l('gold'):.1f}",
                "silver_mg_l": f"{barren.mg_l('silver'):.1f}",
                "goes_to": "mill",
                "tank": mine.TANKS[2],
            },
        }
        self._say(name, "cells.run", values, ended + timedelta(minutes=15))

    def _cell_readings(
        self, pregnant: Liquor, barren: Liquor, started: datetime, hours: int
    ) -> list[dict[str, Any]]:
        start, end = pregnant.mg_l("gold"), barren.mg_l("gold")
        rows = []
        for n in range(3):
            left = 0.06**n
            rows.append(
                {
                    "at": (started + timedelta(hours=hours * n / 2)).isoformat(),
                    "amperes": str(CELL_A + (0, 2, -1)[n]),
                    "volts": ("3.1", "3.0", "3.0")[n],
                    "pregnant_mg_l": f"{max(start * left, end):.1f}",
                    "barren_mg_l": f"{max(start * left * 0.4, end):.1f}",
                }
            )
        return rows

    def clean_cell(self, day: datetime) -> None:
        """Write the cell opened and its cathodes washed, two persons beside it."""
        room = self.room
        values: dict[str, Any] = {
            "cell": mine.CELL,
            "reason": "cleanup",
            "seals_removed": room.seals.remove(mine.CELL),
        }
        self._say("cell opened", "cells.opened", values, at(day, "06:35"))
        sludge, heel = wash_cathodes(room.chance, LOAD, together(self.plated))
        room.truth[SLUDGE] = sludge
        wet_g = sludge.dry_g / 0.58 + TRAY_TARE_G
        gold_g = room.look.guess_g(heel.gold_g, 0.3, "cathode heel")
        silver_g = room.look.guess_g(heel.silver_g, 0.3, "cathode heel silver")
        values = {
            "cell": mine.CELL,
            "load": LOAD,
            "cathodes": 12,
            "sludges": [
                {
                    "item": SLUDGE,
                    "came_off": "cathodes",
                    "gross": room.look.reading(mine.BENCH, wet_g, "sludge wet"),
                    "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, "sludge tray"),
                    "vessel": mine.SLUDGE_TRAY,
                }
            ],
            "heel": {
                "item": HEEL,
                "gold_g": gold_g,
                "gold_u_g": f"{0.3 * float(gold_g):.1f}",
                "silver_g": silver_g,
                "silver_u_g": f"{0.3 * float(silver_g):.1f}",
                "method": "by eye, grey film on four cathodes, as in earlier cleanings",
            },
            "closed": room.seals.close((mine.CELL, "lid")),
        }
        self._say("cell cleaned", "cells.cleaned", values, at(day, "07:40"))
        self._dry(day, wet_g)

    def _dry(self, day: datetime, wet_g: float) -> None:
        room = self.room
        dry_g = room.truth[SLUDGE].dry_g + TRAY_TARE_G
        values = {
            "item": SLUDGE,
            "wet_gross": room.look.reading(mine.BENCH, wet_g, "sludge wet again"),
            "wet_tare": room.look.reading(mine.BENCH, TRAY_TARE_G, "sludge tray again"),
            "gross": room.look.reading(mine.BENCH, dry_g, "sludge dry"),
            "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, "sludge tray dry"),
            "vessel": mine.SLUDGE_TRAY,
            "oven": mine.DRYER,
            "start_c": "25",
            "end_c": "140",
        }
        self._say("sludge dried", "material.dried", values, at(day, "17:20"))

    def calcine(self, day: datetime) -> None:
        """Write the sludge calcined, put into the safe and assayed the day after."""
        room = self.room
        sludge = room.truth[SLUDGE]
        calcine = Matter(sludge.dry_g * CALCINED, sludge.gold_g, sludge.silver_g)
        room.truth[CALCINE] = calcine
        values = {
            "item": SLUDGE,
            "calcine": CALCINE,
            "gross": room.look.reading(
                mine.BENCH, calcine.dry_g + TRAY_TARE_G, "calcine"
            ),
            "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, "calcine tray"),
            "vessel": mine.CONCENTRATE_SAFE,
            "furnace": mine.DRYER,
            "driven_off": "water of the salts, carbon of the steel wool's dressing",
            "start_c": "30",
            "end_c": "640",
            "opened": room.seals.open(mine.CONCENTRATE_SAFE),
            "closed": room.seals.close((mine.CONCENTRATE_SAFE, "door")),
        }
        self._say("calcined", "material.calcined", values, at(day, "13:10"))
        room.in_concentrate_safe.append(CALCINE)
        sample = f"K-{CALCINE}"
        row = {
            "items": [CALCINE],
            "sample": sample,
            "unit": SLUDGES.unit,
            **room.look.contents(SLUDGES, calcine, sample=sample, assay=sample),
        }
        report_assay(room, f"assay/{CALCINE}", SLUDGES, [row], at(day, "15:50", days=1))

    def receive_elution_sludge(self, day: datetime) -> None:
        """Write dried sludge of the plant's elution, taken in to join the smelt."""
        room = self.room
        item = "OM-01"
        gold_g = room.chance.uniform("elution gold", 540.0, 620.0)
        matter = Matter(gold_g / 0.58, gold_g, gold_g * 0.18)
        room.truth[item] = matter
        values = {
            "item": item,
            "origin": "elution_sludge",
            "from_where": "elution cells of the leach plant, week 42",
            "handed_over_by": mine.METALLURGIST,
            "goes_to": "smelt",
            "place": "gold_room",
            "vessel": mine.CONCENTRATE_SAFE,
            "gross": room.look.reading(mine.BENCH, matter.dry_g + TRAY_TARE_G, item),
            "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, f"tare/{item}"),
            "condition": "dry",
            "sample": f"K-{item}",
            "opened": room.seals.open(mine.CONCENTRATE_SAFE),
            "closed": room.seals.close((mine.CONCENTRATE_SAFE, "door")),
        }
        self._say("elution sludge", "other_metal.received", values, at(day, "14:20"))
        room.in_concentrate_safe.append(item)
        row = {
            "items": [item],
            "sample": f"K-{item}",
            "unit": SLUDGES.unit,
            **room.look.contents(SLUDGES, matter, sample=f"K-{item}", assay=item),
        }
        report_assay(room, f"assay/{item}", SLUDGES, [row], at(day, "16:40", days=1))

    def _say(
        self, name: str, kind: str, values: dict[str, Any], when: datetime
    ) -> None:
        said = {key: value for key, value in values.items() if value != []}
        turn = self.room.number("leach crew")
        self.room.diary.say(f"{BATCH}/{name}", kind, said, when, self.room.crew(turn))
