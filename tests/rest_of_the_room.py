"""The rest of the room, told through the front door: for whole-house tests. Invented.

`told()` gives a ledger that has come to the end of three threads, each said in the
stages that the unit tests tell in a room without a ledger:

    the lot      LOT-1 sampled, tabled, poured into BAR-1 and BAR-2, drilled, its
                 drillings divided, handed on, used; melted at the refinery as MELT-1
    the leach    LOT-2 leached as LB-1, drained, washed, its residue RES-1 kept
    the cells    its solutions run as loads CL-1 and CL-2 of cell EC1; sludge SLU-1
                 dried and calcined, SLU-2 still wet

LOT-3, not touched yet, waits in the open drum D5. Nothing of MELT-1 is exchanged or
settled; a contract of assay exchange is in force.
"""

import itertools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from goldroom import commands
from goldroom.sayings import Saying, Signer
from ledger.append import Appended
from tests.goldroom import (
    cell_story,
    dealings,
    leach_story,
    sampled,
    small_mine,
    story,
)
from tests.goldroom.room import PAIR, fitted, removed
from tests.goldroom.small_mine import CHEMISTS, GUARDS, KEYS, OPENERS

ACCOUNTS = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
COUNTERS = (("p-ines", "metallurgist"), ("p-sefu", "security"))
MENDERS = (("p-jonas", "officer"), ("p-sefu", "security"))
ORIGIN_NAME = "goldroom.example/rest-of-the-room"
CELL_DAYS = 4
"""By how many days the cells' story is later here: it runs what the leach gave."""

Hands = tuple[tuple[str, str], ...]
Told = tuple[str, str, Hands, dict[str, Any]]
"""What is said: its time, kind, signers and values."""


@dataclass
class Room:
    """A ledger in the database, and all that was said in it."""

    ledger_id: int
    said: list[Saying] = field(default_factory=list)

    def say(self, told: Told, **more: Any) -> Appended:
        """Say it with everybody's key; return the entry it became."""
        number = len(self.said)
        each = saying(told, f"10000000-0000-4000-8000-{number:012d}", **more)
        appended = commands.say(self.ledger_id, each, KEYS)
        self.said.append(each)
        return appended


def saying(told: Told, entry_id: str = "", **more: Any) -> Saying:
    """Return what is said as a saying, taken down ten minutes after."""
    at, kind, hands, data = told
    received_at = datetime.fromisoformat(at) + timedelta(minutes=10)
    return Saying(
        kind=kind,
        data=data,
        occurred_at=at,
        signers=tuple(Signer(person=person, role=role) for person, role in hands),
        entry_id=entry_id,
        **{"received_at": received_at.isoformat(), **more},
    )


def renamed(values: Any, names: Mapping[str, str], *, seals: int = 0) -> Any:
    """Return values with ids renamed and their seals taken from later in the range."""
    if isinstance(values, dict):
        return {key: renamed(each, names, seals=seals) for key, each in values.items()}
    if isinstance(values, list | tuple):
        return [renamed(each, names, seals=seals) for each in values]
    if not isinstance(values, str):
        return values
    if found := re.fullmatch(r"S-00(\d\d)", values):
        return f"S-{int(found[1]) + seals:04d}"
    return names.get(values, values)


def later(values: Any, days: int) -> Any:
    """Return values with every time in them later by so many days."""
    if isinstance(values, dict):
        return {key: later(each, days) for key, each in values.items()}
    if isinstance(values, list | tuple):
        return [later(each, days) for each in values]
    if isinstance(values, str) and re.match(r"2026-\d\d-\d\dT", values):
        day = date.fromisoformat(values[:10]) + timedelta(days=days)
        return f"{day}{values[10:]}"
    return values


def things() -> Iterator[Told]:
    """Yield what this story needs beyond the small mine's standing things."""
    ticks = (f"2026-09-30T13:{n:02d}:00+02:00" for n in itertools.count())
    yield (next(ticks), "place.registered", GUARDS,
           {"place": "umpire_lab", "name": "Umpire", "sort": "laboratory"})  # fmt: skip
    for vessel, sort, points, tare in (
        ("D3", "drum", ["lid"], "18.5"), ("D4", "drum", ["lid"], "18.2"),
        ("D5", "drum", ["lid"], "18.5"), ("LV1", "leach_vessel", ["lid"], ""),
        ("TK1", "tank", ["hatch"], ""), ("TK2", "tank", ["hatch"], ""),
        ("EC1", "cell", ["lid"], ""), ("TR1", "tray", [], "2.1"),
        ("TR2", "tray", [], "2.0"), ("B2", "box", ["lid"], ""),
    ):  # fmt: skip
        data = {
            "vessel": vessel, "name": f"{vessel} (invented)", "sort": sort,
            "place": "vault" if sort == "box" else "gold_room",
        }  # fmt: skip
        data |= {"points": points} if points else {}
        data |= {"tare_kg": tare} if tare else {}
        yield next(ticks), "vessel.registered", GUARDS, data
    more = {"series": "S", "first": 41, "last": 99, "issued_to": "p-sefu"}
    yield next(ticks), "seals.issued", GUARDS, more
    yield (next(ticks), "cells.closed", PAIR,
           {"cell": "EC1", "seals_fitted": [fitted("lid", "S-0091")]})  # fmt: skip
    contract = dealings.values("contract")
    yield "2026-10-01T09:00:00+02:00", "refining_contract.set", GUARDS, contract


