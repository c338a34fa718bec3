"""The record about itself: corrections, lapsed proposals, emergencies.

A correction of figures gives whole corrected values: all but the figures must be as
they were, and the figures become new versions under the readings' own ids. A void
puts everything back as it was before the entry, while nothing has built on it. At
least one signer of either did not sign the original.

An emergency is said by one person, after the event, for rescue never waits for a
signature; it is ratified by two others, who say which stock they checked.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from goldroom.custody.act import Act
from goldroom.custody.lookups import the
from goldroom.custody.records import Emergency, Place, Record, Said
from goldroom.custody.rules import check_other_hand
from goldroom.custody.state import State
from goldroom.custody.undo import check_undo, undo
from goldroom.errors import (
    CannotVoid,
    NoFiguresToCorrect,
    NotInThisState,
    OnlyFiguresChange,
    SameSigners,
    UnknownEntry,
)
from goldroom.statements import fields
from goldroom.statements.fields import BadField, frame_digest, parse
from goldroom.statements.kind import Statement, kind, marked
from goldroom.statements.wording import ended

MODES = ("figures", "void")
LAPSES = ("refused", "expired", "withdrawn")


@kind("record.corrected", group="record", title="Record corrected")
@dataclass(frozen=True, kw_only=True)
class RecordCorrected(Statement):
    """Figures of an entry put right, or the entry taken back."""

    entry: str = fields.code("Entry", table="said", help="The entry that was wrong")
    mode: str = fields.choice(
        "What to do", MODES, help="Put its figures right, or take it back whole"
    )
    kind: str = fields.code("Kind of the entry")
    values: Any = fields.opaque(
        "Corrected values",
        optional=True,
        help="All values of the entry, with the figures put right",
    )
    reason: str = fields.text("Reason")

    def check(self, act: Act, state: State) -> None:
        """Refuse what was not said, the same signers, and more than figures."""
        original = state.get(Said, self.entry)
        if original is None:
            raise UnknownEntry(
                f"entry: {self.entry} is no entry that can be corrected here. Check"
                " the id against the journal.",
                field="entry",
            )
        if act.corrects_entry != self.entry:
            raise BadField(
                f"entry: found {self.entry}, but the statement as a whole corrects"
                f" {act.corrects_entry or 'nothing'}. Name the same entry in both: here"
                ' and in "corrects", beside "kind".',
                field="entry",
            )
        if original.kind != self.kind:
            raise OnlyFiguresChange(
                f"kind: {self.entry} is a {original.kind}, not a"
                f" {self.kind}. Write its own kind.",
                field="kind",
            )
        if original.voided_by:
            raise NotInThisState(
                f"entry: {self.entry} was taken back by {original.voided_by}. Say"
                " anew what happened.",
                field="entry",
            )
        check_other_hand(act, original.people, "signed the original")
        if self.mode == "void":
            _check_void(state, original)
        else:
            self._check_corrected(act, state, original)

    def _check_corrected(self, act: Act, state: State, original: Said) -> None:
        corrected = self._corrected(original)
        if frame_digest(corrected) != original.frame:
            raise OnlyFiguresChange(
                f"values: more than figures differ from {self.entry}. A correction"
                " changes figures alone; to change anything else, take the entry"
                " back and say it anew.",
                field="values",
            )
        corrected.check_figures(_act_then(act, original), state)

    def _corrected(self, original: Said) -> Statement:
        """Return the entry's statement with the corrected values."""
        if self.values is None:
            raise BadField(
                "values: the corrected values are missing. Write all values of the"
                " entry, with the figures put right.",
                field="values",
            )
        cls = marked(original.kind, original.v)
        assert cls is not None, "what was said is of a known kind"
        if not cls.has_figures():
            raise NoFiguresToCorrect(
                f"entry: {self.entry} is a {original.kind}, whose values are not"
                " versions of a figure. Say what holds from now on in a new statement"
                " of that kind.",
                field="entry",
            )
        return parse(cls, self.values, "values.")

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield new versions of the figures, or the records as they were before."""
        original = state.get(Said, self.entry)
        assert original is not None
        if self.mode == "void":
            yield from undo(state, act, original)
            yield replace(original, voided_by=act.entry)
            return
        corrected = self._corrected(original)
        yield from corrected.measures(_act_then(act, original), state)
        yield replace(original, corrected_by=(*original.corrected_by, act.entry))

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        what = _title(self.kind)
        if self.mode == "void":
            return f"Entry {self.entry} ({what}) was taken back: {ended(self.reason)}"
        return (
            f"The figures of entry {self.entry} ({what}) were put right:"
            f" {ended(self.reason)}"
        )


def _title(kind_name: str) -> str:
    """Return what people call a kind, as its first version is called."""
    cls = marked(kind_name, 1)
    return kind_name if cls is None else cls.title


def _act_then(act: Act, original: Said) -> Act:
    """Return the correction's act at the time of what it corrects.

    New versions name the correction as their entry and its time as when they became
    known, but speak of the time, and the readings, of the original.
    """
    return replace(act, occurred_at=datetime.fromisoformat(original.at))


def _check_void(state: State, original: Said) -> None:
    cls = marked(original.kind, original.v)
    if cls is None or not cls.can_void:
        raise CannotVoid(
            f"entry: a {original.kind} cannot be taken back: what it says was done"
            " or seen. Correct its figures, or say what happened next.",
            field="entry",
        )
    check_undo(state, original)


@kind("record.lapsed", group="record", klass="server", title="Proposal lapsed")
@dataclass(frozen=True, kw_only=True)
class RecordLapsed(Statement):
    """A proposal that somebody signed and that never became an entry."""

    reason: str = fields.choice("Reason", LAPSES)
    detail: str = fields.text("Detail")
    statement: Any = fields.opaque("Statement proposed")
    signatures: Any = fields.opaque("Signatures given")

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        named = self.statement.get("kind", "statement") if self.statement else ""
        how = {
            "refused": "was refused",
            "expired": "found no second signature in time",
            "withdrawn": "was withdrawn",
        }[self.reason]
        return f"A proposal ({_title(named)}) {how}: {ended(self.detail)}"


@kind("emergency.declared", group="record", klass="single", title="Emergency")
@dataclass(frozen=True, kw_only=True)
class EmergencyDeclared(Statement):
    """What was done in an emergency, said by one person, after the event."""

    what: str = fields.text(
        "What happened",
        help="Rescue never waits for a signature: help first, write this afterwards",
    )
    place: str | None = fields.code("Where", table="place", optional=True)
    hazards: str | None = fields.text(
        "Hazards still there", optional=True, help="Gas, fume, heat, spill ..."
    )
    opened: str | None = fields.text(
        "Opened or left unguarded",
        optional=True,
        help="Doors, vessels, seals, metal left where it was",
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse only a place that nobody knows."""
        if self.place is not None:
            the(state, Place, self.place, "place")

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        where = f" in {self.place}" if self.place else ""
        hazards = f" Hazards: {self.hazards}." if self.hazards else ""
        opened = f" Left open or unguarded: {self.opened}." if self.opened else ""
        return f"Emergency{where}: {self.what}.{hazards}{opened}"


@kind("emergency.ratified", group="record", title="Emergency ratified")
@dataclass(frozen=True, kw_only=True)
class EmergencyRatified(Statement):
    """An emergency looked into by others, with the stock that they checked."""

    emergency: str = fields.code("Emergency", table="emergency")
    found: str = fields.text("What was found")
    stock_check: str = fields.text(
        "Stock checked", help="Which stock was counted afterwards, and what it showed"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse one ratified already, and the person who declared it."""
        emergency = the(state, Emergency, self.emergency, "emergency")
        if emergency.status != "open":
            raise NotInThisState(
                f"emergency: {self.emergency} was ratified by"
                f" {emergency.ratified_by} already."
                " Look up that entry; nothing is left to do.",
                field="emergency",
            )
        if emergency.person in act.people:
            raise SameSigners(
                f"signers: {emergency.person} declared this emergency. Let two"
                " others ratify it.",
                field="signers",
            )

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the emergency, ratified."""
        emergency = state.get(Emergency, self.emergency)
        assert emergency is not None
        yield replace(emergency, status="ratified", ratified_by=act.entry)

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        return (
            f"The emergency of entry {self.emergency} was ratified."
            f" Found: {self.found}. Stock checked: {self.stock_check}."
        )
