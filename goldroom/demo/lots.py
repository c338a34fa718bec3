"""Lots: the hopper emptied in the morning, the table run over it, the assays after."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine
from goldroom.demo.looking import CONCENTRATES, LOTS, TAILS, Assaying, hopper_gross_g
from goldroom.demo.room import Room, at
from goldroom.demo.shifts import report_assay
from goldroom.demo.truth import Matter, table_run, together

TRAY_TARE_G = 1250.0
BUCKET_TARE_G = 2100.0


@dataclass(frozen=True)
class Lot:
    """A lot's number and the morning on which it was made."""

    n: int
    day: datetime
    turn: int

    def item(self, what: str) -> str:
        """Return the id of the lot or of a product of it."""
        return f"{what}-{self.n:03d}"


def empty_hopper(room: Room, day: datetime, turn: int, **seen: dict[str, Any]) -> Lot:
    """Write the emptying of the hopper into the lot bin; return the lot.

    `seen` says by seal point what was seen otherwise than fitted.
    """
    lot = Lot(room.number("lot"), day, turn)
    name = lot.item("LOT")
    whole = together(room.truth[load] for load in room.in_hopper)
    room.truth[name] = whole
    room.in_hopper.clear()
    wet = room.chance.uniform(f"lot moisture/{name}", 14.0, 19.0)
    wet_g = whole.dry_g / (1 - wet / 100)
    tare_g = 1000 * float(mine.LOT_BIN_TARE_KG)
    removed = room.seals.remove(mine.HOPPER, **seen)
    after = room.look.reading(mine.CELLS, hopper_gross_g(0.0), f"after/{name}")
    values = {
        "hopper": mine.HOPPER,
        "lot": name,
        "seals_removed": removed,
        "into": mine.LOT_BIN,
        "gross": room.look.reading(mine.PLATFORM, wet_g + tare_g, f"lot/{name}"),
        "moisture": {
            "percent": room.look.moisture_percent(wet, name),
            "oven": mine.OVEN,
        },
        "lot_seals": room.seals.fit(mine.LOT_BIN, "lid"),
        "seals_fitted": room.seals.fit(mine.HOPPER, "lid", "drain"),
        "level_after": {"mark": mine.HOPPER_MARK, "gross": after},
    }
    room.diary.say(
        f"emptied/{name}", "hopper.emptied", values, at(day, "06:06"), room.crew(turn)
    )
    return lot


def run_table(room: Room, lot: Lot) -> None:
    """Write the table's run over a lot and the middlings before it."""
    say_table(room, lot, table_values(room, lot))


def say_table(room: Room, lot: Lot, values: dict[str, Any]) -> str:
    """Write a table's run as said; return its entry id."""
    return room.diary.say(
        f"table/{lot.n}", "table.run", values, at(lot.day, "12:50"),
        room.crew(lot.turn + 1),
    )  # fmt: skip


def table_values(room: Room, lot: Lot) -> dict[str, Any]:
    """Return what a table's run over a lot gave, as it would be said."""
    feed = [lot.item("LOT"), *room.middlings]
    made = table_run(
        room.chance, lot.item("RUN"), together(room.truth[each] for each in feed)
    )
    opened = room.seals.open(mine.LOT_BIN, mine.MIDDLINGS_DRUM, mine.CONCENTRATE_SAFE)
    rows = [
        _dry_product(room, lot, made.concentrate),
        _wet_product(room, lot, "MID", made.middlings),
        _wet_product(room, lot, "MAG", made.magnetics),
        _wet_product(room, lot, "TLS", made.tails),
    ]
    values = {
        "table": mine.TABLE,
        "feed": feed,
        "opened": opened,
        "products": rows,
        "closed": room.seals.close(
            (mine.MIDDLINGS_DRUM, "lid"), (mine.CONCENTRATE_SAFE, "door")
        ),
    }
    room.middlings[:] = [lot.item("MID")]
    room.in_concentrate_safe.append(lot.item("CON"))
    return values


def _dry_product(room: Room, lot: Lot, matter: Matter) -> dict[str, Any]:
    item = lot.item("CON")
    room.truth[item] = matter
    return {
        "item": item,
        "product": "concentrate",
        "gross": room.look.reading(
            mine.BENCH, matter.dry_g + TRAY_TARE_G, f"gross/{item}"
        ),
        "tare": room.look.reading(mine.BENCH, TRAY_TARE_G, f"tare/{item}"),
        "vessel": mine.CONCENTRATE_SAFE,
        "goes_to": "kept",
    }


WET = {"MID": "middlings", "MAG": "magnetics", "TLS": "tails"}


def _wet_product(room: Room, lot: Lot, what: str, matter: Matter) -> dict[str, Any]:
    item = lot.item(what)
    room.truth[item] = matter
    tare_g = 1000 * float(mine.LOT_BIN_TARE_KG) if what == "TLS" else BUCKET_TARE_G
    wet = room.chance.uniform(f"product moisture/{item}", 9.0, 15.0)
    wet_g = matter.dry_g / (1 - wet / 100)
    row = {
        "item": item,
        "product": WET[what],
        "gross": room.look.reading(mine.PLATFORM, wet_g + tare_g, f"gross/{item}"),
        "tare": room.look.reading(mine.PLATFORM, tare_g, f"tare/{item}"),
        "moisture_percent": room.look.moisture_percent(wet, item),
        "oven": mine.OVEN,
        "goes_to": "mill",
    }
    if what == "MID":
        row |= {"vessel": mine.MIDDLINGS_DRUM, "goes_to": "kept"}
    return row


def keep_tails(room: Room, lot: Lot, values: dict[str, Any]) -> str:
    """Change a table's run so that its tails are kept; return the tails' id."""
    tails = next(row for row in values["products"] if row["product"] == "tails")
    values["opened"] += room.seals.open(mine.TAILS_BIN)
    tails |= {"vessel": mine.TAILS_BIN, "goes_to": "kept"}
    values["closed"] += room.seals.close((mine.TAILS_BIN, "lid"))
    return str(tails["item"])


def assay_lot(
    room: Room, lot: Lot, *, is_tabled: bool = True, is_screened: bool = False
) -> None:
    """Write the laboratory's reports on a lot and its products, a day later.

    The lot's own is another's to write where its sample is screened.
    """
    when = at(lot.day, "16:00", days=1)
    if not is_screened:
        _report(room, lot, LOTS, ("LOT",), when)
    if not is_tabled:
        return
    _report(room, lot, CONCENTRATES, ("CON",), when + timedelta(minutes=12))
    _report(room, lot, TAILS, ("MID", "MAG", "TLS"), when + timedelta(minutes=24))


def _report(
    room: Room, lot: Lot, how: Assaying, whats: tuple[str, ...], when: datetime
) -> None:
    rows = []
    for what in whats:
        item = lot.item(what)
        sample = f"K-{item}"
        rows.append(
            {
                "items": [item],
                "sample": sample,
                "unit": how.unit,
                **room.look.contents(
                    how, room.truth[item], sample=sample, assay=sample
                ),
            }
        )
    report_assay(room, f"assay/{lot.item(whats[0])}", how, rows, when)
