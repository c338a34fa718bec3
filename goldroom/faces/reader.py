"""Who is asking: a person of a ledger, with what the ledger says of them now."""

from dataclasses import dataclass

from django.http import HttpRequest

from goldroom.faces.models import Account
from goldroom.roles import may_read
from ledger import read
from ledger.errors import NoSuchLedger
from ledger.models import Ledger

_NOTED = "goldroom.reader"


@dataclass(frozen=True, kw_only=True)
class Reader:
    """A person at a face. `roles` are those held now; `keys` the valid ones' ids."""

    account_id: int
    ledger_id: int
    slug: str
    site: str
    is_demo: bool
    person: str
    name: str
    line: str
    roles: tuple[str, ...]

    def may_read(self, subject: str) -> bool:
        """Tell whether one of the roles may read this subject (goldroom.roles)."""
        return may_read(self.roles, subject)


def note_who_asks(request: HttpRequest, reader: Reader) -> None:
    """Keep with a request who is asking."""
    request.META[_NOTED] = reader


def who_asks(request: HttpRequest) -> Reader | None:
    """Return who is asking; None if nobody is signed in."""
    found = request.META.get(_NOTED)
    return found if isinstance(found, Reader) else None


def reader_of(account: Account) -> Reader | None:
    """Return who an account is now; None if they may not sign here any more."""
    ledger = Ledger.objects.filter(pk=account.ledger_id).only("slug").first()
    if ledger is None:
        return None
    try:
        ring = read.keyring(account.ledger_id)
    except NoSuchLedger:
        return None
    held = ring.person(account.person)
    if held is None or ring.opening is None or not ring.keys_of(account.person):
        return None
    return Reader(
        account_id=account.pk,
        ledger_id=account.ledger_id,
        slug=ledger.slug,
        site=ring.opening.site,
        is_demo=ring.opening.demo,
        person=account.person,
        name=held.name,
        line=held.line,
        roles=held.roles,
    )
