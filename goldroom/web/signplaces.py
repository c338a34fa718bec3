"""The places for signatures on a statement: whose, in which role, given or not."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from goldroom.reports.people import names


@dataclass(frozen=True, kw_only=True)
class Place:
    """A place for a signature."""

    person: str
    name: str
    role: str
    meaning: str
    is_signed: bool


def places(
    ledger_id: int, statement: Mapping[str, Any], signed: Collection[str]
) -> tuple[Place, ...]:
    """Return the places of a statement, in the signers' order."""
    known = names(ledger_id)
    return tuple(
        Place(
            person=each["person"],
            name=known.person(each["person"]),
            role=each["role"],
            meaning=each["meaning"],
            is_signed=each["person"] in signed,
        )
        for each in statement["signers"]
    )
