"""What `ledger.core` refuses, what it could not check, and what it noticed.

Three different things, kept apart:

- a *refusal* is an exception: this cannot be accepted. `code` is stable and
  may be relied on by programs; the message says what was found, what was
  expected and what to do.
- *could not check* is an exception too, but says nothing against the record:
  this program does not know the format, or cannot read the file.
- a *problem* is a value: something a check noticed about one statement. Checks
  collect problems and never stop at the first.
"""

from __future__ import annotations

from dataclasses import dataclass


class LedgerRefusal(Exception):
    """Something that cannot be accepted into the record."""

    code = "ledger_refusal"

    def __init__(self, message: str, *, field: str = "", code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        if code:
            self.code = code


class NotCanonical(LedgerRefusal):
    """Bytes or a value outside the canonical JSON profile."""

    code = "not_canonical"


class UnassignedCharacter(NotCanonical):
    """A character that this reader's Unicode tables do not know (yet)."""

    code = "unassigned_character"


class MalformedBase64(LedgerRefusal):
    """Text that is not the one base64 spelling of some bytes."""

    code = "malformed_base64"


class MalformedStatement(LedgerRefusal):
    """A statement whose envelope is not as the format wants it."""

    code = "malformed_statement"


class MalformedEntry(LedgerRefusal):
    """Leaf bytes that are no entry, although they are canonical JSON."""

    code = "malformed_entry"


class UnsafeKey(LedgerRefusal):
    """A public key that must not be enrolled."""

    code = "unsafe_key"


class MalformedPolicy(LedgerRefusal):
    """A signing policy or class list that cannot be applied."""

    code = "malformed_policy"


class KeyringRefusal(LedgerRefusal):
    """An enrolment, rotation, revocation or policy that cannot be accepted."""

    code = "keyring_refusal"


class SignersRefused(LedgerRefusal):
    """A statement whose signers or signatures break a rule."""

    code = "signers_refused"


class MalformedNote(LedgerRefusal):
    """Text that is no signed note, or a verifier key that is none."""

    code = "malformed_note"


class BadNoteSignature(LedgerRefusal):
    """A note signature by a known key that does not verify."""

    code = "bad_note_signature"


class MalformedCheckpoint(LedgerRefusal):
    """A note text that is not a checkpoint."""

    code = "malformed_checkpoint"


class MalformedProof(LedgerRefusal):
    """A proof asked for a place that the tree does not have."""

    code = "malformed_proof"


class CouldNotCheck(Exception):
    """This program cannot judge what it was given. No word against the record."""

    code = "could_not_check"

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class UnknownFormat(CouldNotCheck):
    """A format, version or algorithm that this program does not know."""

    code = "unknown_format"


@dataclass(frozen=True)
class Problem:
    """Something a check noticed about one statement; collected, not raised.

    `cls` is the class of finding (signature, policy, content ...), `code` is
    stable, `expected` and `found` are short texts.
    """

    cls: str
    code: str
    message: str
    field: str = ""
    expected: str = ""
    found: str = ""

    def refusal(self) -> SignersRefused:
        """Return the refusal that says the same, for use where we write."""
        return SignersRefused(self.message, field=self.field, code=self.code)
