"""Browsers without a window: test clients signed in, and keys that open to sign.

    def test_of_a_page(told_once, signed_in_as):
        answer = signed_in_as("p-amara").get("/journal/")

    def test_of_signing(room_with_keys, signed_in_as):
        client = signed_in_as("p-amara")       # the keys open with PASSPHRASE
        room_with_keys.say(kind, data)         # what stands there before

`told_once` and `room_with_keys` are rooms (tests.front_door); a test asks for one.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from goldroom.faces.models import Account
from goldroom.keys import seal_into
from ledger.models import Ledger
from tests.front_door import KEYS, Room

PASSPHRASE = "invented words for tests"
QUICK_SCRYPT_N = 16
"""Work factor that makes a try cost nothing; never one for a real key."""


@pytest.fixture
def signed_in_as() -> Callable[[str], Client]:
    """Return a maker of test clients: signed in as a person of the newest ledger."""

    def client_of(person: str) -> Client:
        ledger = Ledger.objects.latest("pk")
        account, _ = Account.objects.get_or_create(
            name=f"{ledger.slug}:{person}",
            defaults={"ledger_id": ledger.pk, "person": person},
        )
        client = Client()
        client.force_login(account, backend="goldroom.faces.backend.KeyBackend")
        return client

    return client_of


@pytest.fixture
def room_with_keys(fresh_db: str, tmp_path: Path, settings: Any) -> Room:
    """Open a ledger of the test's own whose persons' sealed keys are kept here."""
    room = Room.opened()
    settings.KEYS_FOLDER = tmp_path / "keys"
    seal_into(settings.KEYS_FOLDER, KEYS, PASSPHRASE, n=QUICK_SCRYPT_N)
    return room
