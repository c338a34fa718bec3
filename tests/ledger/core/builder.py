"""A small ledger in memory, for tests: deterministic keys, nonces and times.

The mine, its people and everything they say are invented. Keys come from public
text, so they protect nothing.
"""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from ledger.core.base64text import to_base64, to_base64url
from ledger.core.checkpoint import Checkpoint, sign_checkpoint
from ledger.core.entry import (
    Entry,
    Signature,
    Signed,
    assemble,
    build_statement,
    parse_leaf,
    sign,
)
from ledger.core.keyring import Keyring
from ledger.core.merkle import Frontier
from ledger.core.signing import SigningKey, enrolled_key

ORIGIN = "goldroom.example/larkfield/" + "7f3a91c2" * 4
START = datetime(2026, 3, 2, 4, 0, 0, 250_001, tzinfo=UTC)
ROOM_KINDS = ("hopper.weighed", "seal.fitted", "bar.numbered")
KEY_KINDS = ("person.enrolled", "key.revoked", "key.rotated", "policy.set")
POLICY: dict[str, Any] = {
    "basis_lag_entries": 8,
    "groups": [
        {
            "lines_differ": True,
            "name": "room",
            "slots": [["officer"], ["witness", "security"]],
        },
        {
            "lines_differ": False,
            "name": "keys",
            "slots": [["security"], ["officer", "manager"]],
        },
    ],
    "kinds": [
        *({"group": "room", "kind": kind} for kind in ROOM_KINDS),
        *({"group": "keys", "kind": kind} for kind in KEY_KINDS),
        {"group": "keys", "kind": "record.emergency"},
    ],
}
CLASSES = {
    "genesis": ["ledger.opened"],
    "machine": ["cycles.recorded"],
    "server": ["record.lapsed"],
    "single": ["record.emergency"],
}


def key_of(name: str) -> SigningKey:
    """Return the test key whose seed is the SHA-256 of a public text."""
    return SigningKey.from_seed(hashlib.sha256(f"test key {name}".encode()).digest())


@dataclass(frozen=True)
class Person:
    """An invented person with a key made of the person's id."""

    person: str
    name: str
    line: str
    roles: tuple[str, ...]
    sort: str = "person"
    key_name: str = ""

    @property
    def key(self) -> SigningKey:
        return key_of(self.key_name or self.person)

    def to_json(self, origin: str = ORIGIN) -> dict[str, Any]:
        nonce = to_base64url(hashlib.sha256(self.person.encode()).digest()[:16])
        return {
            "key": enrolled_key(
                self.key, origin=origin, person=self.person, nonce=nonce
            ),
            "line": self.line,
            "name": self.name,
            "person": self.person,
            "roles": list(self.roles),
            "sort": self.sort,
        }


OFFICER = Person("o.varga", "Orla Varga", "metallurgy", ("officer",))
WITNESS = Person("w.quill", "Wim Quill", "protection", ("witness",))
SECURITY = Person("s.tamm", "Sanna Tamm", "protection", ("security", "witness"))
MANAGER = Person("m.okoro", "Mira Okoro", "works", ("manager",))
SECOND_OFFICER = Person("o.dell", "Otis Dell", "metallurgy", ("officer", "witness"))
GATEWAY = Person("plant-1", "Plant gateway", "plant", ("gateway",), "gateway")
PEOPLE = (OFFICER, WITNESS, SECURITY, MANAGER, SECOND_OFFICER, GATEWAY)
LOG_KEY = key_of("log")

Role = tuple[Person, str]


def opening_data(people: Iterable[Person] = PEOPLE, **changes: Any) -> dict[str, Any]:
    """Return the data of `ledger.opened`."""
    return {
        "classes": CLASSES,
        "demo": True,
        "log_key": to_base64(LOG_KEY.spki),
        "persons": [person.to_json() for person in people],
        "policy": POLICY,
        "production_day_start": "06:00",
        "site": "Larkfield (invented)",
        "time_zone": "Africa/Windhoek",
        **changes,
    }


