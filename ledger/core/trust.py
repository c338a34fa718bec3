"""What the reader brings along: the policy file and the anchors.

Trust comes from outside the file that is verified. The *policy file* is text,
one item a line; `#` starts a comment:

    log <verifier key>       the key that signs this ledger's checkpoints
    genesis <hash>           the leaf hash of the ledger's first entry, in base64 or,
                             as reports print it, in hexadecimal
    quorum none              no further signatures are demanded

A line that is not one of these means that the program cannot judge by the
policy, so nothing is judged. `log` and `genesis` may occur several times, for
several ledgers.

An *anchor* is a checkpoint kept by somebody else: a signed checkpoint file, or
its three lines alone, as typed in from paper; white space around them is ignored.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ledger.core.base64text import from_base64
from ledger.core.checkpoint import Checkpoint, parse_checkpoint, parse_signed
from ledger.core.errors import CouldNotCheck, LedgerRefusal
from ledger.core.note import Note, VerifierKey, parse_vkey

FILE_SIZE_BYTES_MAX = 65_536
_HEX = re.compile(r"[0-9a-f]{64}", re.ASCII)  # base64 of a hash is 44 characters long


@dataclass(frozen=True)
class TrustPolicy:
    """The keys and first-entry hashes that the reader trusts."""

    log_keys: tuple[VerifierKey, ...] = ()
    genesis_hashes: frozenset[bytes] = frozenset()

    def keys_for(self, origin: str) -> tuple[VerifierKey, ...]:
        """Return the log keys trusted for this ledger."""
        return tuple(key for key in self.log_keys if key.name == origin)


@dataclass(frozen=True)
class Anchor:
    """A checkpoint kept elsewhere; `note` is None if it carries no signature."""

    name: str
    checkpoint: Checkpoint
    note: Note | None


def parse_trust(octets: bytes, *, name: str = "policy") -> TrustPolicy:
    """Return the policy of a policy file; raise CouldNotCheck for any other."""
    log_keys: list[VerifierKey] = []
    genesis: set[bytes] = set()
    for number, line in enumerate(_text(octets, name).split("\n"), start=1):
        words = line.split("#", 1)[0].split()
        try:
            match words:
                case []:
                    continue
                case ["log", text]:
                    log_keys.append(parse_vkey(text))
                case ["genesis", text] if _HEX.fullmatch(text):
                    genesis.add(bytes.fromhex(text))
                case ["genesis", text]:
                    genesis.add(from_base64(text, size=32, field="genesis"))
                case ["quorum", "none"]:
                    continue
                case _:
                    raise CouldNotCheck(
                        f"{name}, line {number}: expected log, genesis or quorum none; "
                        f"found {line[:60]!r}."
                    )
        except LedgerRefusal as error:
            raise CouldNotCheck(f"{name}, line {number}: {error.message}") from error
    return TrustPolicy(tuple(log_keys), frozenset(genesis))


def parse_anchor(octets: bytes, *, name: str = "anchor") -> Anchor:
    """Return the anchor of a checkpoint file; raise CouldNotCheck for any other."""
    text = _text(octets, name).replace("\r\n", "\n")
    try:
        if "\n\n" in text.rstrip():
            checkpoint, note = parse_signed(text.encode())
            return Anchor(name, checkpoint, note)
        typed = "".join(f"{word}\n" for word in text.split())
        return Anchor(name, parse_checkpoint(typed), None)
    except LedgerRefusal as error:
        raise CouldNotCheck(f"{name}: {error.message}") from error


def _text(octets: bytes, name: str) -> str:
    if len(octets) > FILE_SIZE_BYTES_MAX:
        raise CouldNotCheck(f"{name}: longer than {FILE_SIZE_BYTES_MAX} bytes.")
    try:
        return octets.decode("utf-8")
    except UnicodeDecodeError as error:
        raise CouldNotCheck(f"{name}: not UTF-8 text.") from error
