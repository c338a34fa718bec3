"""The cell after the leach: its runs, its sludge, and the smelt's other metal.

Solutions of the leach run through the cell; the sludge is dried and calcined, and
joins the next smelt beside sludge from the plant's elution.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.liquor import CALCINED, Liquor, electrowin, wash_cathodes
from goldroom.demo.looking import SLUDGES
from goldroom.demo.room import Room, at
from goldroom.demo.shifts import report_assay
from goldroom.demo.truth import Matter, together

LOAD, SLUDGE, CALCINE, HEEL = "CL-01", "SLU-01", "CAL-01", "HEEL-01"
TRAY_TARE_G = 1840.0
SAMPLED_L = 0.5
CELL_A = 260


@dataclass
class CellWork:
    """What the crews at the cell keep in mind; `liquors` come from the leach."""

    room: Room
    liquors: Mapping[str, Liquor]
    plated: list[Matter] = field(default_factory=list)

    def close_cell(self, day: datetime) -> None:
        """Write the cell closed over clean cathodes, before its first run."""
        fitted = self.room.seals.fit(mine.CELL, "lid")
        values = {"cell": mine.CELL, "seals_fitted": fitted}
        self._say("cell closed", "cells.closed", values, at(day, "13:45"))

    def run_cell(self, day: datetime, item: str, *, clock: str, hours: int) -> None:
        """Write a run of the cell over one solution, from `clock` on."""
        room = self.room
        name = f"run/{item}"
        liquor = self.liquors[item]
        pregnant = liquor.without(liquor.part(SAMPLED_L))
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
            "readings": _cell_readings(pregnant, barren, started, hours),
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
        turn = self.room.number("cell crew")
        self.room.diary.say(f"{LOAD}/{name}", kind, said, when, self.room.crew(turn))


def _cell_readings(
    pregnant: Liquor, barren: Liquor, started: datetime, hours: int
) -> list[dict[str, Any]]:
    """Return the cell read at the start, half way and at the end of a run."""
    start, end = pregnant.mg_l("gold"), barren.mg_l("gold")
    rows = []
    for n, (more_a, volts) in enumerate(((0, "3.1"), (2, "3.0"), (-1, "3.0"))):
        going_in = max(start * 0.06**n, end)
        rows.append(
            {
                "at": (started + timedelta(hours=hours * n / 2)).isoformat(),
                "amperes": str(CELL_A + more_a),
                "volts": volts,
                "pregnant_mg_l": f"{going_in:.1f}",
                "barren_mg_l": f"{max(going_in * 0.4, end):.1f}",
            }
        )
    return rows
