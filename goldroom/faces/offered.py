"""What a reader may say, and with whom: by the signing policy of the ledger itself."""

from dataclasses import dataclass

from goldroom.faces.reader import Reader
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kinds
from ledger import read
from ledger.core.errors import KeyringRefusal
from ledger.core.keyring import Keyring


@dataclass(frozen=True, kw_only=True)
class Hand:
    """Somebody who may sign, in a role they hold."""

    person: str
    name: str
    role: str

    @property
    def value(self) -> str:
        """Return person and role as a form sends them."""
        return f"{self.person}:{self.role}"


@dataclass(frozen=True, kw_only=True)
class Hands:
    """Whose hands a statement wants: the reader's own roles, and the others' places.

    `places` has one list of possible hands for each signature beside the reader's.
    """

    own: tuple[Hand, ...]
    places: tuple[tuple[Hand, ...], ...]


def may_say(reader: Reader) -> frozenset[str]:
    """Return the kinds that the reader may sign first."""
    ring = read.keyring(reader.ledger_id)
    return frozenset(
        name for name, cls in kinds().items() if _own_roles(ring, reader, cls)
    )


def hands_for(reader: Reader, kind: str) -> Hands:
    """Return who may sign a statement of this kind that the reader writes."""
    cls = kinds()[kind]
    ring = read.keyring(reader.ledger_id)
    roles = _own_roles(ring, reader, cls)
    own = tuple(
        Hand(person=reader.person, name=reader.name, role=role) for role in roles
    )
    if cls.klass != "two" or not own:
        return Hands(own=own, places=())
    group = ring.policy.group_of(kind) if ring.policy else None
    count = len(group.slots) if group else 2
    others = _others(ring, reader, kind)
    return Hands(own=own, places=(others,) * max(1, count - 1))


def _own_roles(ring: Keyring, reader: Reader, cls: type[Statement]) -> tuple[str, ...]:
    """Return the reader's roles in which they may sign a kind first."""
    if cls.klass == "single":
        return reader.roles
    group = ring.policy.group_of(cls.kind_name) if ring.policy else None
    if cls.klass != "two" or group is None:
        return ()
    wanted = [role for slot in group.slots for role in slot]
    return tuple(sorted((r for r in reader.roles if r in wanted), key=wanted.index))


def _others(ring: Keyring, reader: Reader, kind: str) -> tuple[Hand, ...]:
    """Return everybody whose signature would fill a place beside the reader's."""
    found = []
    for person in sorted(ring.persons):
        held = ring.person(person)
        is_other = person != reader.person and held is not None
        if not is_other or held is None or not ring.keys_of(person):
            continue
        found += [
            Hand(person=person, name=held.name, role=role)
            for role in held.roles
            if _helps(ring, kind, reader, (person, role))
        ]
    return tuple(sorted(found, key=lambda each: (each.name, each.role)))


def _helps(ring: Keyring, kind: str, reader: Reader, other: tuple[str, str]) -> bool:
    """Tell whether a second signature leaves fewer places open than the first alone."""
    try:
        return any(
            len(ring.missing_for(kind, [(reader.person, role), other]))
            < len(ring.missing_for(kind, [(reader.person, role)]))
            for role in reader.roles
        )
    except KeyringRefusal:
        return False
