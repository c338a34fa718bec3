"""Signing where the key is: a program signs on its own machine, the key stays there.

It asks for what is to be signed, signs it with its Ed25519 key, and sends statement
and signature. `to_sign` is what the signature covers; whoever signs makes it again
from the statement's SHA-256, so that nothing else is ever signed.
"""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from goldroom import commands
from goldroom.faces import acts, logs
from goldroom.faces.reader import Reader
from goldroom.sayings import Saying
from ledger.core import canonical
from ledger.core.base64text import from_base64, to_base64
from ledger.core.entry import Signature, check_form, statement_bytes, statement_digest
from ledger.core.signing import ALGORITHM, signing_text
from ledger.proposal import Proposal


@dataclass(frozen=True, kw_only=True)
class Preparation:
    """What a signer's own machine needs: bytes are base64.

    `statement` is the canonical bytes of the statement, `sha256` their digest in
    hexadecimal, `to_sign` the bytes that the signature covers, `key` the id of the
    key that must make it, `alg` how.
    """

    entry_id: str
    person: str
    alg: str
    key: str
    nonce: str
    statement: str
    sha256: str
    to_sign: str


def prepare(reader: Reader, saying: Saying) -> Preparation:
    """Return what the first signer of a saying signs; nothing of it is kept."""
    statement = acts.check(reader, saying)
    if not statement["signers"]:
        raise acts.NotYourPlace(
            "signers: nobody is named to sign this. Name yourself.", field="signers"
        )
    return _preparation(reader, statement, statement["signers"][0]["person"])


def prepare_next(reader: Reader, entry_id: str) -> Preparation:
    """Return what the reader signs of a statement that waits for them."""
    waiting = acts.waiting_or_entry(reader, entry_id)
    if waiting.appended is not None or reader.person not in waiting.missing:
        raise acts.NotYourPlace(
            f"The statement does not wait for {reader.person}. Sign only what waits"
            " for you.",
            field="person",
        )
    return _preparation(reader, waiting.statement, reader.person)


def _preparation(reader: Reader, statement: dict[str, Any], person: str) -> Preparation:
    signer = next(each for each in statement["signers"] if each["person"] == person)
    heard = acts.clock_of(reader.ledger_id)
    nonce = commands.fresh_nonce(reader.ledger_id, clock=heard)
    digest = statement_digest(statement)
    text = signing_text(
        origin=statement["origin"], role=signer["role"], digest=digest, nonce=nonce
    )
    return Preparation(
        entry_id=statement["entry_id"],
        person=person,
        alg=ALGORITHM,
        key=signer["key"],
        nonce=nonce,
        statement=to_base64(statement_bytes(statement)),
        sha256=digest.hex(),
        to_sign=to_base64(text),
    )


def take_first(
    request: HttpRequest, reader: Reader, octets: str, signature: Any
) -> Proposal:
    """Take in a prepared statement (base64), signed first by the reader."""
    statement = canonical.decode(bytes_of(octets, "statement"))
    check_form(statement)
    signers = statement["signers"]
    if not signers or signers[0]["person"] != reader.person:
        raise acts.NotYourPlace(
            "The first signature is that of whoever wrote the statement. Write your own"
            " statement, with yourself as its first signer.",
            field="signers",
        )
    done = commands.take_signed(
        reader.ledger_id,
        statement,
        Signature.from_json(signature),
        clock=acts.clock_of(reader.ledger_id),
    )
    return _noted(request, done)


def add_next(
    request: HttpRequest, reader: Reader, entry_id: str, signature: Any
) -> Proposal:
    """Add a signature that was made elsewhere to a waiting statement."""
    waiting = acts.waiting_or_entry(reader, entry_id)
    if waiting.appended is not None:
        return waiting
    done = commands.add_signed(
        reader.ledger_id,
        entry_id,
        Signature.from_json(signature),
        clock=acts.clock_of(reader.ledger_id),
    )
    return _noted(request, done)


def bytes_of(text: str, field: str) -> bytes:
    """Return the bytes of a base64 text of the body. Raises MalformedBase64."""
    return from_base64(text, field=field)


def _noted(request: HttpRequest, done: Proposal) -> Proposal:
    if done.appended is not None:
        logs.note_entry(request, done.appended.seq)
    return done
