"""Signed notes: a text with signature lines below it (C2SP signed-note).

    text lines, each ended by a line feed
    (an empty line)
    — <key name> <base64 of key id and signature>
    — ...

The signature covers the text, its last line feed included. The key id is the
first four bytes of SHA-256(name || 0x0A || type || public key); the only type
used here is 0x01, Ed25519. A *verifier key* names a key in one line:

    <name>+<key id in hex>+<base64 of type and public key>

Lines by unknown keys are ignored, as the specification wants: others may add
theirs. A line by a known key that does not verify spoils the whole note. Which
signatures must be there is for the caller to ask.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from ledger.core.base64text import from_base64, to_base64
from ledger.core.errors import BadNoteSignature, LedgerRefusal, MalformedNote
from ledger.core.signing import SigningKey, is_signed_by, raw_of_spki, spki_of_raw

ED25519 = 1
NOTE_SIZE_BYTES_MAX = 16_384
SIGNATURES_MAX = 16
_KEY_ID_SIZE_BYTES = 4
_LINE_START = "— "


@dataclass(frozen=True)
class NoteSignature:
    """One signature line: key name, key id and the bytes after the key id."""

    name: str
    key_id: bytes
    signature: bytes


@dataclass(frozen=True)
class Note:
    """A note's text (ended by a line feed) and its signature lines, unchecked."""

    text: str
    signatures: tuple[NoteSignature, ...]


@dataclass(frozen=True)
class VerifierKey:
    """A key by which note signatures are checked."""

    name: str
    spki: bytes

    @property
    def key_id(self) -> bytes:
        """The four bytes that stand before a signature by this key."""
        return _key_id(self.name, bytes([ED25519]) + raw_of_spki(self.spki))


def format_vkey(key: VerifierKey) -> str:
    """Return the one-line text of a verifier key."""
    octets = bytes([ED25519]) + raw_of_spki(key.spki)
    return f"{key.name}+{key.key_id.hex()}+{to_base64(octets)}"


def parse_vkey(text: str) -> VerifierKey:
    """Return the key of a one-line text; refuse a wrong id, length or type."""
    parts = text.split("+", 2)
    if len(parts) != 3:
        raise MalformedNote("Expected a verifier key: name+id+key.")
    name, key_id, encoded = parts
    _check_name(name)
    octets = _octets(encoded)
    if len(octets) != 33 or octets[0] != ED25519:
        raise MalformedNote(
            f"The verifier key of {name} is not an Ed25519 key of type 1."
        )
    if _key_id(name, octets).hex() != key_id:
        raise MalformedNote(f"The verifier key of {name} does not match its id.")
    key = VerifierKey(name, spki_of_raw(octets[1:]))
    raw_of_spki(key.spki)  # refuses keys under which signatures prove nothing
    return key


def format_note(note: Note) -> bytes:
    """Return the note as bytes."""
    _check_text(note.text)
    lines = "".join(
        f"{_LINE_START}{item.name} {to_base64(item.key_id + item.signature)}\n"
        for item in note.signatures
    )
    return f"{note.text}\n{lines}".encode()


def parse_note(octets: bytes) -> Note:
    """Return the note of its bytes, without checking any signature."""
    if len(octets) > NOTE_SIZE_BYTES_MAX:
        raise MalformedNote(f"A note is at most {NOTE_SIZE_BYTES_MAX} bytes long.")
    try:
        whole = octets.decode("utf-8")
    except UnicodeDecodeError as error:
        raise MalformedNote("A note is UTF-8 text; this is not.") from error
    split = whole.rfind("\n\n")
    if split < 0 or not whole.endswith("\n"):
        raise MalformedNote(
            "Expected a text, an empty line and signature lines, each ended by a line "
            "feed."
        )
    text, below = whole[: split + 1], whole[split + 2 :]
    _check_text(text)
    lines = below.split("\n")[:-1]
    if not 1 <= len(lines) <= SIGNATURES_MAX:
        raise MalformedNote(
            f"A note has 1 to {SIGNATURES_MAX} signature lines; found {len(lines)}."
        )
    return Note(text, tuple(_signature(line) for line in lines))


def sign_note(text: str, name: str, key: SigningKey) -> NoteSignature:
    """Return the signature line of `key`, under this name, for the text."""
    _check_name(name)
    _check_text(text)
    verifier = VerifierKey(name, key.spki)
    return NoteSignature(name, verifier.key_id, key.sign(text.encode()))


def verify_note(note: Note, keys: Iterable[VerifierKey]) -> frozenset[VerifierKey]:
    """Return which of the keys signed the note.

    Raises BadNoteSignature when a line names one of the keys and is not by it.
    """
    by_line = {(key.name, key.key_id): key for key in keys}
    signed = set()
    for item in note.signatures:
        key = by_line.get((item.name, item.key_id))
        if key is None:
            continue
        if not is_signed_by(key.spki, item.signature, note.text.encode()):
            raise BadNoteSignature(
                f"The signature line of {item.name} is not by its key."
            )
        signed.add(key)
    return frozenset(signed)


def _signature(line: str) -> NoteSignature:
    parts = line.removeprefix(_LINE_START).split(" ")
    if not line.startswith(_LINE_START) or len(parts) != 2:
        raise MalformedNote(f"{line[:60]!r} is no signature line.")
    name, encoded = parts
    _check_name(name)
    octets = _octets(encoded)
    if len(octets) <= _KEY_ID_SIZE_BYTES:
        raise MalformedNote(f"The signature line of {name} is too short.")
    return NoteSignature(name, octets[:_KEY_ID_SIZE_BYTES], octets[_KEY_ID_SIZE_BYTES:])


def _check_name(name: str) -> None:
    if not name or "+" in name or any(c.isspace() or not c.isprintable() for c in name):
        raise MalformedNote(
            f"{name[:60]!r} is no key name: it has no white space and no plus sign."
        )


def _check_text(text: str) -> None:
    if not text.endswith("\n"):
        raise MalformedNote("A note's text ends with a line feed.")
    if any(c < " " and c != "\n" for c in text):
        raise MalformedNote("A note's text has no control characters.")


def _octets(encoded: str) -> bytes:
    try:
        return from_base64(encoded)
    except LedgerRefusal as error:
        raise MalformedNote(error.message) from error


def _key_id(name: str, octets: bytes) -> bytes:
    digest = hashlib.sha256(name.encode() + b"\n" + octets).digest()
    return digest[:_KEY_ID_SIZE_BYTES]
