"""Findings that somebody has looked into, and what they made of them."""

from dataclasses import dataclass

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class Review(Record):
    """The latest word on a finding: `outcome`, in whose words, signed by whom.

    `finding` is `entry/nn` for what one entry showed, `code/item` for what a rule
    over several entries found. It speaks of the finding as it stood at `at`: what
    arose later under the same name is not reviewed by it.
    """

    table = "review"
    key_of = "{finding}"
    finding: str
    outcome: str
    words: str
    people: tuple[str, ...]
    at: str
    entry: str
    known_at: str


def rule_finding(code: str, item: str) -> str:
    """Return the name of a finding that a rule over several entries made."""
    return f"{code}/{item}"
