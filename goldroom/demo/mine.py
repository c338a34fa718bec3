"""The invented mine: who works there, what stands there. Nothing of it exists.

Two semi-continuous concentrators in the grinding circuit flush into one locked
hopper; two continuous ones in tandem stand on the tailings and are metered beside
the gold room. Names, figures and metal are made up.
"""

from dataclasses import dataclass
from typing import Any

SITE = "Ossel Fell mine (invented)"
ORIGIN_NAME = "goldroom.example/ossel-fell-invented"
TIME_ZONE = "Africa/Lusaka"
DAY_START = "06:00"
INVENTED = "The mine, its people, its metal and its keys are invented."


@dataclass(frozen=True)
class Member:
    """Somebody of the invented mine who signs, as one role or several."""

    person: str
    name: str
    line: str
    roles: tuple[str, ...]
    sort: str = "person"

    def values(self) -> dict[str, Any]:
        """Return the values with which the person is enrolled."""
        return {
            "person": self.person,
            "name": f"{self.name} (invented)",
            "line": self.line,
            "roles": list(self.roles),
            "sort": self.sort,
        }


PEOPLE = (
    Member("p-dara", "Dara Wexmoor", "gold room", ("officer",)),
    Member("p-milo", "Milo Tarrin", "gold room", ("officer",)),
    Member("p-junia", "Junia Sparholt", "gold room", ("officer",)),
    Member("p-edda", "Edda Quoyle", "plant", ("witness",)),
    Member("p-osric", "Osric Fennimoor", "plant", ("witness",)),
    Member("p-tove", "Tove Lassiter-Brook", "plant", ("witness",)),
    Member("p-ruvi", "Ruvi Calderstone", "security", ("security",)),
    Member("p-hale", "Hale Brannoch", "security", ("security",)),
    Member("p-ysolt", "Ysolt Merrinwood", "plant", ("metallurgist",)),
    Member("p-kato", "Kato Verrill", "laboratory", ("laboratory",)),
    Member("p-loris", "Loris Pentworth", "accounts", ("accountant",)),
    Member("p-bex", "Bex Thornquist", "management", ("manager",)),
    Member("g-mill", "Grinding control gateway", "plant", ("gateway",), "gateway"),
)
"""Everybody who signs the opening."""

NEWCOMER = Member("p-wren", "Wren Aldershaw", "plant", ("witness",))
"""Somebody enrolled in the second week."""

GATEWAY = "g-mill"
LABORATORY = "p-kato"
METALLURGIST = "p-ysolt"
ACCOUNTANT = "p-loris"
MANAGER = "p-bex"
SECURITY = ("p-ruvi", "p-hale")
OFFICERS = ("p-dara", "p-milo", "p-junia")
WITNESSES = ("p-edda", "p-osric", "p-tove")

CARRIER = "Fernhollow Secure Carriage (invented)"
CARRIER_PERSON = "Iwan Stroudley (invented)"
REFINERY = "marrowby"
"""The refinery's place id; its figures are taken down under it."""
UMPIRE = "thornmere"
"""The place id of the laboratory called when mine and refinery are apart."""

PLACES = (
    ("gold_room", "Gold room", "room"),
    ("hopper_bay", "Hopper bay", "bay"),
    ("leach_bay", "Leach bay", "bay"),
    ("vault", "Vault", "vault"),
    ("laboratory", "Site laboratory", "laboratory"),
    ("mill", "Grinding circuit", "mill"),
    (REFINERY, "Marrowby Refinery (invented)", "refinery"),
    (UMPIRE, "Thornmere Assay (invented)", "laboratory"),
)


@dataclass(frozen=True)
class Scale:
    """An instrument: its display, and what its certificate says it is good to."""

    instrument: str
    name: str
    sort: str
    place: str
    unit: str
    interval: str
    capacity: str
    reading_u_g: str
    slope_u_relative: str
    due: str

    @property
    def calibration(self) -> str:
        """Return the id of the calibration in force when the ledger opens."""
        return f"{self.instrument}-2026a"

    def values(self) -> dict[str, Any]:
        """Return the values with which the instrument is registered."""
        return {
            "instrument": self.instrument,
            "name": self.name,
            "sort": self.sort,
            "place": self.place,
            "unit": self.unit,
            "interval": self.interval,
            "capacity": self.capacity,
        }


