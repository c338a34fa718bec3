"""Nonces: handed out once, burnt once, never late."""

from datetime import timedelta

import pytest

from ledger import nonces
from ledger.core.base64text import from_base64url
from ledger.errors import NonceRefused
from ledger.models import WorkNonce

ENTRY, OTHER = "entry-one", "entry-two"


def test_a_nonce_is_sixteen_bytes_and_never_the_same(site):
    issued = nonces.issue_many(site.id, 500, site.now)
    assert len(set(issued)) == 500
    assert all(len(from_base64url(nonce)) == 16 for nonce in issued)


def test_a_nonce_is_burnt_once(site):
    nonce = nonces.issue(site.id, site.now)
    nonces.burn(site.id, [nonce], entry_id=ENTRY, now=site.now)
    with pytest.raises(NonceRefused, match="used up"):
        nonces.burn(site.id, [nonce], entry_id=ENTRY, now=site.now)


def test_an_expired_nonce_is_refused_and_says_when(site):
    nonce = nonces.issue(site.id, site.now, lifetime=timedelta(minutes=2))
    site.tick(minutes=2, microseconds=1)
    with pytest.raises(NonceRefused, match="expired at 2026-09-24T12:02"):
        nonces.burn(site.id, [nonce], entry_id=ENTRY, now=site.now)
    with pytest.raises(NonceRefused, match="expired"):
        nonces.hold(site.id, nonce, entry_id=ENTRY, now=site.now)


def test_a_held_nonce_never_expires_but_serves_its_statement_alone(site):
    nonce = nonces.issue(site.id, site.now)
    nonces.hold(site.id, nonce, entry_id=ENTRY, now=site.now)
    site.tick(days=3)
    with pytest.raises(NonceRefused, match=ENTRY):
        nonces.burn(site.id, [nonce], entry_id=OTHER, now=site.now)
    with pytest.raises(NonceRefused, match=ENTRY):
        nonces.hold(site.id, nonce, entry_id=OTHER, now=site.now)
    nonces.burn(site.id, [nonce], entry_id=ENTRY, now=site.now)


def test_a_nonce_of_another_ledger_is_refused(site, new_site, given):
    other = new_site(given.origin.replace("7f3a", "0000"))
    nonce = nonces.issue(other.id, site.now)
    with pytest.raises(NonceRefused, match="never issued"):
        nonces.burn(site.id, [nonce], entry_id=ENTRY, now=site.now)


def test_sweeping_forgets_only_what_expired_unused(site):
    held = nonces.issue(site.id, site.now)
    nonces.hold(site.id, held, entry_id=ENTRY, now=site.now)
    nonces.issue(site.id, site.now)
    site.tick(minutes=11)
    fresh = nonces.issue(site.id, site.now)
    assert nonces.sweep(site.id, site.now) == 1
    left = WorkNonce.objects.values_list("nonce", flat=True)
    assert set(left) == {held, fresh}
