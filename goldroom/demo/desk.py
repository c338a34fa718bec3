"""The room around the metal: its door, shifts and papers, and what was looked into.

Who went in and out on smelt days, how crews handed over, one near miss, a night on
paper while the server was down, and what security made of two odd seals.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from goldroom.demo import mine, story
from goldroom.demo.diary import Hands
from goldroom.demo.room import Room, at, hands
from goldroom.demo.shifts import SHIFTS, Shift
from goldroom.demo.smelting import Pour
from goldroom.demo.truth import OreDay

RUVI, HALE = mine.SECURITY
GOLD_ROOM, BAY = "gold_room", "hopper_bay"
DOOR = "GR-1"
DETECTOR = "MD1"
CAMERA = "3, over the inner door"
VISITOR = "Anneke Dorsworth (invented)"
INSPECTORATE = "Inspectorate of Mines (invented)"
FORMS, FORMS_ISSUED = "F", 20
PRACTICE_FORM, SPOILED_FORM, NIGHT_FORM = "F-0001", "F-0002", "F-0003"
INCIDENT = "INC-01"


@dataclass
class Desk:
    """What security and the crews write down beside the metal, day by day."""

    room: Room
    odd_seal: str = ""
    """The entry in which a seal of no range was read."""
    incident: str = ""
    """The entry in which the near miss was reported."""

    def in_the_morning(self, day: datetime, n: int) -> None:
        """Write what is done before the table runs."""
        if n == 0:
            self._issue_forms(day)
        if n == story.SEAL_BROKEN_DAY + 1:
            self._review_broken_seal(day)
        if n == story.SEAL_OTHER_DAY:
            lot = self.room.counters["lot"]
            self.odd_seal = self.room.chance.entry_id(f"emptied/LOT-{lot:03d}")
        if n == story.SEAL_OTHER_DAY + 1:
            self._ask_about_seal(day)
        if n == story.SEAL_ANSWERED_DAY:
            self._answer_about_seal(day)
        if n == story.NEWCOMER_DAY:
            self._void_form(
                day, "15:00", PRACTICE_FORM,
                "filled in for practice as Wren Aldershaw (invented) was shown the pad",
            )  # fmt: skip
        if n == story.INCIDENT_CLOSED_DAY:
            self._close_incident(day)

    def later(self, day: datetime, n: int, ore: OreDay) -> None:
        """Write what the evening and the night bring."""
        if n in story.HANDOVERS:
            self._hand_over_bay(Shift(day, ore, 1), story.HANDOVERS[n])
        if n == story.OUTAGE_DAY:
            self._night_on_paper(Shift(day, ore, SHIFTS - 1))

    def smelt_day(self, made: Pour, n: int, turn: int) -> None:
        """Write who was in the gold room on a smelt day, and how it was handed on."""
        day, charge = made.day, made.item("CH")
        first, second = self.room.crew(turn), self.room.crew(turn + 1)
        self._enter(
            first, at(day, "07:02"), f"to smelt charge {charge}",
            tools="face shields, tongs, tool bag 2",
        )  # fmt: skip
        if n == story.VISITOR_DAY:
            self._visit(made, _guard(first, second), first)
        if n == story.INCIDENT_DAY:
            self._report_incident(made, first)
        self._enter(
            second, at(day, "12:38"), f"to clean and stamp the bars of {charge}"
        )
        self._hand_over_room(made, first, second)
        self._leave(first, at(day, "13:28"), tools="face shields, tongs, tool bag 2")
        if n == story.ALARM_DAY:
            self._alarm(made, second, _guard(first, second))
        self._leave(second, at(day, "15:28"))

    def _enter(self, crew: Hands, when: datetime, purpose: str, **more: str) -> None:
        people = _names(crew)
        keys = [
            {"key": f"{DOOR}{side}", "person": who}
            for side, who in zip("AB", people, strict=True)
        ]
        values = {
            "place": GOLD_ROOM,
            "persons": people,
            "keys": keys,
            "camera": CAMERA,
            "purpose": purpose,
            **more,
        }
        self._say("entered", "room.entered", values, when, crew)

    def _leave(self, crew: Hands, when: datetime, **more: str) -> None:
        rows = [{"person": who, "detector": "clear"} for who in _names(crew)]
        values = {"place": GOLD_ROOM, "persons": rows, "camera": CAMERA, **more}
        self._say("left", "room.left", values, when, crew)

    def _visit(self, made: Pour, guard: str, crew: Hands) -> None:
        """Write a visitor let in and out again, the escort beside them."""
        signers = (crew[0], *hands(guard))
        values: dict[str, Any] = {
            "place": GOLD_ROOM,
            "persons": [guard],
            "visitors": [
                {"name": VISITOR, "organisation": INSPECTORATE, "escort": guard}
            ],
            "tools": "hand lamp, air-speed meter, note pad",
            "camera": CAMERA,
            "purpose": "yearly look at the furnace hood and its draught",
        }
        self._say("visit", "room.entered", values, at(made.day, "09:05"), signers)
        values = {
            "place": GOLD_ROOM,
            "persons": [{"person": guard, "detector": "clear"}],
            "visitors": [{"name": VISITOR, "detector": "clear"}],
            "tools": "hand lamp, air-speed meter, note pad",
            "camera": CAMERA,
        }
        self._say("visit over", "room.left", values, at(made.day, "10:40"), signers)

    def _alarm(self, made: Pour, crew: Hands, guard: str) -> None:
        """Write that the detector sounded for an officer, and what cleared it."""
        values = {
            "place": GOLD_ROOM,
            "detector": DETECTOR,
            "person": crew[0][0],
            "cleared": "hand_search",
            "cleared_by": guard,
            "camera": CAMERA,
        }
        self._say(
            "alarm", "detector.alarmed", values, at(made.day, "15:21"),
            (*hands(guard), crew[0]),
        )  # fmt: skip

    def _hand_over_room(self, made: Pour, first: Hands, second: Hands) -> None:
        joined = " and " if len(made.bars) == 2 else " to "
        bars = joined.join((made.bars[0], made.bars[-1]))
        values = {
            "place": GOLD_ROOM,
            "outgoing": _names(first),
            "incoming": _names(second),
            "way": "all_sign",
            "open_items": f"bars {bars} cool in their moulds, to be stamped and weighed"
            f" after 14:00; slag {made.item('SLG')} in its pot, not weighed yet",
        }
        self._say(
            "handed over", "shift.handed_over", values, at(made.day, "13:20"),
            (*first, *second),
        )  # fmt: skip

    def _hand_over_bay(self, shift: Shift, open_items: str) -> None:
        """Write the hopper bay taken over by those who come and read the seals."""
        going, coming = self.room.crew(shift.turn), self.room.crew(shift.turn + 1)
        values = {
            "place": BAY,
            "outgoing": _names(going),
            "incoming": _names(coming),
            "way": "sealed_and_inspected",
            "vessels": [
                {"vessel": mine.HOPPER, "seals_seen": self.room.seals.seen(mine.HOPPER)}
            ],
            "open_items": open_items,
        }
        when = shift.handover + timedelta(minutes=22)
        self._say("handed over", "shift.handed_over", values, when, coming)

    def _report_incident(self, made: Pour, crew: Hands) -> None:
        values = {
            "incident": INCIDENT,
            "severity": "near_miss",
            "what": "a sack of borax was damp at the bottom; seen as the flux was"
            " weighed out, before any of it was near the furnace",
            "place": GOLD_ROOM,
            "items": [made.item("CH")],
            "vessels": [mine.FURNACE],
            "done": "sack carried out and marked, flux taken from two dry ones, the"
            " metallurgist told before the furnace was lit",
            "anybody_hurt": False,
        }
        self.incident = self._say(
            "near miss", "incident.reported", values, at(made.day, "08:10"),
            (*hands(HALE), crew[0]),
        )  # fmt: skip

    def _close_incident(self, day: datetime) -> None:
        values = {
            "incident": INCIDENT,
            "found": "the gutter leaks over the east shelf of the flux store; three"
            " sacks there were damp",
            "changed": "flux stands in lidded drums on the west wall, and a drum is"
            " looked into before it comes in; the gutter is mended",
        }
        self._say(
            "near miss closed", "incident.closed", values, at(day, "14:30"),
            hands(RUVI, mine.METALLURGIST),
        )  # fmt: skip
        self._review(
            self.incident, at(day, "14:40"),
            f"{INCIDENT} is closed; the flux of the other charges was looked over and"
            " was dry",
            outcome="action_taken", other=mine.MANAGER,
        )  # fmt: skip

    def _issue_forms(self, day: datetime) -> None:
        values = {
            "series": FORMS,
            "first": 1,
            "last": FORMS_ISSUED,
            "issued_to": HALE,
            "place": GOLD_ROOM,
        }
        self._say(
            "forms", "paper_forms.issued", values, at(day, "08:20"),
            hands(HALE, mine.MANAGER),
        )  # fmt: skip

    def _void_form(self, day: datetime, clock: str, form: str, reason: str) -> None:
        values = {"form": form, "reason": reason, "form_kept": True}
        self._say(
            f"void/{form}", "paper_form.voided", values, at(day, clock),
            hands(HALE, mine.METALLURGIST),
        )  # fmt: skip

    def _night_on_paper(self, shift: Shift) -> None:
        """Write a night's round on paper, entered as soon as the server was back."""
        crew, back = self.room.crew(shift.turn), at(shift.day, "05:12", days=1)
        rounds = (("01:40", mine.HOPPER), ("01:55", mine.CONCENTRATE_SAFE))
        entries = []
        for n, (clock, vessel) in enumerate(rounds):
            values: dict[str, Any] = {
                "vessel": vessel,
                "seals_seen": self.room.seals.seen(vessel),
            }
            entry = self.room.diary.say(
                f"night round/{vessel}", "seal.inspected", values,
                at(shift.day, clock, days=1), crew,
                taken_down=back + timedelta(minutes=4 * n),
            )  # fmt: skip
            entries.append(entry)
        happened_at = at(shift.day, rounds[0][0], days=1)
        scan = f"{NIGHT_FORM}-scan.txt"
        values = {
            "form": NIGHT_FORM,
            "happened_at": happened_at.isoformat(),
            "entries": entries,
            "signed_in_ink": [
                {"name": _full_name(who), "person": who} for who in _names(crew)
            ],
            "scan": scan,
            "reason": "the server was down from 00:50 to 05:05, a tripped breaker",
        }
        self.room.diary.say(
            "night on paper", "paper_form.written_up", values,
            back + timedelta(minutes=12), crew,
            paper=(scan, self._scan(happened_at, rounds, crew)),
        )  # fmt: skip
        self._void_form(
            shift.day + timedelta(days=1), "07:40", SPOILED_FORM,
            "begun in the night with the day before's date, and begun again on"
            f" {NIGHT_FORM}",
        )  # fmt: skip

    def _scan(
        self, when: datetime, rounds: Sequence[tuple[str, str]], crew: Hands
    ) -> str:
        """Return the paper form, as the scan of it would read."""
        lines = [mine.INVENTED, f"Form {NIGHT_FORM}, {when:%Y-%m-%d}, seals looked at:"]
        for clock, vessel in rounds:
            seen = ", ".join(
                f"{row['seal']} on {row['point']}"
                for row in self.room.seals.seen(vessel)
            )
            lines.append(f"{clock}  {vessel}: {seen}; no tamper signs")
        names = " and ".join(_full_name(who) for who in _names(crew))
        return "\n".join([*lines, f"Signed in ink: {names}", ""])

    def _review_broken_seal(self, day: datetime) -> None:
        """Write what security made of the broken seal, once for each entry of it."""
        for clock, name, words in (
            ("11:10", "broken seal",
             "camera 1 shows the hose trolley run against the drain cover at 09:50; the"
             " cover itself was not moved and the hopper weighed the same"),
            ("11:20", "seal replaced",
             "the broken seal taken off is the one seen at 10:05; its remains are in"
             " the bag, and the trolley now has a stop in front of the drain"),
        ):  # fmt: skip
            self._review(
                self.room.chance.entry_id(name), at(day, clock), words,
                outcome="explained", other=mine.MANAGER,
            )  # fmt: skip

    def _ask_about_seal(self, day: datetime) -> None:
        self._review(
            self.odd_seal, at(day, "09:30"),
            "the cut seal S-9126 is in the bag of remains and of no range issued here;"
            " whoever fitted it was not in the bay's book, camera 1 is looked through",
            outcome="still_open", other=mine.METALLURGIST,
        )  # fmt: skip

    def _answer_about_seal(self, day: datetime) -> None:
        self._review(
            self.odd_seal, at(day, "15:10"),
            "camera 1 shows the samplers break the drain's seal with a barrow on 11"
            " October and put on one out of their own box; readings before and after"
            " agree with the flushes. Their box is locked away, and they know whom to"
            " call",
            outcome="action_taken", other=mine.MANAGER,
        )  # fmt: skip

    def _review(self, entry: str, when: datetime, words: str, **more: str) -> None:
        values = {
            "entry": entry,
            "number": 1,
            "outcome": more["outcome"],
            "words": words,
        }
        signers = hands(RUVI, more["other"])
        self._say("reviewed", "finding.reviewed", values, when, signers)

    def _say(
        self, name: str, kind: str, values: dict[str, Any], when: datetime, who: Hands
    ) -> str:
        name = f"desk/{name}/{when:%m%d %H%M}"
        return self.room.diary.say(name, kind, values, when, who)


def _names(crew: Hands) -> list[str]:
    return [person for person, _ in crew]


def _full_name(person: str) -> str:
    """Return how somebody signs in ink."""
    members = (*mine.PEOPLE, mine.NEWCOMER)
    return next(f"{m.name} (invented)" for m in members if m.person == person)


def _guard(*crews: Hands) -> str:
    """Return somebody of security who is in none of these crews."""
    busy = {person for crew in crews for person, _ in crew}
    return next(each for each in mine.SECURITY if each not in busy)
