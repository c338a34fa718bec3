"""Tokens: how a program says whose it is, without a passphrase at each request.

A token is made for a person who opens their key, and shown once; only its SHA-256 is
kept. It opens reading and asking, never a key: every signature still needs the key
itself. Who the person is, which roles they hold and whether their key is valid is
asked of the ledger at each request, so a token ends with the key.
"""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import ClassVar

from goldroom.errors import Refusal
from goldroom.faces.backend import check_key
from goldroom.faces.clock import real_now
from goldroom.faces.models import Account, Token
from goldroom.faces.reader import Reader, reader_of
from ledger.models import Ledger
from ledger.sealed_keys import OpenKey

DAYS_MOST = 400
LABEL_MOST = 100
BYTES = 32
BEGINS = "gr_"
"""How every token begins, so that one that leaked is known for what it is."""


class TokenRefused(Refusal):
    """A token cannot be made so: its label is missing, or it would last too long."""

    code: ClassVar[str] = "token_refused"


def make(ledger: Ledger, opened: OpenKey, *, label: str, days: int) -> str:
    """Make a token for whoever opened their key; return the secret, never kept.

    Raises TokenRefused and NotTheKey.
    """
    if not 1 <= days <= DAYS_MOST:
        raise TokenRefused(
            f"days: found {days}, expected 1 to {DAYS_MOST}. Make a new token when this"
            " one has ended.",
            field="days",
        )
    if not 1 <= len(label.strip()) <= LABEL_MOST:
        raise TokenRefused(
            f"label: expected 1 to {LABEL_MOST} characters. Write what the program is"
            " and where it runs.",
            field="label",
        )
    check_key(ledger.pk, opened.person, opened)
    account, _ = Account.objects.get_or_create(
        name=f"{ledger.slug}:{opened.person}",
        defaults={"ledger_id": ledger.pk, "person": opened.person},
    )
    secret, made_at = BEGINS + secrets.token_urlsafe(BYTES), real_now()
    Token.objects.create(
        digest=_digest(secret),
        account=account,
        label=label.strip(),
        made_at=made_at,
        expires_at=made_at + timedelta(days=days),
    )
    return secret


def reader_by(secret: str) -> Reader | None:
    """Return whose token this is now; None if it is unknown or over, or their key."""
    token = (
        Token.objects.select_related("account").filter(digest=_digest(secret)).first()
    )
    if token is None or token.expires_at <= real_now():
        return None
    return reader_of(token.account)


def ends_at(secret: str) -> datetime:
    """Return when a token that was just made ends."""
    return Token.objects.get(digest=_digest(secret)).expires_at


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
