"""What exactly a person signs, and with what.

Every text that is signed names its purpose first, so that a signature made for
one purpose can never serve another. A person's signature over a statement is
over these bytes, each line ended by a line feed:

    goldroom.ledger/sign/v1
    <the ledger's name (origin)>
    <the role in which the person signs>
    <SHA-256 of the statement's canonical bytes, hexadecimal>
    <nonce: 16 random bytes, base64url without padding, used once ever>

A new key proves that its holder has it by signing, likewise:

    goldroom.ledger/enrol/v1
    <origin>
    <person id>
    <key id>
    <nonce>

A key is named by its id: base64url without padding of

    SHA-256("goldroom.ledger/key/v1\\n" + algorithm + "\\n" + SPKI DER)

The one algorithm so far is `ed25519-file`: Ed25519 (RFC 8032), private key in a
sealed file. Public keys of small order are refused: under such a key one
constant signature fits any message, so its holder could disown all of them.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)

from ledger.core.base64text import from_base64, from_base64url, to_base64, to_base64url
from ledger.core.errors import MalformedStatement, UnsafeKey

ALGORITHM = "ed25519-file"
NONCE_SIZE_BYTES = 16
SIGNATURE_SIZE_BYTES = 64
_SIGN_CONTEXT = "goldroom.ledger/sign/v1"
_ENROL_CONTEXT = "goldroom.ledger/enrol/v1"
_KEY_CONTEXT = "goldroom.ledger/key/v1"

# RFC 8410 section 4: SubjectPublicKeyInfo of Ed25519 has one DER form, this
# prefix and 32 bytes of key.
_SPKI_PREFIX = bytes.fromhex("302a300506032b6570032100")
_FIELD_PRIME = 2**255 - 19
# The y coordinates of the eight points whose order divides 8 (the sign bit left
# out). Their list is well known; a test computes them anew from the curve.
_SMALL_ORDER_Y = frozenset(
    int.from_bytes(bytes.fromhex(text), "little")
    for text in (
        "00" * 32,
        "01" + "00" * 31,
        "ec" + "ff" * 30 + "7f",
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    )
)


@dataclass(frozen=True)
class SigningKey:
    """A private key in memory, with its public key and id. Never written here."""

    private: Ed25519PrivateKey

    @classmethod
    def generate(cls) -> SigningKey:
        """Return a new random key."""
        return cls(Ed25519PrivateKey.generate())

    @classmethod
    def from_seed(cls, seed: bytes) -> SigningKey:
        """Return the key of a 32-byte seed (the RFC 8032 private key)."""
        return cls(Ed25519PrivateKey.from_private_bytes(seed))

    @property
    def seed(self) -> bytes:
        """The 32 secret bytes."""
        return self.private.private_bytes_raw()

    @property
    def spki(self) -> bytes:
        """The public key as SubjectPublicKeyInfo DER."""
        return _SPKI_PREFIX + self.private.public_key().public_bytes_raw()

    @property
    def key_id(self) -> str:
        """The id under which the key is enrolled."""
        return key_id(self.spki)

    def sign(self, message: bytes) -> bytes:
        """Return the 64-byte Ed25519 signature of `message`."""
        return self.private.sign(message)


def generate_key() -> SigningKey:
    """Return a new random signing key."""
    return SigningKey.generate()


def new_nonce() -> str:
    """Return a fresh nonce as text."""
    return to_base64url(secrets.token_bytes(NONCE_SIZE_BYTES))


def check_nonce(nonce: str, *, field: str = "nonce") -> None:
    """Raise MalformedBase64 unless `nonce` is the text of 16 bytes."""
    from_base64url(nonce, size=NONCE_SIZE_BYTES, field=field)


def key_id(spki: bytes, algorithm: str = ALGORITHM) -> str:
    """Return the id of a public key."""
    head = f"{_KEY_CONTEXT}\n{algorithm}\n".encode()
    return to_base64url(hashlib.sha256(head + spki).digest())


@lru_cache(maxsize=1024)
def public_key(spki: bytes) -> Ed25519PublicKey:
    """Return the public key of SPKI DER bytes; refuse unsafe or other keys."""
    if len(spki) != len(_SPKI_PREFIX) + 32 or not spki.startswith(_SPKI_PREFIX):
        raise UnsafeKey(
            "Expected an Ed25519 public key as 44 bytes of SubjectPublicKeyInfo DER; "
            f"found {len(spki)} other bytes."
        )
    raw = spki[len(_SPKI_PREFIX) :]
    y = int.from_bytes(raw, "little") & (2**255 - 1)
    if y >= _FIELD_PRIME:
        raise UnsafeKey("The public key is not in its one encoding. Make a new key.")
    if y in _SMALL_ORDER_Y:
        raise UnsafeKey(
            "The public key is a point of small order; its signatures prove nothing. "
            "Make a new key."
        )
    return Ed25519PublicKey.from_public_bytes(raw)


def spki_of_raw(raw: bytes) -> bytes:
    """Return the SPKI DER of a raw 32-byte Ed25519 public key."""
    return _SPKI_PREFIX + raw


def raw_of_spki(spki: bytes) -> bytes:
    """Return the raw 32 bytes of a checked public key."""
    return public_key(spki).public_bytes_raw()


def is_signed_by(spki: bytes, signature: bytes, message: bytes) -> bool:
    """Tell whether `signature` over `message` verifies under the public key."""
    try:
        public_key(spki).verify(signature, message)
    except InvalidSignature:
        return False
    return True


def signing_text(*, origin: str, role: str, digest: bytes, nonce: str) -> bytes:
    """Return the bytes a person signs for the statement with this SHA-256."""
    return _lines(_SIGN_CONTEXT, origin, role, digest.hex(), nonce)


def sign_statement(
    key: SigningKey, *, origin: str, role: str, digest: bytes, nonce: str
) -> bytes:
    """Return the person's signature over a statement's digest."""
    check_nonce(nonce)
    text = signing_text(origin=origin, role=role, digest=digest, nonce=nonce)
    return key.sign(text)


def enrol_text(*, origin: str, person: str, key: str, nonce: str) -> bytes:
    """Return the bytes by which a new key proves that its holder has it."""
    return _lines(_ENROL_CONTEXT, origin, person, key, nonce)


def enrolled_key(
    key: SigningKey, *, origin: str, person: str, nonce: str = ""
) -> dict[str, Any]:
    """Return the `key` object of an enrolment, with its proof of possession."""
    nonce = nonce or new_nonce()
    text = enrol_text(origin=origin, person=person, key=key.key_id, nonce=nonce)
    return {
        "alg": ALGORITHM,
        "id": key.key_id,
        "proof": {"nonce": nonce, "signature": to_base64(key.sign(text))},
        "spki": to_base64(key.spki),
    }


def is_key_proved(key: dict[str, Any], *, origin: str, person: str) -> bool:
    """Tell whether the proof in an enrolment's `key` object holds."""
    proof = key["proof"]
    text = enrol_text(origin=origin, person=person, key=key["id"], nonce=proof["nonce"])
    signature = from_base64(proof["signature"], size=SIGNATURE_SIZE_BYTES)
    return is_signed_by(from_base64(key["spki"]), signature, text)


def _lines(*lines: str) -> bytes:
    """Join lines that cannot run into one another."""
    for line in lines:
        if "\n" in line or not line:
            raise MalformedStatement(
                f"{line[:40]!r} cannot stand in a signed text: expected one line."
            )
    return "".join(f"{line}\n" for line in lines).encode()
