"""The room in which the story plays: its seals, its crews, and its diary.

One `Room` goes through the whole month. It keeps what the people themselves keep in
their heads and books: which seal is on which point, the next number of everything,
who is on shift, and (unseen by them) the true metal of every item.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from goldroom.demo import mine
from goldroom.demo.chance import Chance
from goldroom.demo.diary import Diary, Hands
from goldroom.demo.looking import Looking
from goldroom.demo.mine import OFFICERS, SECURITY, WITNESSES
from goldroom.demo.truth import Matter
from goldroom.metal.check_characters import id_check_character

ZONE = ZoneInfo(mine.TIME_ZONE)
SERIES = "S"
SAMPLE_DIGITS = 4
SECONDS = (*WITNESSES, *SECURITY)
"""Who stands as second person in the room, in turn."""


def at(day: datetime, clock: str, *, days: int = 0) -> datetime:
    """Return a clock time of a day (or some days later) at the mine."""
    return datetime.combine(
        day.date() + timedelta(days=days), time.fromisoformat(clock), ZONE
    )


def role_of(person: str) -> str:
    """Return the role in which somebody signs."""
    for member in (*mine.PEOPLE, mine.NEWCOMER):
        if member.person == person:
            return member.roles[0]
    raise AssertionError(person)


def hands(*people: str) -> Hands:
    """Return the signers, each in their role."""
    return tuple((person, role_of(person)) for person in people)


class Seals:
    """Which seal is on which point, and the next unused one."""

    def __init__(self) -> None:
        """Start with no seal on anything."""
        self.next = 1
        self.on: dict[tuple[str, str], str] = {}

    def fit(self, vessel: str, *points: str) -> list[dict[str, str]]:
        """Return rows of new seals put on a vessel's points."""
        rows = []
        for point in points:
            number = f"{SERIES}-{self.next:04d}"
            self.next += 1
            self.on[vessel, point] = number
            rows.append({"point": point, "seal": number})
        return rows

    def remove(self, vessel: str, **seen: Mapping[str, Any]) -> list[dict[str, Any]]:
        """Return rows of a vessel's seals taken off, as found in order.

        `seen` says by point what was seen otherwise.
        """
        rows: list[dict[str, Any]] = []
        for held, point in list(self.on):
            if held == vessel:
                row = {
                    "point": point,
                    "seal": self.on.pop((held, point)),
                    "tamper_signs": "none",
                    "remains_kept": True,
                }
                rows.append({**row, **seen.get(point, {})})
        return rows

    def seen(self, vessel: str, **seen: Mapping[str, Any]) -> list[dict[str, Any]]:
        """Return rows of a vessel's seals looked at, as found in order."""
        return [
            {"point": point, "seal": seal, "tamper_signs": "none"}
            | dict(seen.get(point, {}))
            for (held, point), seal in self.on.items()
            if held == vessel
        ]

    def open(self, *vessels: str) -> list[dict[str, Any]]:
        """Return rows of vessels opened."""
        return [
            {"vessel": vessel, "seals_removed": self.remove(vessel)}
            for vessel in vessels
            if any(held == vessel for held, _ in self.on)
        ]

    def close(self, *sealed: tuple[str, str]) -> list[dict[str, Any]]:
        """Return rows of vessels closed, each given with its one point."""
        return [
            {"vessel": vessel, "seals_fitted": self.fit(vessel, point)}
            for vessel, point in sealed
        ]


@dataclass
class Room:
    """Everything that goes on from one day to the next."""

    chance: Chance
    look: Looking
    diary: Diary
    seals: Seals = field(default_factory=Seals)
    truth: dict[str, Matter] = field(default_factory=dict)
    counters: dict[str, int] = field(default_factory=dict)
    flush_numbers: dict[str, int] = field(default_factory=dict)
    in_hopper: list[str] = field(default_factory=list)
    in_concentrate_safe: list[str] = field(default_factory=list)
    middlings: list[str] = field(default_factory=list)
    in_bar_safe: list[str] = field(default_factory=list)
    cycles: list[dict[str, Any]] = field(default_factory=list)
    seconds: list[str] = field(default_factory=lambda: list(SECONDS))
    sample_prefix: str = ""

    def number(self, of: str) -> int:
        """Return the next running number of a thing."""
        self.counters[of] = self.counters.get(of, 0) + 1
        return self.counters[of]

    def sample(self, otherwise: str) -> str:
        """Return the next number of the samples' series; `otherwise` without one."""
        if not self.sample_prefix:
            return otherwise
        number = f"{self.sample_prefix}{self.number('sample'):0{SAMPLE_DIGITS}d}"
        return number + id_check_character(number)

    def crew(self, turn: int) -> Hands:
        """Return the officer and the second person of a turn.

        Threes and fives meet each pair equally often.
        """
        officer = OFFICERS[turn % len(OFFICERS)]
        return hands(officer, self.seconds[(turn * 2 + turn // 3) % len(self.seconds)])


def new_room(seed: int) -> Room:
    """Return the room before anything has been said in it."""
    chance = Chance(seed)
    return Room(chance, Looking(chance), Diary(chance))