@dataclass
class Book:
    """The ledger under test: leaves, roots by size, and the keyring after them."""

    origin: str = ORIGIN
    leaves: list[bytes] = field(default_factory=list)
    roots: list[bytes] = field(default_factory=lambda: [Frontier().root()])
    keyring: Keyring = field(default_factory=Keyring.empty)
    frontier: Frontier = field(default_factory=Frontier)
    nonces_made: int = 0

    @property
    def size(self) -> int:
        return len(self.leaves)

    @property
    def last_hash(self) -> bytes:
        return parse_leaf(self.leaves[-1]).leaf_hash if self.leaves else b""

    def copy(self) -> Book:
        """Return a book that can grow without touching this one."""
        return replace(
            self,
            leaves=list(self.leaves),
            roots=list(self.roots),
            frontier=self.frontier.copy(),
        )

    def entry(self, seq: int) -> Entry:
        return parse_leaf(self.leaves[seq])

    def entry_id(self, number: int | None = None) -> str:
        place = self.size if number is None else number
        return str(uuid.uuid5(uuid.NAMESPACE_URL, f"{self.origin}#{place}"))

    def nonce(self) -> str:
        self.nonces_made += 1
        text = f"{self.origin} nonce {self.nonces_made}"
        return to_base64url(hashlib.sha256(text.encode()).digest()[:16])

    def basis(self, size: int | None = None) -> dict[str, Any]:
        place = self.size if size is None else size
        return {"root": to_base64(self.roots[place]), "size": place}

    def statement(
        self,
        kind: str = "hopper.weighed",
        data: dict[str, Any] | None = None,
        *,
        signers: Iterable[Role] = ((OFFICER, "officer"), (WITNESS, "witness")),
        **changes: Any,
    ) -> dict[str, Any]:
        """Return a checked statement; `changes` are arguments of build_statement."""
        fields: dict[str, Any] = {
            "kind": kind,
            "data": {"hopper": "H1", "net_g": "1042.5"} if data is None else data,
            "entry_id": self.entry_id(),
            "origin": self.origin,
            "occurred_at": f"2026-03-02T06:{self.size % 60:02}:00+02:00",
            "basis": self.basis(),
            "signers": [
                {
                    "key": person.key.key_id,
                    "meaning": "seen and recorded",
                    "person": person.person,
                    "role": role,
                }
                for person, role in signers
            ],
            **changes,
        }
        return build_statement(**fields)

    def sign(
        self, statement: dict[str, Any], people: Iterable[Person] = PEOPLE
    ) -> Signed:
        """Return the statement signed by everyone it names."""
        keys = {person.key.key_id: person.key for person in people}
        return Signed(
            statement,
            tuple(
                sign(statement, keys[signer["key"]], nonce=self.nonce())
                for signer in statement["signers"]
            ),
        )

    def put(self, signed: Signed, **server: Any) -> Entry:
        """Append without any check; `server` may spoil seq, previous or at."""
        fields: dict[str, Any] = {
            "seq": self.size,
            "previous": self.last_hash,
            "at": START + timedelta(seconds=37 * self.size),
            **server,
        }
        entry = parse_leaf(assemble(signed, **fields))
        self.leaves.append(entry.leaf)
        self.frontier.append(entry.leaf_hash)
        self.roots.append(self.frontier.root())
        return entry

    def append(self, signed: Signed) -> Entry:
        """Append what the rules accept; raise the first problem otherwise."""
        problems = self.keyring.check_signers(
            signed.statement, signed.signatures, self.size
        )
        problems += self.keyring.check_basis(
            signed.statement, self.size, self.roots.__getitem__
        )
        for problem in problems:
            raise problem.refusal()
        self.keyring.check_change(signed.statement, self.size)
        entry = self.put(signed)
        self.keyring = self.keyring.apply(entry)
        return entry

    def say(self, *args: Any, **kwargs: Any) -> Entry:
        """Write, sign and append one statement."""
        return self.append(self.sign(self.statement(*args, **kwargs)))

    def checkpoint(self, size: int | None = None) -> Checkpoint:
        place = self.size if size is None else size
        return Checkpoint(self.origin, place, self.roots[place])

    def note(self, size: int | None = None, key: SigningKey = LOG_KEY) -> bytes:
        """Return the signed checkpoint of the first `size` entries."""
        return sign_checkpoint(self.checkpoint(size), key)


