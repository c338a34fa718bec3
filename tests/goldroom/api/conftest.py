"""Programs: clients that bear a token, or a session, of a person of the newest ledger.

`told_once` and `room_with_keys` are rooms (tests.front_door); a test asks for one.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from goldroom.faces import tokens
from goldroom.keys import seal_into
from ledger.models import Ledger
from ledger.sealed_keys import OpenKey
from tests.front_door import KEYS, Room, key_of

PASSPHRASE = "invented words for tests"
QUICK_SCRYPT_N = 16
"""Work factor that makes a try cost nothing; never one for a real key."""


def token_of(person: str) -> str:
    """Return a new token of a person of the newest ledger."""
    ledger = Ledger.objects.latest("pk")
    opened = OpenKey(person, key_of(person))
    return tokens.make(ledger, opened, label="invented program", days=1)


@pytest.fixture
def program_of() -> Callable[[str], Client]:
    """Return a maker of clients that bear a person's token."""

    def client_of(person: str) -> Client:
        return Client(headers={"Authorization": f"Bearer {token_of(person)}"})

    return client_of


@pytest.fixture
def room_with_keys(fresh_db: str, tmp_path: Path, settings: Any) -> Room:
    """Open a ledger of the test's own whose persons' sealed keys are kept here."""
    room = Room.opened()
    settings.KEYS_FOLDER = tmp_path / "keys"
    seal_into(settings.KEYS_FOLDER, KEYS, PASSPHRASE, n=QUICK_SCRYPT_N)
    return room
