"""What a verification found, and what it cannot know.

The verdict is one of four, and so is the exit code of the program:

    0  verified, and pinned by something that was kept elsewhere
    3  verified, but nothing was given that pins the newest entries
    2  evidence of tampering or damage
    1  could not check: unreadable, or a format this program does not know

Evidence of tampering outweighs what could not be checked. Only a chain mark
kept by somebody else (an *anchor*) pins the newest entries: a chain mark that
lies in the bundle itself can be cut off together with them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

VERIFIED, COULD_NOT_CHECK, TAMPERED, NOT_PINNED = 0, 1, 2, 3
VERDICTS = {
    VERIFIED: "verified and pinned",
    COULD_NOT_CHECK: "could not check",
    TAMPERED: "evidence of tampering or damage",
    NOT_PINNED: "verified, but not pinned",
}
MEANINGS = {
    VERIFIED: "Every check passed, and the first {pinned_size} of {size} entries are "
    "those that a chain mark kept elsewhere speaks of.",
    COULD_NOT_CHECK: "Nothing here speaks against the ledger, and nothing for it: see "
    "above for what could not be read or is not known to this program.",
    TAMPERED: "Each line above names a place where something was changed, removed, "
    "added or damaged. Keep this file as it is, and compare it with a copy or "
    "chain mark that somebody else holds before anything is put right.",
    NOT_PINNED: "Every check passed. To learn whether the newest entries are all here, "
    "run this again with a chain mark that was kept elsewhere (--anchor).",
}
FINDINGS_KEPT_MAX = 5_000
NOT_CHECKED_KEPT_MAX = 100

NEVER_PROVED = (
    "What was never entered leaves no trace here; nor do false readings that all "
    "signers signed, or a key used by somebody to whom its owner lent it.",
    "The true time of an event is known only between the two times at which somebody "
    "elsewhere saw a chain mark before and after it.",
    "Somebody who holds no chain mark and no signing slip of this ledger may have been "
    "shown another history of it.",
    "A verification that runs on the machine under suspicion proves nothing against "
    "whoever controls that machine.",
)


def one_line(text: str) -> str:
    """Return text on one line, whatever it quotes from what is being judged.

    Line ends, control and invisible characters are written out: a name in the record
    must not be able to write a verdict of its own.
    """
    return "".join(
        character if character.isprintable() else ascii(character)[1:-1]
        for character in text
    )


def fit_for(stream: object, text: str) -> str:
    """Return text as the stream's encoding can show it; the rest is written out."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    return text.encode(encoding, "backslashreplace").decode(encoding)


@dataclass(frozen=True)
class Finding:
    """Something noticed: its class, a stable code, the place, and a sentence.

    Classes: link, content, signature, policy, anchor, attachment, manifest,
    checkpoint, store (a stored row or head that differs from its leaf), and those
    that other packages add.
    """

    cls: str
    code: str
    message: str
    seq: int | None = None
    entry_id: str | None = None
    expected: str = ""
    found: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return the finding for a machine."""
        return {
            "class": self.cls,
            "code": self.code,
            "entry_id": self.entry_id,
            "expected": self.expected,
            "found": self.found,
            "message": self.message,
            "seq": self.seq,
        }

    def sentence(self) -> str:
        """Return the finding in one line for a person."""
        place = "" if self.seq is None else f"entry {self.seq}: "
        detail = ""
        if self.expected or self.found:
            detail = f" Expected {self.expected or 'nothing'}, found "
            detail += f"{self.found or 'nothing'}."
        return one_line(f"[{self.cls}/{self.code}] {place}{self.message}{detail}")


class Notebook:
    """Collects findings; keeps the first thousands and counts the rest."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.left_off = 0
        self.not_checked: list[str] = []

    def add(self, finding: Finding) -> None:
        """Take in a finding."""
        if len(self.findings) < FINDINGS_KEPT_MAX:
            self.findings.append(finding)
        else:
            self.left_off += 1

    def could_not_check(self, message: str) -> None:
        """Take in that something could not be judged."""
        if len(self.not_checked) < NOT_CHECKED_KEPT_MAX:
            self.not_checked.append(message)


TOLD_OF_A_KIND = 5
"""How many findings of one code a text tells one by one; JSON tells them all."""