def opened_book(**changes: Any) -> Book:
    """Return a ledger with its opening entry; `changes` are data of the opening."""
    return _written_opening(**changes) if changes else _plain_opening().copy()


@cache
def _plain_opening() -> Book:
    return _written_opening()


def _written_opening(**changes: Any) -> Book:
    book = Book()
    signers = [(person, person.roles[0]) for person in PEOPLE]
    book.say(
        "ledger.opened", opening_data(**changes), signers=signers, sign_class="genesis"
    )
    return book


def attachment(content: bytes, name: str = "scan.png") -> dict[str, Any]:
    """Return the citation of a file."""
    return {
        "media": "image/png",
        "name": name,
        "sha256": hashlib.sha256(content).hexdigest(),
        "size": len(content),
    }


SCAN = b"\x89PNG invented scan of a seal tag"
NEWCOMER = Person("n.pell", "Nils Pell", "protection", ("witness",))


def enrolment(person: Person) -> dict[str, Any]:
    """Return the data of `person.enrolled`."""
    return {**person.to_json(), "identity_check": "passport seen by two"}


def lapse(book: Book, reason: str = "expired") -> dict[str, Any]:
    """Return the data of a lapse: a statement that only its first signer signed."""
    quoted = book.statement(entry_id=book.entry_id(900 + book.size))
    first = sign(quoted, OFFICER.key, nonce=book.nonce())
    return {
        "detail": "the second person did not sign",
        "reason": reason,
        "signatures": [first.to_json()],
        "statement": quoted,
    }


def twelve_entries() -> Book:
    """Return a ledger of twelve entries in which every kind of step occurs."""
    return written_twelve().copy()


@cache
def written_twelve() -> Book:
    """Return the one ledger that `twelve_entries` copies; not to be changed."""
    book = opened_book()
    keepers = ((SECURITY, "security"), (OFFICER, "officer"))
    book.say(data={"hopper": "H1", "net_g": "12.340", "note": "façade\nzweite Zeile"})
    cited = book.say("seal.fitted", {"seal": "S-0412"}, attachments=[attachment(SCAN)])
    machine = {"signers": [(GATEWAY, "gateway")], "sign_class": "machine"}
    book.say("cycles.recorded", {"cycles": [{"flush": 1409}]}, **machine)
    book.say("person.enrolled", enrolment(NEWCOMER), signers=keepers)
    book.say(
        corrects={
            "entry": cited.entry_id,
            "leaf": to_base64(cited.leaf_hash),
        }
    )
    book.say("record.lapsed", lapse(book), signers=(), sign_class="server")
    book.say(
        "record.emergency",
        {"what": "metal moved"},
        signers=[(OFFICER, "officer")],
        sign_class="single",
    )
    revoked = {
        "key": WITNESS.key.key_id,
        "person": WITNESS.person,
        "reason": "token lost",
        "suspect_from_seq": 5,
    }
    book.say("key.revoked", revoked, signers=keepers)
    book.say(signers=[(OFFICER, "officer"), (SECURITY, "witness")])
    rules = {"classes": CLASSES, "policy": {**POLICY, "basis_lag_entries": 6}}
    book.say("policy.set", rules, signers=keepers)
    book.say(signers=[(OFFICER, "officer"), (SECURITY, "security")])
    assert book.size == 12
    return book


def resigned(signed: Signed, place: int, signature: Signature) -> Signed:
    """Return `signed` with another signature at one place."""
    signatures = list(signed.signatures)
    signatures[place] = signature
    return replace(signed, signatures=tuple(signatures))


def rechained(book: Book, change: Callable[[int, Entry], Signed]) -> Book:
    """Return the book written anew with changed statements and fresh links.

    This is what somebody with the database, but without people's keys, can do.
    """
    other = Book(origin=book.origin)
    for seq in range(book.size):
        entry = book.entry(seq)
        other.put(change(seq, entry), at=entry.at)
    return other
