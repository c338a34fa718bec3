"""Statements and entries: what people say, and the leaf it becomes.

A *statement* is the canonical JSON object that all its signers sign:

    attachments  files it cites: media type, name, sha256 (hexadecimal), size
    basis        size and root of the ledger that the signers saw
    class        two | machine | single | server | genesis
    corrects     null, or the entry id and leaf hash of an earlier entry
    data         what is said; opaque here except for the kinds `keyring` knows
    entry_id     UUID made by whoever writes the statement
    format       1, the version of this envelope
    kind         `family.past_participle`
    occurred_at  RFC 3339, to the second, with a numeric offset
    origin       the ledger's name; its last part is 16 random bytes in hex
    signers      key, meaning, person, role; each another person
    v            the version of `data` for this kind

An *entry* adds the signatures, in the signers' order, and what the server says:
its place, the leaf hash before it (empty for the first) and the server's clock.
Its canonical bytes are the leaf, and the leaf is the record.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, TypedDict, Unpack

from ledger.core import form
from ledger.core.base64text import from_base64, to_base64
from ledger.core.canonical import decode, encode, render
from ledger.core.errors import MalformedEntry, MalformedStatement, UnknownFormat
from ledger.core.merkle import HASH_SIZE_BYTES, leaf_hash
from ledger.core.signing import (
    ALGORITHM,
    SIGNATURE_SIZE_BYTES,
    SigningKey,
    check_nonce,
    sign_statement,
)

FORMAT = 1
# Smaller than a leaf by enough for a lapsed statement, with its signatures, to
# be quoted whole in the entry that says so.
STATEMENT_SIZE_BYTES_MAX = 62_000
LAPSED_KIND = "record.lapsed"


class StatementFields(TypedDict, total=False):
    """The arguments of `build_statement`; those with a default may be left out."""

    kind: str
    v: int
    data: dict[str, Any]
    entry_id: str
    origin: str
    occurred_at: str
    basis: dict[str, Any]
    signers: Sequence[Mapping[str, str]]
    sign_class: str
    corrects: dict[str, str] | None
    attachments: Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Signature:
    """One person's signature as it stands in an entry."""

    key: str
    nonce: str
    signature: bytes
    alg: str = ALGORITHM

    def to_json(self) -> dict[str, str]:
        """Return the object that is recorded."""
        return {
            "alg": self.alg,
            "key": self.key,
            "nonce": self.nonce,
            "signature": to_base64(self.signature),
        }

    @classmethod
    def from_json(cls, value: object, *, field: str = "signature") -> Signature:
        """Return the signature of a recorded object; refuse anything else."""
        wanted = {"alg", "key", "nonce", "signature"}
        said = form.fields(value, wanted, field, MalformedEntry)
        for name in sorted(wanted):
            form.text(said[name], f"{field}.{name}", MalformedEntry)
        check_nonce(said["nonce"], field=f"{field}.nonce")
        octets = from_base64(
            said["signature"], size=SIGNATURE_SIZE_BYTES, field=f"{field}.signature"
        )
        return cls(said["key"], said["nonce"], octets, said["alg"])


@dataclass(frozen=True)
class Signed:
    """A statement with its signatures, not yet in the chain."""

    statement: dict[str, Any]
    signatures: tuple[Signature, ...]


@dataclass(frozen=True)
class Entry:
    """A parsed leaf. `leaf` holds the very bytes that are hashed.

    `digest` is the SHA-256 of the statement's bytes within the leaf, which is what
    its signers signed.
    """

    seq: int
    previous: bytes
    at: str
    clock_held: bool
    statement: dict[str, Any]
    signatures: tuple[Signature, ...]
    leaf: bytes
    leaf_hash: bytes
    digest: bytes

    @property
    def entry_id(self) -> str:
        """The UUID its writer gave it."""
        return str(self.statement["entry_id"])

    @property
    def kind(self) -> str:
        """What sort of statement it holds."""
        return str(self.statement["kind"])

    @property
    def data(self) -> dict[str, Any]:
        """What is said."""
        data: dict[str, Any] = self.statement["data"]
        return data

    @property
    def signed(self) -> Signed:
        """The statement and its signatures without the server's part."""
        return Signed(self.statement, self.signatures)


def build_statement(**fields: Unpack[StatementFields]) -> dict[str, Any]:
    """Return a checked statement. `class` is given as `sign_class` (two)."""
    missing = {
        "kind", "data", "entry_id", "origin", "occurred_at", "basis", "signers"
    } - set(fields)  # fmt: skip
    if missing:
        raise MalformedStatement(f"A statement needs {', '.join(sorted(missing))}.")
    statement = {
        "attachments": [dict(item) for item in fields.get("attachments", ())],
        "basis": dict(fields["basis"]),
        "class": fields.get("sign_class", "two"),
        "corrects": fields.get("corrects"),
        "data": fields["data"],
        "entry_id": fields["entry_id"],
        "format": FORMAT,
        "kind": fields["kind"],
        "occurred_at": fields["occurred_at"],
        "origin": fields["origin"],
        "signers": [dict(signer) for signer in fields["signers"]],
        "v": fields.get("v", 1),
    }
    check_form(statement)
    return statement


