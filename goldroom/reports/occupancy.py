"""Who is in a room now, by the entries that signed people in and out.

Beside the door this is what a muster goes by; it is only as good as the door's
entries. Nobody waits for a signature to get people out, and whoever looks for people
counts heads, not lines.
"""

from dataclasses import dataclass

from goldroom.custody.room import Inside, Occupancy
from goldroom.reports import rows
from goldroom.reports.people import Names, names


@dataclass(frozen=True, kw_only=True)
class Present:
    """Somebody in a room: `name` as enrolled, or as written down at the door.

    `person` is "" for a visitor, whose `organisation` and `escort` are told. `since`
    is UTC text, `entry` the entry that signed them in.
    """

    person: str
    name: str
    organisation: str
    escort: str
    since: str
    entry: str

    @property
    def is_visitor(self) -> bool:
        """Tell whether this is somebody who is not enrolled here."""
        return bool(self.escort)


@dataclass(frozen=True, kw_only=True)
class RoomNow:
    """A room and who is in it, the longest there first.

    `last_change_at` is when somebody went in or out last, as UTC text.
    """

    place: str
    name: str
    present: tuple[Present, ...]
    last_change_at: str

    @property
    def is_one_alone(self) -> bool:
        """Tell whether one enrolled person is in it without a second."""
        return sum(not each.is_visitor for each in self.present) == 1


def occupancy(ledger_id: int, *, place: str = "") -> tuple[RoomNow, ...]:
    """Return every room that people were ever signed into, or the one of this id.

    A place that nobody was signed into is not there.
    """
    there = [
        each for each in rows.every(ledger_id, Occupancy) if place in ("", each.place)
    ]
    known = names(ledger_id)
    return tuple(
        RoomNow(
            place=each.place,
            name=known.place(each.place),
            present=tuple(
                _present(one, known)
                for one in sorted(each.inside, key=lambda one: (one.since, one.who))
            ),
            last_change_at=each.at,
        )
        for each in there
    )


def _present(one: Inside, known: Names) -> Present:
    return Present(
        person="" if one.is_visitor else one.who,
        name=one.who if one.is_visitor else known.person(one.who),
        organisation=one.organisation,
        escort=one.escort,
        since=one.since,
        entry=one.entry,
    )