def told(findings: Sequence[Finding]) -> list[str]:
    """Return the findings as sentences; of many with one code the first few.

    One changed byte makes every later signer's history another: such a run is told
    by its beginning and its length, so that what caused it is not lost below it.
    """
    lines: list[str] = []
    counts: dict[tuple[str, str], int] = {}
    for finding in findings:
        of_kind = (finding.cls, finding.code)
        counts[of_kind] = counts.get(of_kind, 0) + 1
        if counts[of_kind] <= TOLD_OF_A_KIND:
            lines.append(finding.sentence())
    lines += [
        f"... and {count - TOLD_OF_A_KIND} more of [{cls}/{code}]."
        for (cls, code), count in counts.items()
        if count > TOLD_OF_A_KIND
    ]
    return lines


@dataclass(frozen=True)
class Report:
    """The outcome of one verification."""

    origin: str
    size: int
    root: bytes
    last_hash: bytes
    genesis_hash: bytes
    findings: tuple[Finding, ...]
    findings_left_off: int
    could_not_check: tuple[str, ...]
    pinned_size: int | None
    genesis_pinned: bool

    @property
    def exit_code(self) -> int:
        """The verdict as a number."""
        if self.findings:
            return TAMPERED
        if self.could_not_check:
            return COULD_NOT_CHECK
        return NOT_PINNED if self.pinned_size is None else VERIFIED

    @property
    def verdict(self) -> str:
        """The verdict in words."""
        return VERDICTS[self.exit_code]

    @property
    def tail(self) -> str:
        """Up to where the ledger is pinned."""
        if self.pinned_size is None:
            return "tail not pinned"
        return f"tail pinned: size {self.pinned_size}"

    def _meaning(self) -> str:
        """Return the verdict's consequence in one sentence."""
        return MEANINGS[self.exit_code].format(
            size=self.size, pinned_size=self.pinned_size
        )

    def unproved(self) -> tuple[str, ...]:
        """Return, in plain words, what this verification cannot prove."""
        return (*self.unpinned(), *NEVER_PROVED)

    def unpinned(self) -> list[str]:
        """Return what could have been removed or replaced unseen, in plain words."""
        lines = []
        if self.pinned_size is None:
            lines.append(
                "Newest entries may have been removed: no chain mark kept elsewhere "
                "was given."
            )
        elif self.pinned_size < self.size:
            lines.append(
                f"Entries after the first {self.pinned_size} may have been removed or, "
                "by people with keys, replaced since: no newer chain mark kept "
                "elsewhere was given."
            )
        else:
            lines.append(
                f"Entries newer than the {self.size} here may have existed: the newest "
                "chain mark given ends there."
            )
        if not self.genesis_pinned:
            lines.append(
                "The whole ledger may have been replaced by another: neither the hash "
                "of its first entry nor a chain mark was given to compare."
            )
        return lines

    def to_json(self) -> dict[str, Any]:
        """Return the report for a machine."""
        return {
            "cannot_prove": list(self.unproved()),
            "could_not_check": list(self.could_not_check),
            "exit_code": self.exit_code,
            "findings": [finding.to_json() for finding in self.findings],
            "findings_left_off": self.findings_left_off,
            "first_entry_hash": self.genesis_hash.hex(),
            "first_entry_pinned": self.genesis_pinned,
            "last_entry_hash": self.last_hash.hex(),
            "origin": self.origin,
            "pinned_size": self.pinned_size,
            "root": self.root.hex(),
            "size": self.size,
            "verdict": self.verdict,
        }

    def text(self) -> str:
        """Return the report for a person."""
        lines = [
            f"Ledger:       {self.origin or 'unknown'}",
            f"Entries:      {self.size}",
            f"Root:         {self.root.hex()}",
            f"First entry:  {self.genesis_hash.hex() or 'none'}",
            "",
            *told(self.findings),
        ]
        if self.findings_left_off:
            lines.append(f"... and {self.findings_left_off} more findings.")
        lines += [
            f"[could not check] {one_line(said)}" for said in self.could_not_check
        ]
        lines += [
            f"Verdict:      {self.verdict}",
            f"              {self.tail}",
            "",
            self._meaning(),
            "",
            "What this cannot prove:",
            *(f"- {line}" for line in self.unproved()),
        ]
        return "\n".join(lines) + "\n"
