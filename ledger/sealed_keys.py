"""Sealed key files: an Ed25519 private key under a passphrase.

    {"format":1, "person":"…", "alg":"ed25519-file", "spki":"<base64>",
     "kdf":{"name":"scrypt","n":131072,"r":8,"p":1,"salt":"<base64, 16 bytes>"},
     "cipher":"chacha20-poly1305", "nonce":"<base64, 12 bytes>",
     "sealed":"<base64>"}

The passphrase (Unicode NFC, UTF-8) goes through scrypt (RFC 7914) to a 32-byte key;
`sealed` is the 32-byte seed of RFC 8032 under ChaCha20-Poly1305 (RFC 8439) with the
public key, as SubjectPublicKeyInfo DER, for associated data. After opening, the
public key is derived again and must be the one written in the file.

A key in a file is of lower assurance than one in a security key; papers say so.
"""

import json
import os
import secrets
import unicodedata
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from ledger.core.base64text import from_base64, to_base64
from ledger.core.signing import ALGORITHM, SigningKey
from ledger.errors import KeyFileRefused, WrongPassphrase

SCRYPT_N = 2**17
SCRYPT_N_MAX = 2**20
SUFFIX = ".key.json"
FIELDS = {"format", "person", "alg", "spki", "kdf", "cipher", "nonce", "sealed"}


@dataclass(frozen=True)
class OpenKey:
    """A key ready to sign, and whose it is."""

    person: str
    signing: SigningKey = field(repr=False)


def seal(key: SigningKey, passphrase: str, *, person: str, n: int = SCRYPT_N) -> bytes:
    """Return the sealed key file of `person` as bytes."""
    if not passphrase:
        raise KeyFileRefused("The passphrase is empty; a sealed key needs one.")
    salt, nonce = secrets.token_bytes(16), secrets.token_bytes(12)
    cipher = ChaCha20Poly1305(_stretched(passphrase, salt, n))
    sealed = cipher.encrypt(nonce, key.seed, key.spki)
    document = {
        "format": 1,
        "person": person,
        "alg": ALGORITHM,
        "spki": to_base64(key.spki),
        "kdf": {"name": "scrypt", "n": n, "r": 8, "p": 1, "salt": to_base64(salt)},
        "cipher": "chacha20-poly1305",
        "nonce": to_base64(nonce),
        "sealed": to_base64(sealed),
    }
    return (json.dumps(document, indent=1, ensure_ascii=False) + "\n").encode()


def unseal(data: bytes, passphrase: str) -> OpenKey:
    """Open a sealed key file, or refuse and say why."""
    document = _document(data)
    kdf = document["kdf"]
    spki = from_base64(document["spki"], field="spki")
    nonce = from_base64(document["nonce"], size=12, field="nonce")
    sealed = from_base64(document["sealed"], size=32 + 16, field="sealed")
    salt = from_base64(kdf["salt"], size=16, field="kdf.salt")
    cipher = ChaCha20Poly1305(_stretched(passphrase, salt, kdf["n"]))
    try:
        seed = cipher.decrypt(nonce, sealed, spki)
    except InvalidTag as error:
        raise WrongPassphrase(
            f"The passphrase does not open the key of {document['person']}. Type it "
            "again; if it is surely right, the file was damaged or changed."
        ) from error
    key = SigningKey.from_seed(seed)
    if key.spki != spki:
        raise KeyFileRefused("The key file names a public key that is not its own.")
    return OpenKey(document["person"], key)


def write(path: Path, data: bytes) -> None:
    """Write a sealed key to a new file that only its owner can read.

    An existing file is never overwritten.
    """
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError as error:
        raise KeyFileRefused(
            f"{path} exists already. Choose another name; a key is never overwritten."
        ) from error
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def read(path: Path, passphrase: str) -> OpenKey:
    """Open the sealed key in the file at `path`."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise KeyFileRefused(
            f"The key file {path} cannot be read: {error.strerror}."
        ) from error
    return unseal(data, passphrase)


def read_folder(folder: Path, passphrase: str) -> dict[str, OpenKey]:
    """Open every `*.key.json` of a folder with one passphrase: person to key.

    Meant for demonstration ledgers, where one passphrase serves all.
    """
    keys: dict[str, OpenKey] = {}
    for path in sorted(folder.glob(f"*{SUFFIX}")):
        key = read(path, passphrase)
        if key.person in keys:
            raise KeyFileRefused(f"{folder} holds two keys of {key.person}; keep one.")
        keys[key.person] = key
    if not keys:
        raise KeyFileRefused(f"{folder} holds no file named *{SUFFIX}.")
    return keys


def _stretched(passphrase: str, salt: bytes, n: int) -> bytes:
    kdf = Scrypt(salt=salt, length=32, n=n, r=8, p=1)
    return kdf.derive(unicodedata.normalize("NFC", passphrase).encode("utf-8"))


def _document(data: bytes) -> dict[str, Any]:
    """Return the parsed file once its shape and its costs are known to be sane."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise KeyFileRefused(f"This is no key file: {error}.") from error
    match document:
        case {
            "format": 1,
            "person": str(),
            "alg": "ed25519-file",
            "spki": str(),
            "kdf": {
                "name": "scrypt",
                "n": int(n),
                "r": 8,
                "p": 1,
                "salt": str(),
                **rest,
            },
            "cipher": "chacha20-poly1305",
            "nonce": str(),
            "sealed": str(),
        } if set(document) == FIELDS and not rest:
            if n < 2 or n > SCRYPT_N_MAX or n & (n - 1):
                raise KeyFileRefused(
                    f"The key file asks for a scrypt cost of {n}; expected a power "
                    f"of two up to {SCRYPT_N_MAX}."
                )
            return dict(document)
    raise KeyFileRefused(
        "This is no sealed key file of format 1; expected exactly the fields "
        + ", ".join(sorted(FIELDS))
        + "."
    )
