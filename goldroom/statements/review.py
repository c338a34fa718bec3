"""Findings looked into, and exports made: what was done with the record.

A finding that one entry shows is named by the entry and its number; what a rule over
several entries found by the rule's code and what it is about, as the list of what
wants attention has them. Nobody answers alone for what they did themselves.
"""

import base64
import binascii
from collections.abc import Iterator
from dataclasses import dataclass

from goldroom.custody.act import Act
from goldroom.custody.notices import RULED
from goldroom.custody.records import Emergency, Noticed, Record, Said
from goldroom.custody.review import Review, rule_finding
from goldroom.custody.rules import check_other_hand
from goldroom.custody.state import State
from goldroom.errors import UnknownFinding
from goldroom.statements import fields
from goldroom.statements.fields import BadField
from goldroom.statements.kind import Statement, kind

OUTCOMES = ("explained", "action_taken", "still_open")
OUTCOME_WORDS = {
    "explained": "explained",
    "action_taken": "action taken",
    "still_open": "still open",
}
ROOT_BYTES = 32
"""Length of a ledger's root: a SHA-256 hash."""


@kind("finding.reviewed", group="guard", title="Finding reviewed")
@dataclass(frozen=True, kw_only=True)
class FindingReviewed(Statement):
    """A finding looked into by security and another, and what came of it."""

    entry: str | None = fields.code(
        "Entry", optional=True, help="That shows the finding, if one entry does"
    )
    number: int | None = fields.whole(
        "Number", low=1, high=99, optional=True, help="Of the finding in its entry"
    )
    code: str | None = fields.code(
        "Code", optional=True, help="Of the rule, if several entries show the finding"
    )
    item: str | None = fields.text(
        "About", optional=True, help="What the rule's finding is about"
    )
    outcome: str = fields.choice("Outcome", OUTCOMES)
    words: str = fields.text("In words", help="What was looked at, and what it showed")

    def check(self, act: Act, state: State) -> None:
        """Refuse what was never noticed, and only those whose act it was."""
        of_entry = (self.entry, self.number)
        of_rule = (self.code, self.item)
        named = [None not in pair for pair in (of_entry, of_rule)]
        if sum(named) != 1 or any(of_rule if named[0] else of_entry):
            raise BadField(
                "entry: name the finding by entry and number, or by code and item,"
                " as the list of what wants attention has it.",
                field="entry",
            )
        if self.entry is not None and state.get(Noticed, self.finding) is None:
            raise UnknownFinding(
                f"number: entry {self.entry} shows no finding {self.number}. Take both"
                " from the list of what wants attention.",
                field="number",
            )
        if self.code is not None and self.code not in RULED:
            raise UnknownFinding(
                f"code: no rule over several entries finds {self.code!r}. Take the code"
                " from the list of what wants attention.",
                field="code",
            )
        check_other_hand(act, self._whose(state), "caused this finding")

    @property
    def finding(self) -> str:
        """Return the name of the finding that this reviews."""
        if self.entry is not None:
            return f"{self.entry}/{self.number:02d}"
        assert self.code is not None
        assert self.item is not None
        return rule_finding(self.code, self.item)

    def _whose(self, state: State) -> set[str]:
        """Return the persons whose act it was: signers, or those the rule names."""
        about = [self.entry or "", *(self.item or "").split()]
        people = set(about)
        for each in about:
            said = state.get(Said, each)
            emergency = state.get(Emergency, each)
            people.update(said.people if said is not None else ())
            people.update([emergency.person] if emergency is not None else ())
        return people

    def apply(self, act: Act, state: State) -> Iterator[Record]:
        """Yield the latest word on the finding."""
        yield Review(
            finding=self.finding,
            outcome=self.outcome,
            words=self.words,
            people=act.people,
            at=act.at,
            entry=act.entry,
            known_at=act.known_at,
        )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        if self.entry is not None:
            named = f"Finding {self.number} of entry {self.entry}"
        else:
            named = f"The finding {self.code} about {self.item}"
        return f"{named} was reviewed, {OUTCOME_WORDS[self.outcome]}: {self.words}."


@kind("export.made", group="guard", title="Export made")
@dataclass(frozen=True, kw_only=True)
class ExportMade(Statement):
    """A full export of the ledger: who took it, what for, up to which chain mark."""

    taken_by: str = fields.text(
        "Taken by", help="Who has it now: a person of the site, an auditor, a court"
    )
    purpose: str = fields.text("What for")
    size: int = fields.whole(
        "Entries in it", low=1, help="Second line of the export's chain mark"
    )
    root: str = fields.text("Root", help="Third line of the export's chain mark")
    medium: str | None = fields.text(
        "On what, and where it is kept", optional=True, help="Disk, stick, its number"
    )

    def check(self, act: Act, state: State) -> None:
        """Refuse a root that is none: 32 bytes in base64, as the chain mark has it."""
        try:
            root = base64.b64decode(self.root, validate=True)
        except (binascii.Error, ValueError):
            root = b""
        if len(root) != ROOT_BYTES or base64.b64encode(root).decode() != self.root:
            raise BadField(
                f"root: found {self.root[:60]!r}, expected the third line of the"
                " export's chain mark: 44 characters that end with an equals sign."
                " Take the line from there.",
                field="root",
            )

    def sentence(self) -> str:
        """Return what the journal reads aloud."""
        kept = f" It is kept on {self.medium}." if self.medium else ""
        return (
            f"{self.taken_by} took a full export of {self.size} entries, root"
            f" {self.root}: {self.purpose}.{kept}"
        )
