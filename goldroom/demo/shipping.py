"""Vault counts and dispatches: advised, handed over, received, melted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.room import Room, at, hands
from goldroom.demo.smelting import Pour
from goldroom.demo.truth import Matter, refinery_melt, together

BOX_TARE_G = 4200.0
RUVI, HALE = mine.SECURITY


@dataclass(frozen=True)
class Melt:
    """A refinery's melt of a pour's bars: what it said, and what is really there."""

    name: str
    pour: Pour
    said: Mapping[str, Any]
    truth: Matter
    at: datetime


def count_vault(room: Room, day: datetime) -> None:
    """Write a count by people who did not place the bars, without the book's list."""
    seen = room.seals.seen(mine.BAR_SAFE)
    values = {
        "safe": mine.BAR_SAFE,
        "seals_seen": seen,
        "opened": room.seals.open(mine.BAR_SAFE),
        "found": sorted(room.in_bar_safe, reverse=True),
        "closed": room.seals.close((mine.BAR_SAFE, "door")),
    }
    if not room.in_bar_safe:
        del values["found"]
    room.diary.say(
        f"count/{day:%m%d}", "vault.counted", values, at(day, "09:40"),
        hands(HALE, mine.ACCOUNTANT),
    )  # fmt: skip


class Dispatch:
    """One shipment of whole pours, in one box."""

    def __init__(self, room: Room, day: datetime, pours: Sequence[Pour]) -> None:
        """Take the pours that go, on the day they are picked up."""
        self.room, self.day, self.pours = room, day, pours
        self.n = room.number("shipment")
        self.shipment = f"OF-SH-{self.n:02d}"
        self.box = mine.BOXES[(self.n - 1) % 2]
        self.bars = [bar for each in pours for bar in each.bars]
        self.melts: list[Melt] = []

    def send(self) -> None:
        """Write the advice of the day before, the packing and the handing over."""
        self._advise()
        self._pack()
        self._hand_over()

    def _advise(self) -> None:
        values = {
            "shipment": self.shipment,
            "refinery": mine.REFINERY,
            "carrier": mine.CARRIER,
            "carrier_person": mine.CARRIER_PERSON,
            "items": self.bars,
            "window_from": at(self.day, "10:00").isoformat(),
            "window_until": at(self.day, "12:00").isoformat(),
        }
        self.room.diary.say(
            f"advised/{self.n}", "dispatch.advised", values,
            at(self.day, "15:00", days=-1), hands(RUVI, mine.ACCOUNTANT),
        )  # fmt: skip

    def _pack(self) -> None:
        values = {
            "safe": mine.BAR_SAFE,
            "opened": self.room.seals.open(mine.BAR_SAFE, self.box),
            "items": self.bars,
            "purpose": "dispatch",
            "vessel": self.box,
            "closed": self.room.seals.close((mine.BAR_SAFE, "door")),
        }
        gone = {stamp for each in self.pours for stamp in each.stamps.values()}
        self.room.in_bar_safe[:] = [
            stamp for stamp in self.room.in_bar_safe if stamp not in gone
        ]
        officer = self.room.crew(self.n)[0][0]
        self.room.diary.say(
            f"packed/{self.n}", "vault.taken", values, at(self.day, "09:55"),
            hands(officer, RUVI),
        )  # fmt: skip

    def _hand_over(self) -> None:
        true_g = together(self.room.truth[bar] for bar in self.bars).dry_g
        gross = self.room.look.reading(
            mine.BULLION, true_g + BOX_TARE_G, f"box/{self.shipment}"
        )
        values: dict[str, Any] = {
            "shipment": self.shipment,
            "carrier": mine.CARRIER,
            "carrier_person": mine.CARRIER_PERSON,
            "identity_check": f"card 7Q-{4000 + self.n} against the advice",
            "waybill": f"WB-{1180 + self.n}",
            "paper_signature": f"{self.shipment}-receipt.txt",
            "boxes": [
                {
                    "box": self.box,
                    "items": self.bars,
                    "gross": gross,
                    "seals_fitted": self.room.seals.fit(self.box, "lid"),
                }
            ],
        }
        self.room.diary.say(
            f"handed over/{self.n}", "dispatch.handed_over", values,
            at(self.day, "10:40"), hands(HALE, mine.ACCOUNTANT),
            paper=(values["paper_signature"], self._receipt(gross)),
        )  # fmt: skip

    def _receipt(self, gross: dict[str, Any]) -> str:
        """Return the carrier's receipt, as the scan of it would read."""
        return (
            f"{mine.INVENTED}\nReceived of {mine.SITE}: box {self.box}, sealed,"
            f" {gross['reading']} {gross['unit']} gross, shipment {self.shipment}.\n"
            f"Signed in ink: {mine.CARRIER_PERSON}, {mine.CARRIER}\n"
        )

    def arrive(self) -> None:
        """Write the refinery's receipt, three days on, and its melts, two more on."""
        true_g = together(self.room.truth[bar] for bar in self.bars).dry_g
        received = {
            "shipment": self.shipment,
            "received_by": "Sela Marchbanks (invented)",
            "receipt": f"MR-{720 + self.n}",
            "boxes": [
                {
                    "box": self.box,
                    "gross_g": self.room.look.refinery_g(
                        true_g + BOX_TARE_G, f"box/{self.shipment}"
                    ),
                    "seals_seen": self.room.seals.seen(self.box),
                }
            ],
            "as_received_g": self.room.look.refinery_g(true_g, self.shipment),
        }
        self.room.diary.say(
            f"received/{self.n}", "dispatch.received", received,
            at(self.day, "11:15", days=3), hands(RUVI, mine.ACCOUNTANT),
        )  # fmt: skip
        for k, each in enumerate(self.pours):
            self._melt(each, at(self.day, "14:00", days=5) + timedelta(minutes=30 * k))

    def _melt(self, made: Pour, when: datetime) -> None:
        name = f"MR-{made.n + 5100}"
        bars = together(self.room.truth[bar] for bar in made.bars)
        melted = refinery_melt(
            self.room.chance, name, [self.room.truth[bar] for bar in made.bars]
        )
        values = {
            "shipment": self.shipment,
            "melt": name,
            "items": list(made.bars),
            "as_received_g": self.room.look.refinery_g(bars.dry_g, f"bars/{name}"),
            "after_melt_g": self.room.look.refinery_g(melted.dry_g, f"melt/{name}"),
            "gold_permille": self.room.look.refiners(melted, "gold", name),
            "silver_permille": self.room.look.refiners(melted, "silver", name),
            "standing": "refiner",
            "sample": f"S-{name}",
            "report": f"outturn {name} (invented)",
        }
        self.room.diary.say(
            f"melted/{name}", "dispatch.melted", values, when,
            hands(HALE, mine.ACCOUNTANT),
        )  # fmt: skip
        self.melts.append(Melt(name, made, values, melted, when))
