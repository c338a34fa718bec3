"""Samples as metal: numbered, taken, divided, used by laboratories, given back.

A lot is assayed by screen, with one sample in place of another; a pour by the
worksheet of its fire assay; and of every pour that ships, a dip sample is divided
for the mine, the refinery and the umpire. What comes back waits for a furnace.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from goldroom.demo import mine
from goldroom.demo.looking import BARS, LOTS, shown
from goldroom.demo.lots import Lot
from goldroom.demo.room import SAMPLE_DIGITS, Room, at, hands
from goldroom.demo.shifts import laboratory_hands
from goldroom.demo.smelting import Pour
from goldroom.demo.truth import Matter, together
from goldroom.demo.worksheets import (
    SCREEN_UM,
    USED_G,
    Screened,
    fire_assay,
    screen,
    screen_assay,
)

PREFIX = "E-"
SPEARED_G = (420.0, 560.0)
"""What the spear brought up, dried: at the first try and at the second."""
SHARES = {"mine": 0.36, "refiner": 0.33, "umpire": 0.31}
HANDED_BY = mine.OFFICERS[0]


@dataclass(frozen=True)
class Divided:
    """A pour's dip sample in portions: ids and seals by whom they are for."""

    pour: Pour
    portions: Mapping[str, str]
    seals: Mapping[str, str]


