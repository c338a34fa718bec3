"""Who is enrolled: roles, reporting lines, keys with the entries they may sign.

What people signed lately is counted from the journal: an entry counts for each of its
signers.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from goldroom.custody.act import utc_text
from goldroom.models import JournalLine
from goldroom.reports.rows import readable
from ledger import read
from ledger.core.keyring import Keyring
from ledger.core.standing import EnrolledKey

LATELY = timedelta(days=30)


@dataclass(frozen=True, kw_only=True)
class SiteKey:
    """A key: `from_seq` to `until_seq` are the entries it may sign, None while valid.

    Entries from `suspect_from_seq` on are to be looked at, None if none are.
    """

    key_id: str
    from_seq: int
    until_seq: int | None
    suspect_from_seq: int | None

    @property
    def is_valid(self) -> bool:
        """Tell whether the key may sign the next entry."""
        return self.until_seq is None


@dataclass(frozen=True, kw_only=True)
class SitePerson:
    """Somebody enrolled; `since_seq` is the entry that last said what they are.

    `signed_lately` counts the entries of the last thirty days that they signed.
    """

    person: str
    name: str
    line: str
    roles: tuple[str, ...]
    is_machine: bool
    since_seq: int
    keys: tuple[SiteKey, ...]
    signed_lately: int


def site_people(ledger_id: int, *, now: datetime) -> tuple[SitePerson, ...]:
    """Return everybody enrolled, by name."""
    ring = read.keyring(ledger_id)
    signed = _signed_since(ledger_id, utc_text(now - LATELY))
    found = [_person(ring, person, signed[person]) for person in ring.persons]
    return tuple(sorted(found, key=lambda each: (each.is_machine, each.name)))


def _person(ring: Keyring, person: str, signed_lately: int) -> SitePerson:
    held = ring.person(person)
    assert held is not None, "a register names only persons it holds"
    keys = [each for each in ring.keys.values() if each.person == person]
    return SitePerson(
        person=person,
        name=held.name,
        line=held.line,
        roles=held.roles,
        is_machine=held.sort == "gateway",
        since_seq=held.from_seq,
        keys=tuple(_key(each) for each in sorted(keys, key=lambda key: key.from_seq)),
        signed_lately=signed_lately,
    )


def _key(key: EnrolledKey) -> SiteKey:
    return SiteKey(
        key_id=key.key_id,
        from_seq=key.from_seq,
        until_seq=key.until_seq,
        suspect_from_seq=key.suspect_from_seq,
    )


def _signed_since(ledger_id: int, since: str) -> Counter[str]:
    with readable():
        lines = JournalLine.objects.filter(ledger_id=ledger_id, occurred_at__gte=since)
        people = list(lines.values_list("people", flat=True))
    return Counter(person for each in people for person in each.split())
