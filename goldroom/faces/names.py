"""Who can sign in: the ledgers kept here, with the persons who hold a key."""

from dataclasses import dataclass

from ledger import read
from ledger.models import Ledger


@dataclass(frozen=True, kw_only=True)
class Name:
    """A person who can sign in: `value` is slug and person id, `name` the name."""

    value: str
    name: str


@dataclass(frozen=True, kw_only=True)
class LedgerHere:
    """A ledger of this database with its site and its people, by name."""

    slug: str
    site: str
    is_demo: bool
    names: tuple[Name, ...]


def ledgers_here() -> list[LedgerHere]:
    """Return the ledgers that somebody can sign in to."""
    return [found for ledger in read.ledgers() if (found := _here(ledger)) is not None]


def _here(ledger: Ledger) -> LedgerHere | None:
    ring = read.keyring(ledger.pk)
    if ring.opening is None:
        return None
    found = []
    for person in ring.persons:
        held = ring.person(person)
        if held is not None and held.sort == "person" and ring.keys_of(person):
            found.append(Name(value=f"{ledger.slug}:{person}", name=held.name))
    return LedgerHere(
        slug=ledger.slug,
        site=ring.opening.site,
        is_demo=ring.opening.demo,
        names=tuple(sorted(found, key=lambda each: each.name)),
    )