@dataclass
class SampleWork:
    """What the room keeps in mind of its samples."""

    room: Room
    divided: list[Divided] = field(default_factory=list)
    used: list[str] = field(default_factory=list)
    """Samples of bullion that the laboratory cupelled, whose cornets come back."""
    for_furnace: list[str] = field(default_factory=list)
    """Remains and cornets of bullion that came back."""
    for_safe: list[str] = field(default_factory=list)
    """Remains of the lot's samples that came back."""
    screened: dict[str, str] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)
    """What the laboratory left of samples and has not given back yet."""

    def number_from_now_on(self, day: datetime) -> None:
        """Write the numbering of samples with a check character."""
        values = {
            "numbers": "sample",
            "prefix": PREFIX,
            "digits": SAMPLE_DIGITS,
            "with_check": True,
        }
        self.room.diary.say(
            "sample numbers", "number_series.set", values, at(day, "15:20"),
            hands(mine.SECURITY[0], mine.METALLURGIST),
        )  # fmt: skip
        self.room.sample_prefix = PREFIX

    def divide_dips(self, going: Sequence[Pour], last: Pour, day: datetime) -> None:
        """Write a dip of each pour that ships divided, and what is to be assayed.

        The mine's portions go to the laboratory with the other dip of the last pour;
        the other dips were assayed before and wait for a furnace.
        """
        for made in going:
            self._divide_dip(made, day)
        self.used = [each.portions["mine"] for each in self.divided]
        self.used.append(last.samples[0])
        self.for_furnace += [each.samples[0] for each in going if each is not last]
        values = {
            "samples": [{"item": each} for each in self.used],
            "to": "laboratory",
            "received_by": mine.LABORATORY,
        }
        self._move("mine's portions", values, at(day, "11:05"))

    def _divide_dip(self, made: Pour, day: datetime) -> None:
        room, dip = self.room, made.samples[1]
        portions, seals, rows = {}, {}, []
        for whose, share in SHARES.items():
            name = room.sample(f"{dip}-{whose}")
            room.truth[name] = room.truth[dip].part(dry=share, gold=share)
            portions[whose] = name
            row = {
                "item": name,
                "portion": whose,
                "mass": room.look.reading(
                    mine.SMALL, room.truth[name].dry_g, f"mass/{name}"
                ),
            }
            if whose != "mine":
                (sealed,) = room.seals.fit(name, "envelope")
                seals[whose] = row["seal"] = sealed["seal"]
            rows.append(row)
        room.diary.say(
            f"split/{dip}", "sample.split", {"sample": dip, "portions": rows},
            at(day, f"10:{10 + 12 * len(self.divided)}"), room.crew(made.n),
        )  # fmt: skip
        self.divided.append(Divided(made, portions, seals))

    def send_portions(self, day: datetime) -> None:
        """Write the refinery's and the umpire's portions going with the bars."""
        rows = [
            {"item": each.portions[whose], "seal_seen": seen(each.seals[whose])}
            for each in self.divided
            for whose in ("refiner", "umpire")
        ]
        values = {
            "samples": rows,
            "to": mine.REFINERY,
            "received_by_outsider": f"{mine.CARRIER_PERSON}, {mine.CARRIER}",
        }
        self._move("portions shipped", values, at(day, "10:50"))

    def cupel(self, day: datetime) -> None:
        """Write what the laboratory cupelled of the samples it was handed."""
        self._consume("cupelled", self.used, at(day, "14:40"))

    def give_back(self, day: datetime) -> None:
        """Write the cornets and the remains coming back to the room."""
        room = self.room
        parts = [room.truth[each] for each in self.used]
        gold_g = sum(USED_G * part.content("gold") for part in parts)
        cornets = room.sample("COR-01")
        mass = room.look.reading(mine.SMALL, gold_g * 1.0005, f"mass/{cornets}")
        room.truth[cornets] = Matter(gold_g * 1.0005, gold_g, gold_g * 0.0005)
        row = {
            "item": cornets,
            "what": "cornets",
            "of": self.used,
            "mass": mass,
            "gold_g": mass["reading"],
            "gold_u_g": "0.02",
        }
        values = {"place": "gold_room", "returned": [row]}
        room.diary.say(
            "cornets", "sample.returned", values, at(day, "11:15"), room.crew(1)
        )
        self.for_furnace.append(cornets)
        self.for_furnace += self._hand_back("remains", at(day, "11:25"))

    def assay_pour(self, made: Pour, *, after_d: int) -> None:
        """Write the fire assay's worksheet of a pour, in place of a plain report."""
        room, sample = self.room, made.item("K-DIP")
        melt = together(room.truth[bar] for bar in made.bars)
        found = room.look.contents(BARS, melt, sample=sample, assay=sample)
        portions, proofs = fire_assay(room.chance, sample, **found)
        values = {
            "laboratory": "laboratory",
            "standing": "final",
            "sampler": BARS.sampler,
            "samples": [
                {
                    "sample": made.samples[0],
                    "items": [*made.bars, *made.samples],
                    "unit": "permille",
                    "portions": portions,
                }
            ],
            "proofs": proofs,
        }
        room.diary.say(
            f"worksheet/{made.n}", "fire_assay.reported", values,
            at(made.day, "16:30", days=after_d), laboratory_hands(room),
        )  # fmt: skip

    def spear(self, lot: Lot) -> None:
        """Write a lot's sample, another in its place, and the good one divided."""
        name = lot.item("LOT")
        first = self._spear_once(lot, name, 0, at(lot.day, "09:35"))
        second = self._spear_once(lot, name, 1, at(lot.day, "11:10"), replaces=first)
        self.for_safe.append(first)
        room = self.room
        rows: list[dict[str, Any]] = []
        for whose in ("mine", "reserve"):
            portion = room.sample(f"{second}-{whose}")
            room.truth[portion] = room.truth[second].part(dry=0.5, gold=0.5)
            row = {
                "item": portion,
                "portion": whose,
                "mass": room.look.reading(
                    mine.SMALL, room.truth[portion].dry_g, f"mass/{portion}"
                ),
            }
            if whose == "reserve":
                row["seal"] = room.seals.fit(portion, "envelope")[0]["seal"]
            rows.append(row)
        room.diary.say(
            f"split/{second}", "sample.split", {"sample": second, "portions": rows},
            at(lot.day, "11:30"), room.crew(lot.turn),
        )  # fmt: skip
        self.screened[name] = str(rows[0]["item"])
        values = {
            "samples": [{"item": rows[0]["item"]}],
            "to": "laboratory",
            "received_by": mine.LABORATORY,
        }
        self._move(f"{name} to the laboratory", values, at(lot.day, "13:20"))

    def _spear_once(
        self, lot: Lot, name: str, n: int, when: datetime, **more: str
    ) -> str:
        room = self.room
        sample = room.sample(f"SPR-{lot.n:03d}-{n + 1}")
        share = SPEARED_G[n] / room.truth[name].dry_g
        room.truth[sample] = room.truth[name].part(dry=share, gold=share)
        room.truth[name] = room.truth[name].without(room.truth[sample])
        row = {
            "item": sample,
            "mass": room.look.reading(mine.SMALL, SPEARED_G[n], f"mass/{sample}"),
            "moisture_percent": "0",
            "oven": mine.OVEN,
            **more,
        }
        values = {
            "item": name,
            "way": "spear",
            "opened": room.seals.open(mine.LOT_BIN),
            "samples": [row],
            "closed": room.seals.close((mine.LOT_BIN, "lid")),
        }
        room.diary.say(
            f"speared/{sample}", "sample.taken", values, when, room.crew(lot.turn)
        )
        return sample

    def report_screen(self, lot: Lot) -> None:
        """Write the screen assay of a lot's sample, and what it used of it."""
        room, name = self.room, lot.item("LOT")
        sample = self.screened[name]
        screened = screen(room.chance, name, room.truth[sample].dry_g)
        self._consume_screened(sample, screened, at(lot.day, "14:30", days=1))
        found = room.look.contents(
            LOTS, room.truth[name], sample=f"K-{name}", assay=f"K-{name}"
        )
        row = screen_assay(room.chance, name, screened, **found)
        values = {
            "laboratory": "laboratory",
            "standing": "final",
            "sampler": LOTS.sampler,
            "screen_um": SCREEN_UM,
            "samples": [{"sample": sample, "items": [name], **row}],
        }
        room.diary.say(
            f"screen/{name}", "screen_assay.reported", values,
            at(lot.day, "16:00", days=1), laboratory_hands(room),
        )  # fmt: skip

    def _consume_screened(
        self, sample: str, screened: Screened, when: datetime
    ) -> None:
        room = self.room
        whole = room.truth[sample]
        left = room.sample(f"{sample}-L")
        share = 1 - screened.used_g / whole.dry_g
        room.truth[left] = whole.part(dry=share, gold=share)
        row = {
            "sample": sample,
            "used_g": shown(screened.used_g, "0.01"),
            "left": {"item": left, "mass_g": shown(room.truth[left].dry_g, "0.01")},
        }
        values = {"laboratory": "laboratory", "used": [row]}
        room.diary.say(
            f"used/{sample}", "sample.consumed", values, when, laboratory_hands(room)
        )
        self.left.append(left)

    def keep_pulps(self, day: datetime) -> None:
        """Write what is left of the lot's samples locked away for the next charge."""
        room = self.room
        self.for_safe += self._hand_back("pulps", at(day, "08:50"))
        values = {
            "safe": mine.CONCENTRATE_SAFE,
            "opened": room.seals.open(mine.CONCENTRATE_SAFE),
            "items": self.for_safe,
            "closed": room.seals.close((mine.CONCENTRATE_SAFE, "door")),
        }
        room.diary.say(
            "pulps kept", "vault.placed", values, at(day, "15:35"),
            hands(HANDED_BY, mine.SECURITY[1]),
        )  # fmt: skip
        room.in_concentrate_safe += self.for_safe

    def use_drillings(self, drillings: Sequence[str], day: datetime) -> None:
        """Write drillings handed to the laboratory, used, and their remains back."""
        values = {
            "samples": [{"item": each} for each in drillings],
            "to": "laboratory",
            "received_by": mine.LABORATORY,
        }
        self._move("drillings", values, at(day, "10:55"))
        self._consume("drillings used", drillings, at(day, "14:50"))
        self.for_furnace += self._hand_back(
            "drillings' remains", at(day, "06:50", days=1)
        )

    def _consume(self, name: str, samples: Sequence[str], when: datetime) -> None:
        """Write two portions cupelled of each sample, and what was left of it."""
        room, rows = self.room, []
        for each in samples:
            whole = room.truth[each]
            left = room.sample(f"{each}-L")
            share = 1 - USED_G / whole.dry_g
            room.truth[left] = whole.part(dry=share, gold=share)
            left_g = shown(room.truth[left].dry_g, "0.01")
            rows.append(
                {
                    "sample": each,
                    "used_g": shown(USED_G, "0.01"),
                    "left": {"item": left, "mass_g": left_g},
                }
            )
            self.left.append(left)
        room.diary.say(
            name, "sample.consumed", {"laboratory": "laboratory", "used": rows}, when,
            laboratory_hands(room),
        )  # fmt: skip

    def _hand_back(self, name: str, when: datetime) -> list[str]:
        """Write what the laboratory left handed back to the room; return it."""
        back, self.left = self.left, []
        values = {
            "samples": [{"item": each} for each in back],
            "to": "gold_room",
            "received_by": HANDED_BY,
        }
        self._move(f"{name} back", values, when)
        return back

    def _move(self, name: str, values: dict[str, Any], when: datetime) -> None:
        crew = self.room.crew(self.room.number("samples handed"))
        self.room.diary.say(f"moved/{name}", "sample.moved", values, when, crew)


def seen(seal: str) -> dict[str, str]:
    """Return an envelope's seal as seen in good order."""
    return {"seal": seal, "tamper_signs": "none"}