def check_form(statement: object) -> None:
    """Raise unless the statement's envelope is as the format wants it.

    MalformedStatement says which field; UnknownFormat means that a newer
    program may know the envelope.
    """
    check_format(statement)
    said = form.fields(statement, form.STATEMENT_FIELDS, "statement")
    form.check_envelope(said)
    _check_size(said, len(encode(said)))


def _check_size(statement: dict[str, Any], size: int) -> None:
    if size > STATEMENT_SIZE_BYTES_MAX and statement["kind"] != LAPSED_KIND:
        raise MalformedStatement(
            f"The statement is {size} bytes; at most {STATEMENT_SIZE_BYTES_MAX} fit. "
            "Split it, or attach the bulk as a file."
        )


def check_format(statement: object) -> None:
    """Raise UnknownFormat when the envelope says it is of another version."""
    if isinstance(statement, dict):
        version = statement.get("format")
        if type(version) is int and version != FORMAT:
            raise UnknownFormat(
                f"The statement is in format {version}; this program knows {FORMAT}."
            )


def nonces_of(signed: Signed) -> list[str]:
    """Return every nonce that the entry uses up, those of a lapsed statement too."""
    nonces = [signature.nonce for signature in signed.signatures]
    if signed.statement["kind"] == LAPSED_KIND:
        nonces += [
            item["nonce"]
            for item in signed.statement["data"].get("signatures", [])
            if isinstance(item, dict) and isinstance(item.get("nonce"), str)
        ]
    return nonces


def statement_bytes(statement: dict[str, Any]) -> bytes:
    """Return the canonical bytes that all signers sign."""
    return encode(statement)


def statement_digest(statement: dict[str, Any]) -> bytes:
    """Return the SHA-256 of the statement's canonical bytes."""
    return hashlib.sha256(render(statement)).digest()


def sign(statement: dict[str, Any], key: SigningKey, *, nonce: str) -> Signature:
    """Return the signature of the one signer who is named with this key."""
    for signer in statement["signers"]:
        if signer["key"] == key.key_id:
            octets = sign_statement(
                key,
                origin=statement["origin"],
                role=signer["role"],
                digest=statement_digest(statement),
                nonce=nonce,
            )
            return Signature(key.key_id, nonce, octets)
    raise MalformedStatement(
        f"The key {key.key_id} is not named among the signers; write the statement "
        "anew with the people who will sign it.",
        field="signers",
    )


def format_at(moment: datetime) -> str:
    """Return the server's clock as recorded: UTC, six decimals, `Z`."""
    if moment.utcoffset() != timedelta(0):
        raise MalformedEntry("The server's clock must be given in UTC.", field="at")
    return moment.strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def assemble(
    signed: Signed,
    *,
    seq: int,
    previous: bytes,
    at: datetime | str,
    clock_held: bool = False,
) -> bytes:
    """Return the leaf bytes of a signed statement at its place in the chain.

    `previous` is the leaf hash before, empty for the first. `clock_held` says
    that the clock had gone back and the time of the entry before was kept.
    """
    server: dict[str, Any] = {
        "at": at if isinstance(at, str) else format_at(at),
        "previous": to_base64(previous),
        "seq": seq,
    }
    if clock_held:
        server["clock_held"] = True
    leaf = encode(
        {
            "server": server,
            "signatures": [item.to_json() for item in signed.signatures],
            "statement": signed.statement,
        }
    )
    parse_leaf(leaf)  # what we write must be what we accept
    return leaf


def parse_leaf(leaf: bytes) -> Entry:
    """Return the entry of leaf bytes; raise for bytes that are none.

    NotCanonical, MalformedBase64, MalformedEntry and MalformedStatement speak
    against the bytes; UnknownFormat only says that we do not know them.
    """
    value = decode(leaf)
    if isinstance(value, dict):
        check_format(value.get("statement"))
    wanted = {"server", "signatures", "statement"}
    whole = form.fields(value, wanted, "entry", MalformedEntry)
    server = form.server_fields(whole["server"])
    previous = server["previous"]
    statement = form.fields(whole["statement"], form.STATEMENT_FIELDS, "statement")
    form.check_envelope(statement)
    octets = _statement_within(leaf)
    _check_size(statement, len(octets))
    signatures = whole["signatures"]
    if not isinstance(signatures, list):
        raise MalformedEntry("signatures: expected a list.", field="signatures")
    return Entry(
        seq=server["seq"],
        previous=from_base64(
            previous, size=HASH_SIZE_BYTES if previous else 0, field="previous"
        ),
        at=server["at"],
        clock_held="clock_held" in server,
        statement=statement,
        signatures=tuple(
            Signature.from_json(item, field=f"signatures.{index}")
            for index, item in enumerate(signatures)
        ),
        leaf=leaf,
        leaf_hash=leaf_hash(leaf),
        digest=hashlib.sha256(octets).digest(),
    )


def _statement_within(leaf: bytes) -> bytes:
    """Return the statement's canonical bytes, cut out of canonical leaf bytes.

    `statement` is the last of the three keys, and inside text every quotation
    mark has a backslash before it: the first match is the key.
    """
    key = b',"statement":'
    return leaf[leaf.index(key) + len(key) : -1]
