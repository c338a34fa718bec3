"""The act: who said it, when it happened, when it was taken down.

Everything about an entry that the fold may use beside the statement's own values.
Times are aware; texts made from them are UTC, so that they sort.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any


def utc_text(moment: datetime) -> str:
    """Return the moment in UTC to the second, as text that sorts by time."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@dataclass(frozen=True, kw_only=True)
class Hand:
    """One signer: person and the role signed as."""

    person: str
    role: str


@dataclass(frozen=True, kw_only=True)
class Act:
    """An entry seen by the fold.

    `klass` is the signing class; `received_at` the server's clock when appended
    (the present moment while a statement is only being checked).
    """

    entry: str
    kind: str
    klass: str
    occurred_at: datetime
    received_at: datetime
    hands: tuple[Hand, ...]
    corrects_entry: str = ""
    attachments: int = 0

    @property
    def at(self) -> str:
        """Return when it happened, as UTC text."""
        return utc_text(self.occurred_at)

    @property
    def known_at(self) -> str:
        """Return when the ledger learned of it, as UTC text."""
        return utc_text(self.received_at)

    @property
    def measured_in(self) -> str:
        """Return the entry whose determinations these figures are.

        A correction of figures is about the readings and samples of the entry that
        it corrects: their errors keep the ids they had.
        """
        return self.corrects_entry or self.entry

    @property
    def people(self) -> tuple[str, ...]:
        """Return the signers' person ids, in signing order."""
        return tuple(hand.person for hand in self.hands)


def act_of(statement: Mapping[str, Any], received_at: datetime) -> Act:
    """Return the act of a statement taken down at a time."""
    corrects = statement["corrects"]
    return Act(
        entry=statement["entry_id"],
        kind=statement["kind"],
        klass=statement["class"],
        occurred_at=datetime.fromisoformat(statement["occurred_at"]),
        received_at=received_at,
        hands=tuple(
            Hand(person=each["person"], role=each["role"])
            for each in statement["signers"]
        ),
        corrects_entry=corrects["entry"] if corrects else "",
        attachments=len(statement["attachments"]),
    )
