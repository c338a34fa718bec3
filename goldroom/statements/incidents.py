"""Incidents: what went wrong, what was done, and what was found out later.

An incident changes nothing about the metal: what moved is said in its own kind. Help
comes first: rescue never waits for a signature, nor does this report. Site
procedures and local law say who else must be told, and when.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.notices import notice
from goldroom.custody.records import Item, Place, Record, Said, Vessel
from goldroom.custody.room import Incident
from goldroom.custody.rules import check_other_hand
from goldroom.custody.state import State
from goldroom.errors import AlreadyRegistered, NotInThisState
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind
from goldroom.statements.wording import listed

SEVERITIES = ("near_miss", "minor", "serious")
SEVERITY_WORDS = {"near_miss": "near miss", "minor": "minor", "serious": "serious"}


@kind("incident.reported", group="guard", title="Incident reported")
@dataclass(frozen=True, kw_only=True)
class IncidentReported(Statement):
    """Something that went wrong: what, where, what it concerns, what was done."""

    incident: str = fields.code("Incident id", help="A new id, never used before")
    severity: str = fields.choice("How serious", SEVERITIES)
    what: str = fields.text(
        "What happened",
        help="Help first: rescue never waits for a signature. Write this afterwards",
    )
    place: str | None = fields.code("Where", table="place", optional=True)
    items: tuple[str, ...] = fields.codes(
        "Items concerned", table="item", optional=True
    )
    vessels: tuple[str, ...] = fields.codes(
        "Vessels concerned", table="vessel", optional=True
    )
    entries: tuple[str, ...] = fields.codes(
        "Entries concerned", table="said", optional=True
    )
    done: str = fields.text("What was done", help="At once, and who was told")
    anybody_hurt: bool = fields.flag("Anybody hurt")
    hurt: str | None = fields.text(
        "Who was hurt, and how helped",
        optional=True,
        help="Needed if anybody was; details of health belong in the site's own file",
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse an id in use, things unknown, and hurt people without a word."""
        if state.get(Incident, self.incident) is not None:
            raise AlreadyRegistered(
                f"incident: {self.incident} was reported before. Give this one an id"
                " never used.",
                field="incident",
            )
        if self.place is not None:
            the(state, Place, self.place, "place")
        concerned: tuple[tuple[str, type[Record]], ...] = (
            ("items", Item),
            ("vessels", Vessel),
            ("entries", Said),
        )
        for field, record_type in concerned:
            for n, name in enumerate(getattr(self, field)):
                the(state, record_type, name, f"{field}[{n}]")
        if self.anybody_hurt != (self.hurt is not None):
            raise BadField(
                "hurt: write who was hurt and how they were helped if, and only if,"
                " anybody was.",
                field="hurt",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the incident, open, and the finding that makes it seen."""
        yield Incident(
            incident=self.incident,
            status="open",
            severity=self.severity,
            place=self.place or "",
            items=self.items,
            vessels=self.vessels,
            entries=self.entries,
            people=act.people,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
            closed_by="",
        )
        is_serious = self.severity == "serious" or self.anybody_hurt
        hurt = ", somebody was hurt" if self.anybody_hurt else ""
        yield notice(
            state,
            act,
            "incident_serious" if is_serious else "incident_reported",
            item=self.incident,
            found=f"{SEVERITY_WORDS[self.severity]}{hurt}",
            expected="no incident",
            message=f"incident {self.incident}: {self.what}",
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        concerned = [*self.items, *self.vessels, *(f"entry {e}" for e in self.entries)]
        where = f" in {self.place}" if self.place else ""
        return (
            f"Incident {self.incident}{where} ({SEVERITY_WORDS[self.severity]}):"
            f" {self.what}. Done: {self.done}."
            + (f" Hurt: {self.hurt}." if self.hurt else " Nobody was hurt.")
            + (f" It concerns {listed(concerned)}." if concerned else "")
        )


@kind("incident.closed", group="guard", title="Incident closed")
@dataclass(frozen=True, kw_only=True)
class IncidentClosed(Statement):
    """An incident looked into, with what was found and what changes."""

    incident: str = fields.code("Incident", table="incident")
    found: str = fields.text("What was found")
    changed: str | None = fields.text(
        "What is done otherwise from now on", optional=True
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse one closed already, and only those who reported it."""
        incident = the(state, Incident, self.incident, "incident")
        if incident.status != "open":
            raise NotInThisState(
                f"incident: {self.incident} was closed by {incident.closed_by}"
                " already. Report what is new as another incident.",
                field="incident",
            )
        check_other_hand(act, incident.people, "reported this incident")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the incident, closed."""
        incident = state.get(Incident, self.incident)
        assert incident is not None
        yield replace(incident, status="closed", closed_by=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        changed = f" From now on: {self.changed}." if self.changed else ""
        return f"Incident {self.incident} was closed. Found: {self.found}.{changed}"