CELLS = Scale(
    "LC1", "Hopper load cells", "hopper_cells", "hopper_bay", "kg", "1", "4000",
    "5000", "0.003", "2027-02-28",
)  # fmt: skip
PLATFORM = Scale(
    "PS1", "Platform scale", "platform_scale", "gold_room", "kg", "0.1", "3000",
    "300", "0.001", "2027-02-28",
)  # fmt: skip
BENCH = Scale(
    "BB1", "Bench balance", "bench_balance", "gold_room", "g", "0.5", "30000",
    "0.5", "0.0001", "2026-10-21",
)  # fmt: skip
BULLION = Scale(
    "BU1", "Bullion balance", "bullion_balance", "gold_room", "g", "0.5", "32000",
    "0.2", "0.00002", "2027-08-31",
)  # fmt: skip
SMALL = Scale(
    "AB1", "Sample balance", "bench_balance", "gold_room", "g", "0.01", "600",
    "0.01", "0.00005", "2027-08-31",
)  # fmt: skip
SCALES = (CELLS, PLATFORM, BENCH, BULLION, SMALL)
"""The bench balance's calibration runs out while the first month is on."""

BENCH_AGAIN = "BB1-2026b"
"""The bench balance's calibration after that."""

OVEN = "OV1"

HOPPER = "H1"
HOPPER_TARE_KG = "650"
HOPPER_MARK = "M1"
HOPPER_MARK_M3 = "1.2"
SOLIDS_KG_M3 = "4200"

LOT_BIN = "L1"
LOT_BIN_TARE_KG = "184.2"
TABLE = "T1"
MIDDLINGS_DRUM = "D1"
CONCENTRATE_SAFE = "C1"
FURNACE = "F1"
BAR_SAFE = "V1"
BOXES = ("B1", "B2")
TAILS_BIN = "TB1"
TAILS_BIN_TARE_KG = "162.4"
LEACH_VESSEL = "LV1"
TANKS = ("TK1", "TK2", "TK3")
CELL = "EC1"
SLUDGE_TRAY = "TR1"
DRYER = "OV2"


def _plain(
    vessel: str, name: str, sort: str, place: str, *points: str
) -> dict[str, Any]:
    return {
        "vessel": vessel,
        "name": name,
        "sort": sort,
        "place": place,
        **({"points": list(points)} if points else {}),
    }


VESSELS: tuple[dict[str, Any], ...] = (
    {
        **_plain(HOPPER, "Concentrate hopper", "hopper", "hopper_bay", "lid", "drain"),
        "tare_kg": HOPPER_TARE_KG,
        "load_cells": CELLS.instrument,
        "marks": [{"mark": HOPPER_MARK, "volume_m3": HOPPER_MARK_M3}],
        "solids_density_kg_m3": SOLIDS_KG_M3,
    },
    {
        **_plain(LOT_BIN, "Lot bin", "drum", "gold_room", "lid"),
        "tare_kg": LOT_BIN_TARE_KG,
    },
    _plain(TABLE, "Shaking table", "table", "gold_room"),
    _plain(MIDDLINGS_DRUM, "Middlings drum", "drum", "gold_room", "lid"),
    _plain(CONCENTRATE_SAFE, "Concentrate safe", "safe", "gold_room", "door"),
    _plain(FURNACE, "Tilting furnace", "furnace", "gold_room"),
    _plain(BAR_SAFE, "Bar safe", "safe", "vault", "door"),
    {
        **_plain(TAILS_BIN, "Tails bin", "drum", "gold_room", "lid"),
        "tare_kg": TAILS_BIN_TARE_KG,
    },
    _plain(LEACH_VESSEL, "Intensive leach vessel", "leach_vessel", "leach_bay", "lid"),
    *(_plain(tank, f"Solution tank {tank[2:]}", "tank", "leach_bay") for tank in TANKS),
    _plain(CELL, "Electrowinning cell", "cell", "leach_bay", "lid"),
    _plain(SLUDGE_TRAY, "Sludge tray", "tray", "gold_room"),
    _plain(BOXES[0], "Bar box 1", "box", "vault", "lid"),
    _plain(BOXES[1], "Bar box 2", "box", "vault", "lid"),
)

FLUSHING = ("U1", "U2")
STREAMS = (("U4", "cleaner", "mill"), ("U3", "rougher", "U4"))
"""Continuous units with their stage and what they feed."""

STREAM_T_PER_DAY = {"U3": 96.0, "U4": 14.0}
STREAM_GPT = {"U3": 4.1, "U4": 19.0}
