"""A bar found uneven: drilled, weighed in water, melted again under a new number.

With it into the furnace go what the laboratory left of earlier samples, and its
cornets; what lay about the furnace afterwards is swept up.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from goldroom.demo import mine
from goldroom.demo.looking import BARS, shown
from goldroom.demo.room import Room, at, hands
from goldroom.demo.sampling import SampleWork
from goldroom.demo.shifts import report_assay
from goldroom.demo.smelting import (
    FIRST_STAMP,
    SLAG_GUESS_U,
    SLAG_POT_TARE_G,
    Pour,
)
from goldroom.demo.truth import Matter, RemeltProducts, melt_again, together
from goldroom.metal.bar_density import ideal_density_g_cm3

CHARGE, BAR, SLAG, SWEEPINGS = "RM-01", "RM-01-1", "SLG-RM-01", "SWP-01"
DRILLED_G = 4.0
UNEVEN = 0.0024
"""By what share of its gold the top is richer than the bar, the bottom poorer."""
FLUX_G = 380.0
PORES = 0.004
WATER_C, WATER_G_CM3, AIR_G_CM3 = "21.5", 0.99788, 0.0012
SWEEPINGS_GUESS_U = 0.3
DUSTPAN_G = 21.4


@dataclass
class Remelt:
    """One bar of a pour on its way back through the furnace."""

    room: Room
    samples: SampleWork
    pour: Pour

    def drill(self, day: datetime) -> None:
        """Write a bar drilled above and below, its neighbour weighed in water."""
        room, bar = self.room, self.pour.bars[0]
        self._weigh_in_water(self.pour.bars[1], at(day, "09:10"))
        whole = room.truth[bar]
        rows, drillings = [], []
        for side, more in (("top", UNEVEN), ("bottom", -UNEVEN)):
            name = room.sample(f"DRL-{bar}-{side}")
            share = DRILLED_G / whole.dry_g
            room.truth[name] = whole.part(
                dry=share, gold=share * (1 + more), silver=share * (1 - 4 * more)
            )
            mass = room.look.reading(mine.SMALL, DRILLED_G, f"mass/{name}")
            rows.append({"item": name, "taken_by": "drill", "mass": mass})
            drillings.append(name)
        room.truth[bar] = whole.without(together(room.truth[e] for e in drillings))
        mass_g = room.truth[bar].dry_g
        values = {
            "item": bar,
            "taken": rows,
            "first": room.look.reading(mine.BULLION, mass_g, f"drilled/{bar}"),
            "second": room.look.reading(mine.BULLION, mass_g, f"drilled again/{bar}"),
        }
        self._say("drilled", "bar.reweighed", values, at(day, "09:35"))
        values = {
            "safe": mine.BAR_SAFE,
            "items": [bar],
            "closed": room.seals.close((mine.BAR_SAFE, "door")),
        }
        self._place("drilled bar back", values, at(day, "10:15"))
        self.samples.use_drillings(drillings, day)
        self._found(drillings, day)

    def _weigh_in_water(self, bar: str, when: datetime) -> None:
        room = self.room
        mass_g = room.truth[bar].dry_g
        density = true_density_g_cm3(room.truth[bar])
        in_water_g = mass_g * (density - WATER_G_CM3) / (density - AIR_G_CM3)
        values = {
            "item": bar,
            "opened": room.seals.open(mine.BAR_SAFE),
            "in_air": room.look.reading(mine.BULLION, mass_g, f"air/{bar}"),
            "in_water": room.look.reading(mine.BULLION, in_water_g, f"water/{bar}"),
            "water_temperature_c": WATER_C,
        }
        self._say("weighed in water", "bar.density_measured", values, when)

    def _found(self, drillings: list[str], day: datetime) -> None:
        """Write what the laboratory found above and below."""
        room, rows = self.room, []
        self.uneven: list[str] = []
        for name in drillings:
            found = room.look.contents(
                BARS, room.truth[name], sample=self.pour.bars[0], assay=name
            )
            self.uneven.append(found["gold"])
            rows.append({"items": [name], "sample": name, "unit": BARS.unit, **found})
        report_assay(room, "assay/drillings", BARS, rows, at(day, "16:40"))

    def melt(self, day: datetime) -> None:
        """Write the bar melted again with remains and cornets, and the new bar."""
        room, bar = self.room, self.pour.bars[0]
        sources = self.samples.for_furnace
        whole = together(room.truth[each] for each in (bar, *sources))
        top, bottom = self.uneven
        old = self.pour.stamps.pop(bar)
        values: dict[str, Any] = {
            "charge": CHARGE,
            "furnace": mine.FURNACE,
            "crucible": "B1",
            "crucible_uses": 0,
            "opened": room.seals.open(mine.BAR_SAFE),
            "bars": [{"item": bar, "stamped": old}],
            "sources": [{"item": each} for each in sources],
            "fluxes": [{"flux": "borax", "mass_kg": f"{FLUX_G / 1000:.2f}"}],
            "reason": "not_homogeneous",
            "detail": f"drilled at the top {top} ‰ gold, at the bottom {bottom} ‰",
            "closed": room.seals.close((mine.BAR_SAFE, "door")),
        }
        self._say("charged", "remelt.charged", values, at(day, "07:40"))
        room.in_bar_safe.remove(old)
        made = melt_again(room.chance, CHARGE, whole, FLUX_G)
        self._pour(made, day)
        self._number(made, day)
        self._weigh_leavings(made, day)

    def _pour(self, made: RemeltProducts, day: datetime) -> None:
        room = self.room
        dip = room.sample("DIP-RM-01")
        room.truth |= {
            BAR: made.bar, dip: made.sample, SLAG: made.slag, SWEEPINGS: made.sweepings
        }  # fmt: skip
        mass = room.look.reading(mine.SMALL, made.sample.dry_g, f"mass/{dip}")
        values = {
            "charge": CHARGE,
            "place": "gold_room",
            "tapped_at": at(day, "10:05").isoformat(),
            "temperature_c": "1190",
            "castings": [{"item": BAR, "mould": "M1"}],
            "slag": SLAG,
            "samples": [{"item": dip, "taken_by": "dip", "mass": mass}],
        }
        self._say("poured", "charge.poured", values, at(day, "10:10"))
        row = {
            "items": [BAR, dip],
            "sample": dip,
            "unit": BARS.unit,
            **room.look.contents(BARS, made.bar, sample=dip, assay=dip),
        }
        report_assay(
            room, f"fire assay/{CHARGE}", BARS, [row], at(day, "16:30", days=3)
        )

    def _number(self, made: RemeltProducts, day: datetime) -> None:
        room = self.room
        stamp = f"OF-{FIRST_STAMP + room.number('stamp') - 1:04d}"
        mass_g = made.bar.dry_g
        values: dict[str, Any] = {
            "item": BAR,
            "stamped": stamp,
            "first": room.look.reading(mine.BULLION, mass_g, f"first/{BAR}"),
            "second": room.look.reading(mine.BULLION, mass_g, f"second/{BAR}"),
        }
        self._say("numbered", "bar.numbered", values, at(day, "13:40"))
        self.pour.bars[0] = BAR
        self.pour.stamps[BAR] = stamp
        room.in_bar_safe.append(stamp)
        values = {
            "safe": mine.BAR_SAFE,
            "opened": room.seals.open(mine.BAR_SAFE),
            "items": [BAR],
            "closed": room.seals.close((mine.BAR_SAFE, "door")),
        }
        self._place("new bar", values, at(day, "15:20"))

    def _weigh_leavings(self, made: RemeltProducts, day: datetime) -> None:
        """Write the slag weighed and what lay about the furnace swept up."""
        room = self.room
        values = {
            "item": SLAG,
            "gross": room.look.reading(
                mine.BULLION, made.slag.dry_g + SLAG_POT_TARE_G, f"gross/{SLAG}"
            ),
            "tare": room.look.reading(mine.BULLION, SLAG_POT_TARE_G, f"tare/{SLAG}"),
            **self._guessed(made.slag, SLAG, SLAG_GUESS_U),
            "method": "a thin borax slag, prills picked out under the lamp",
        }
        self._say("slag", "slag.weighed", values, at(day, "14:05"))
        values = {
            "item": SWEEPINGS,
            "what": "floor_sweepings",
            "charges": [CHARGE],
            "place": "gold_room",
            "gross": room.look.reading(
                mine.SMALL, made.sweepings.dry_g + DUSTPAN_G, f"gross/{SWEEPINGS}"
            ),
            "tare": room.look.reading(mine.SMALL, DUSTPAN_G, f"tare/{SWEEPINGS}"),
            "estimate": {
                **self._guessed(made.sweepings, SWEEPINGS, SWEEPINGS_GUESS_U),
                "method": "prills counted on the tray, as after earlier pours",
            },
        }
        self._say("swept", "sweepings.collected", values, at(day, "14:40"))

    def _guessed(self, matter: Matter, item: str, u: float) -> dict[str, str]:
        look = self.room.look
        said = {}
        for metal, true_g in (("gold", matter.gold_g), ("silver", matter.silver_g)):
            guess = look.guess_g(true_g, u, f"{metal}/{item}")
            said[f"{metal}_g"] = guess
            said[f"{metal}_u_g"] = shown(max(u * float(guess), 0.1), "0.1")
        return said

    def _place(self, name: str, values: dict[str, Any], when: datetime) -> None:
        signers = hands(mine.OFFICERS[1], mine.SECURITY[0])
        self.room.diary.say(f"{CHARGE}/{name}", "vault.placed", values, when, signers)

    def _say(
        self, name: str, kind: str, values: dict[str, Any], when: datetime
    ) -> None:
        crew = self.room.crew(self.room.number("remelt crew"))
        self.room.diary.say(f"{CHARGE}/{name}", kind, values, when, crew)


def true_density_g_cm3(bar: Matter) -> float:
    """Return a bar's density: mixed ideally, the rest copper, and a few pores."""
    gold, silver = 100 * bar.content("gold"), 100 * bar.content("silver")
    mixed = {"Au": gold, "Ag": silver, "Cu": 100 - gold - silver}
    return ideal_density_g_cm3(mixed) * (1 - PORES)
