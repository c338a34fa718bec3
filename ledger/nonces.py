"""Nonces: 16 random bytes for each signature, handed out once and burnt once.

A nonce is *free* when issued, *held* once a proposal has taken the signature that
carries it, and *burnt*, that is gone from the table, when the entry is appended.
Appending asks for the row itself, so a nonce that was never issued here, has
expired or was used before cannot pass. Expiry is judged by the `now` given.
"""

from datetime import datetime, timedelta

from django.db import connection

from ledger.clock import clock_text
from ledger.core.signing import new_nonce
from ledger.errors import NonceRefused
from ledger.models import WorkNonce

LIFETIME = timedelta(minutes=10)


def issue(ledger_id: int, now: datetime, *, lifetime: timedelta = LIFETIME) -> str:
    """Return a fresh nonce of the ledger, good until `now` + `lifetime`."""
    return issue_many(ledger_id, 1, now, lifetime=lifetime)[0]


def issue_many(
    ledger_id: int, count: int, now: datetime, *, lifetime: timedelta = LIFETIME
) -> list[str]:
    """Return `count` fresh nonces, as a file of statements needs them."""
    nonces = [new_nonce() for _ in range(count)]
    expires_at = clock_text(now + lifetime)
    WorkNonce.objects.bulk_create(
        (
            WorkNonce(ledger_id=ledger_id, nonce=nonce, expires_at=expires_at)
            for nonce in nonces
        ),
        batch_size=5_000,
    )
    return nonces


def hold(ledger_id: int, nonce: str, *, entry_id: str, now: datetime) -> None:
    """Keep a free nonce for the proposal `entry_id`, however long it waits."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE work_nonce SET held_by = %s WHERE ledger_id = %s AND nonce = %s"
            " AND held_by IS NULL AND expires_at >= %s",
            [entry_id, ledger_id, nonce, clock_text(now)],
        )
        if cursor.rowcount != 1:
            raise _refused(nonce, _why(ledger_id, nonce, now))


def burn(ledger_id: int, nonces: list[str], *, entry_id: str, now: datetime) -> None:
    """Use up the nonces of an entry, or refuse if one of them is not to be had."""
    if not nonces:
        return
    places = ", ".join(["%s"] * len(nonces))
    with connection.cursor() as cursor:
        cursor.execute(
            f"DELETE FROM work_nonce WHERE ledger_id = %s AND nonce IN ({places})"
            " AND (held_by = %s OR (held_by IS NULL AND expires_at >= %s))"
            " RETURNING nonce",
            [ledger_id, *nonces, entry_id, clock_text(now)],
        )
        burnt = [nonce for (nonce,) in cursor.fetchall()]
    if len(burnt) == len(nonces):
        return
    twice = [nonce for nonce in nonces if nonces.count(nonce) > 1]
    if twice:
        raise _refused(twice[0], "it stands under two signatures")
    left = next(nonce for nonce in nonces if nonce not in burnt)
    raise _refused(left, _why(ledger_id, left, now))


def sweep(ledger_id: int, now: datetime) -> int:
    """Forget nonces that expired unused; return how many."""
    count, _ = WorkNonce.objects.filter(
        ledger_id=ledger_id, held_by=None, expires_at__lt=clock_text(now)
    ).delete()
    return count


def _why(ledger_id: int, nonce: str, now: datetime) -> str:
    """Return why a nonce cannot be taken."""
    row = WorkNonce.objects.filter(ledger_id=ledger_id, nonce=nonce).first()
    if row is None:
        return "it was never issued here, or is used up"
    if row.held_by is not None:
        return f"it belongs to a signature of the statement {row.held_by}"
    return f"it expired at {row.expires_at}, and now is {clock_text(now)}"


def _refused(nonce: str, why: str) -> NonceRefused:
    return NonceRefused(
        f"The nonce {nonce} of a signature cannot be used: {why}. Sign again with a "
        "fresh one.",
        field="signatures",
    )
