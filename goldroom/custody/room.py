"""The record of a room: who is in it, whose alarm rang, what happened there.

Nothing here is metal. These records stand beside the metal's own, so that an
auditor can ask who could have reached a thing, and when.
"""

from dataclasses import dataclass

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class Inside:
    """Somebody in a room since a time. `escort` is "" for a person enrolled here.

    `who` is a person's id, or a visitor's name as written down at the door.
    """

    who: str
    organisation: str
    escort: str
    since: str
    entry: str

    @property
    def is_visitor(self) -> bool:
        """Tell whether this is somebody who is not enrolled here."""
        return bool(self.escort)


@dataclass(frozen=True, kw_only=True)
class Occupancy(Record):
    """Who is in a place, by the entries that signed people in and out."""

    table = "occupancy"
    key_of = "{place}"
    place: str
    inside: tuple[Inside, ...]
    at: str
    known_at: str

    @property
    def persons(self) -> tuple[str, ...]:
        """Return the ids of the enrolled persons in the place."""
        return tuple(each.who for each in self.inside if not each.is_visitor)

    @property
    def visitors(self) -> tuple[Inside, ...]:
        """Return the visitors in the place."""
        return tuple(each for each in self.inside if each.is_visitor)


@dataclass(frozen=True, kw_only=True)
class PlaceVessels(Record):
    """The vessels registered at a place, in the order they were registered."""

    table = "place_vessels"
    key_of = "{place}"
    place: str
    vessels: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DetectorAlarm(Record):
    """A metal detector's alarm: whose, how it was cleared, by whom.

    `who` is a person's id, or a visitor's name; `cleared` is hand_search,
    walked_again or something_found.
    """

    table = "detector_alarm"
    key_of = "{entry}"
    entry: str
    who: str
    is_visitor: bool
    place: str
    detector: str
    cleared: str
    cleared_by: str
    at: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class Incident(Record):
    """Something that went wrong; `status` is open or closed.

    `people` signed the report. `closed_by` is the entry that closed it ("" till then).
    """

    table = "incident"
    key_of = "{incident}"
    incident: str
    status: str
    severity: str
    place: str
    items: tuple[str, ...]
    vessels: tuple[str, ...]
    entries: tuple[str, ...]
    people: tuple[str, ...]
    at: str
    entry: str
    known_at: str
    closed_by: str
