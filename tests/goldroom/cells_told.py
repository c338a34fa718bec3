"""A small mine's cells, worked through the front door. All invented.

`tell(loads)` says the standing things and then so many loads of cell EC1, a week
apart: 1000 L of eluate at 800 mg/L gold run to barren at 5 mg/L, so 795 g called. Of
each, `kept_g` stays out of the sludge.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from goldroom import commands
from goldroom.sayings import Saying
from tests.goldroom.room import PAIR, fitted, reading, removed
from tests.goldroom.small_mine import (
    CHEMISTS,
    GUARDS,
    KEYS,
    entry_id,
    opening,
    saying,
    standing,
)

CALLED_G = Decimal(795)
FIRST = date(2026, 10, 2)


def vessels() -> Iterator[Saying]:
    """Yield a cell, a tank and a tray registered, and the cell sealed."""
    for n, (vessel, sort, points) in enumerate(
        (("TK1", "tank", []), ("EC1", "cell", ["lid"]), ("TR1", "tray", []))
    ):
        tare = {"tare_kg": "2.0"} if sort == "tray" else {}
        yield saying(
            f"cells/{vessel}", f"09-30 13:{n:02d}", "vessel.registered", GUARDS,
            vessel=vessel, name=vessel, sort=sort, place="gold_room", points=points,
            **tare,
        )  # fmt: skip
    yield saying(
        "cells/sealed", "09-30 13:10", "cells.closed", PAIR, cell="EC1",
        seals_fitted=[fitted("lid", "S-0020")],
    )  # fmt: skip


def load(n: int, kept_g: str) -> Iterator[Saying]:
    """Yield one load from eluate to assayed sludge; `kept_g` is not in the sludge."""
    day = FIRST + timedelta(days=7 * (n - 1))
    found_g = CALLED_G - Decimal(kept_g)

    def at(clock: str, later: int = 0) -> str:
        return f"{day + timedelta(days=later):%m-%d} {clock}"

    def said(name: str, clock: str, kind: str, later: int = 0, **values: Any) -> Saying:
        hands = CHEMISTS if kind == "assay.reported" else PAIR
        return saying(f"cells/{name}/{n}", at(clock, later), kind, hands, **values)

    yield said(
        "eluate", "06:00", "other_metal.received", item=f"ELU-{n}",
        origin="elution_solution", from_where="elution column", vessel="TK1",
        handed_over_name="Rell Ambos", goes_to="electrowinning", place="gold_room",
        volume_l="1000", sample=f"E-{n}",
    )  # fmt: skip
    yield said(
        "solution", "07:00", "assay.reported", laboratory="lab", standing="final",
        method="wet_chemical", sampler="dipper",
        results=[{"items": [f"ELU-{n}"], "sample": f"E-{n}", "unit": "mg_l",
                  "gold": "800", "silver": "60"}],
    )  # fmt: skip
    yield said(
        "run", "18:00", "cells.run", cell="EC1", load=f"CL-{n}",
        solutions=[f"ELU-{n}"], started_at=f"{day}T08:00:00+02:00",
        ended_at=f"{day}T18:00:00+02:00", charge_ah="4000",
        barren={"item": f"BRN-{n}", "volume_l": "1000", "gold_mg_l": "5",
                "silver_mg_l": "1", "goes_to": "mill"},
    )  # fmt: skip
    yield said(
        "cleanup", "07:00", "cells.cleaned", 1, cell="EC1", load=f"CL-{n}",
        cathodes=6,
        opened=[{"vessel": "EC1", "seals_removed": [removed("lid", _seal(n))]}],
        sludges=[{"item": f"SLU-{n}", "came_off": "cathodes", "vessel": "TR1",
                  "gross": reading("3800.0", "g", "BB1")}],
        closed=[{"vessel": "EC1", "seals_fitted": [fitted("lid", _seal(n + 1))]}],
    )  # fmt: skip
    yield said(
        "dried", "16:00", "material.dried", 1, item=f"SLU-{n}", vessel="TR1",
        gross=reading("3000.0", "g", "BB1"), start_c="105", end_c="150", oven="OV1",
    )  # fmt: skip
    yield said(
        "sludge", "12:00", "assay.reported", 2, laboratory="lab", standing="final",
        method="fire_assay", sampler="scoop",
        results=[{"items": [f"SLU-{n}"], "sample": f"S-{n}", "unit": "gpt",
                  "gold": str(found_g * 1000), "silver": "59000"}],
    )  # fmt: skip


def _seal(n: int) -> str:
    return f"S-{19 + n:04d}"


def tell(kept_g: tuple[str, ...], *, without: str = "") -> int:
    """Say the standing things and a load for each kept mass; return the ledger id.

    What is named `without` (a stage of a load) is left out.
    """
    opened = commands.open_ledger(opening("goldroom.example/cells"), KEYS)
    ledger_id = commands.ledger_of(opened.entry)
    loads = [each for n, kept in enumerate(kept_g, start=1) for each in load(n, kept)]
    for each in (*standing(), *vessels(), *loads):
        if without and each.entry_id in _names(without, len(kept_g)):
            continue
        commands.say(ledger_id, each, KEYS)
    return ledger_id


def _names(stage: str, loads: int) -> set[str]:
    return {entry_id(f"cells/{stage}/{n}") for n in range(1, loads + 1)}
