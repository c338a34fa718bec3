"""Who held an item at a time: the question that custody has to answer in a sentence.

An item stays where an act put it, under the seals and hands of that act, until the
next act moves it. So at any time it was where the latest act before had put it: in a
sealed vessel nobody could take it without breaking a seal; otherwise it was in the
charge of those who signed that act.
"""

from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.custody.moves import HELD
from goldroom.errors import OutOfRange
from goldroom.findings.runs import in_words
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.trail import StayLine, Trail
from goldroom.statements.registry import kind_named

HANDED_OVER = "dispatch.handed_over"
FIRST_YEAR, LAST_YEAR = 1900, 9998
"""Years asked about: what lies beyond has no time of another zone."""


@dataclass(frozen=True, kw_only=True)
class HeldAt:
    """The answer: `sentence`, the stay it rests on, and the act that came next.

    `at` is UTC text. `is_covered` says that somebody or a sealed vessel held it.
    """

    at: str
    sentence: str
    is_covered: bool
    stay: StayLine | None
    following: StayLine | None


def wall_moment(text: str, clock: SiteClock) -> str:
    """Return a time as typed on the site's clock as UTC text. Raises OutOfRange.

    Both 2026-10-12T14:00 and 2026-10-12 14:00 are read.
    """
    try:
        typed = datetime.fromisoformat(text.strip())
    except ValueError as wrong:
        raise _no_time(text) from wrong
    if not FIRST_YEAR <= typed.year <= LAST_YEAR:
        raise _no_time(text)
    if typed.tzinfo is None:
        return clock.utc_of(typed)
    return utc_text(typed)


def _no_time(text: str) -> OutOfRange:
    return OutOfRange(
        f"at: found {text[:40]!r}, expected a day and a time on the site's clock. Write"
        " it as 2026-10-12 14:00.",
        field="at",
    )


def held_at(trail: Trail, at: str, clock: SiteClock) -> HeldAt:
    """Return who or what held the trail's item at a time (UTC text)."""
    stays = sorted(trail.item.stays, key=lambda stay: stay.at)
    before = [stay for stay in stays if stay.at <= at]
    following = next((stay for stay in stays if stay.at > at), None)
    last = before[-1] if before else None
    words = _Words(trail, clock)
    if last is None:
        said, is_covered = words.not_yet(), False
    elif last.entry == trail.item.used_by and trail.item.status not in HELD:
        said, is_covered = words.no_longer(last), False
    elif last.act == kind_named(HANDED_OVER).title and trail.shipments:
        said, is_covered = words.with_carrier(last), True
    else:
        said, is_covered = words.held(last), True
    return HeldAt(
        at=at,
        sentence=f"At {clock.wall_text(at)} {said}",
        is_covered=is_covered,
        stay=last,
        following=following,
    )


class _Words:
    """One item's answers in words."""

    def __init__(self, trail: Trail, clock: SiteClock) -> None:
        self._trail = trail
        self._item = trail.item
        self._people = trail.people
        self._clock = clock

    def not_yet(self) -> str:
        """Say that the item was not there yet, and what it was made of."""
        made = self._clock.wall_text(self._item.made_at)
        of = f" out of {in_words(self._item.parents)}" if self._item.parents else ""
        return f"{self._item.item} was not there yet: it was made{of} at {made}."

    def no_longer(self, stay: StayLine) -> str:
        """Say that the item was no longer there, and what became of it."""
        became = in_words(self._item.children)
        into = f" into {became}" if became else ""
        how = "had left the site's care" if self._item.status == "left" else "was gone"
        return (
            f"{self._item.item} {how}{into}: {stay.act},"
            f" {self._clock.wall_text(stay.at)}, signed by"
            f" {self._people.people(stay.hands)}."
        )

    def held(self, stay: StayLine) -> str:
        """Say where the item was, under which seals, put there by whom."""
        place = self._people.place(stay.place) if stay.place else ""
        put = self._put(stay)
        where = f" in {place}" if place else ""
        if stay.vessel and stay.seals:
            vessel = self._people.vessel(stay.vessel)
            return (
                f"{self._item.item} was in {vessel}{where}, under"
                f" {'seal' if len(stay.seals) == 1 else 'seals'}"
                f" {', '.join(stay.seals)} ({put})."
            )
        inside = f" in {self._people.vessel(stay.vessel)}" if stay.vessel else ""
        return (
            f"{self._item.item} was{inside}{where}, under no seal, in the charge of"
            f" {self._people.people(stay.hands) or 'nobody by name'} ({put})."
        )

    def with_carrier(self, stay: StayLine) -> str:
        """Say with whom the item was on its way."""
        shipment = self._trail.shipments[-1]
        return (
            f"{self._item.item} was with {shipment.carrier_person} of"
            f" {shipment.carrier}, on its way to"
            f" {self._people.place(shipment.refinery)} ({self._put(stay)})."
        )

    def _put(self, stay: StayLine) -> str:
        """Say by which act it came there, when, and who signed."""
        return (
            f"{stay.act}, {self._clock.wall_text(stay.at)}, signed by"
            f" {self._people.people(stay.hands) or 'nobody'}"
        )
