"""An item's custody over time as lanes: one for each place, and what covers each hour.

A stretch is covered by seals when the item lay in a sealed vessel, else by the people
who put it there; the time with neither is covered by nobody, and is shown so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from goldroom.reports.trail import StayLine, Trail

SEALED, PEOPLE, NOBODY = "sealed", "people", "nobody"
"""What covers a stretch: seals, people by name, or nobody."""


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A stretch in one place: from one act to the next (`until` "" if it goes on).

    `seals` are those on the vessel, `cover` what stands for it; `hands` are names.
    """

    place: str
    vessel: str
    from_at: str
    until: str
    act: str
    seq: int | None
    seals: tuple[str, ...]
    hands: str
    cover: str


@dataclass(frozen=True, kw_only=True)
class Lanes:
    """The stretches of an item, and its lanes from the first place to the last."""

    item: str
    label: str
    places: tuple[str, ...]
    stretches: tuple[Stretch, ...]


def lanes(trail: Trail) -> Lanes:
    """Return the custody of a trail's own item, place by place."""
    stays = sorted(trail.item.stays, key=lambda each: each.at)
    stretches = tuple(
        _stretch(trail, stay, _following(stays, n)) for n, stay in enumerate(stays)
    )
    places = tuple(dict.fromkeys(each.place for each in stretches))
    return Lanes(
        item=trail.item.item,
        label=trail.item.label,
        places=places,
        stretches=stretches,
    )


def _following(stays: Sequence[StayLine], n: int) -> str:
    return stays[n + 1].at if n + 1 < len(stays) else ""


def _stretch(trail: Trail, stay: StayLine, until: str) -> Stretch:
    names = trail.people
    return Stretch(
        place=names.place(stay.place),
        vessel=names.vessel(stay.vessel) if stay.vessel else "",
        from_at=stay.at,
        until=until,
        act=stay.act,
        seq=stay.seq,
        seals=stay.seals,
        hands=names.people(stay.hands),
        cover=SEALED if stay.seals else PEOPLE if stay.hands else NOBODY,
    )