def lots() -> Iterator[Told]:
    """Yield three lots held as the ledger begins, two of them sealed in."""
    weighed = {"reading": "400.0", "unit": "kg", "instrument": "PS1"}
    assayed = {
        "assay": "A-0", "standing": "provisional", "unit": "gpt", "gold": "5000",
        "silver": "600", "laboratory": "lab", "method": "fire_assay",
        "sampler": "spear",
    }  # fmt: skip
    stock = [
        {"item": lot, "sort": "lot", "step": "table", "source": "gravity",
         "place": "gold_room", "vessel": drum, "net": weighed,
         "content": {**assayed, "sample": f"A-{lot}"}}
        for lot, drum in (("LOT-1", "D1"), ("LOT-2", "D3"), ("LOT-3", "D5"))
    ]  # fmt: skip
    yield "2026-10-01T06:00:00+02:00", "stock.opened", OPENERS, {"stock": stock}
    for n, (drum, seal) in enumerate((("D1", "S-0003"), ("D3", "S-0043"))):
        sealed = {"vessel": drum, "seals_fitted": [fitted("lid", seal)]}
        yield f"2026-10-01T06:0{n + 1}:00+02:00", "seal.fitted", PAIR, sealed


def the_lot() -> Iterator[Told]:
    """Yield the lot's way to the melt, its samples taken, split, moved and used."""
    yield sampled.TAKEN_AT, "sample.taken", PAIR, sampled.taken()
    for stage, (kind, at, _) in story.STAGES.items():
        changed: dict[str, Any] = {}
        if stage == "table":
            rows = [removed("lid", "S-0019")]
            changed = {"opened": [{"vessel": "D1", "seals_removed": rows}]}
        hands = story.SIGNED_BY.get(stage, PAIR)
        yield at, kind.kind_name, hands, story.values(stage, **changed)
    yield sampled.SPLIT_AT, "sample.split", PAIR, sampled.split()
    yield sampled.MOVED_AT, "sample.moved", PAIR, sampled.moved()
    yield sampled.USED_AT, "sample.consumed", CHEMISTS, sampled.used()
    yield sampled.BACK_AT, "sample.returned", PAIR, sampled.back()


def the_leach() -> Iterator[Told]:
    """Yield the leach's course; two samples before it, one put in another's place."""
    names = {"LOT-1": "LOT-2", "D1": "D3", "D2": "D4"}
    first = sampled.taken(
        item="LOT-2",
        samples=[{"item": "LS-0", "mass": sampled.grams("510.0")}],
        opened=[{"vessel": "D3", "seals_removed": [removed("lid", "S-0043")]}],
        closed=[{"vessel": "D3", "seals_fitted": [fitted("lid", "S-0044")]}],
    )
    yield "2026-10-05T07:30:00+02:00", "sample.taken", PAIR, first
    second = sampled.taken(
        item="LOT-2",
        samples=[{"item": "LS-1", "mass": sampled.grams("1490.0"), "replaces": "LS-0"}],
        opened=[{"vessel": "D3", "seals_removed": [removed("lid", "S-0044")]}],
        closed=[{"vessel": "D3", "seals_fitted": [fitted("lid", "S-0053")]}],
    )
    yield "2026-10-05T08:00:00+02:00", "sample.taken", PAIR, second
    for stage, (kind, at, _) in leach_story.STAGES.items():
        values = renamed(leach_story.values(stage), names, seals=50)
        if stage == "discharged":
            values["residues"][0] |= {"goes_to": "kept"}
        hands = CHEMISTS if stage.endswith("assayed") else PAIR
        yield at, kind.kind_name, hands, values


def the_cells() -> Iterator[Told]:
    """Yield the cells' course on the leach's solutions; one sludge stays wet."""
    for stage, (kind, at, _) in cell_story.STAGES.items():
        values = later(renamed(cell_story.values(stage), {}, seals=50), CELL_DAYS)
        if stage == "anodes_dried":
            continue
        if stage == "first_run":
            rows = [removed("hatch", "S-0055")]
            values["opened"] = [{"vessel": "TK1", "seals_removed": rows}]
        hands = CHEMISTS if stage == "assayed" else PAIR
        yield later(at, CELL_DAYS), kind.kind_name, hands, values


def told() -> Room:
    """Return a room in which all of it was said, in the order of its times."""
    opened = commands.open_ledger(small_mine.opening(ORIGIN_NAME), KEYS)
    room = Room(commands.ledger_of(opened.entry), [small_mine.opening(ORIGIN_NAME)])
    for each in small_mine.standing():
        commands.say(room.ledger_id, each, KEYS)
        room.said.append(each)
    parts = (things(), lots(), the_lot(), the_leach(), the_cells())
    for each in sorted(itertools.chain(*parts), key=_at):
        room.say(each)
    return room


def _at(told_then: Told) -> datetime:
    return datetime.fromisoformat(told_then[0])
