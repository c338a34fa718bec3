"""The command that makes tokens: after the key was opened, and only then."""

import pytest
from django.core.management import call_command
from django.test import Client

from goldroom.faces import tokens
from goldroom.faces.models import Token
from goldroom.faces.tokens import TokenRefused
from goldroom.management.commands import make_token
from goldroom.management.commands.make_token import made
from ledger.errors import WrongPassphrase
from ledger.models import Ledger
from ledger.sealed_keys import SUFFIX, OpenKey
from tests.front_door import key_of
from tests.goldroom.api.conftest import PASSPHRASE


def test_it_prints_the_secret_once_and_keeps_the_digest(
    room_with_keys, capsys, monkeypatch
):
    monkeypatch.setattr(make_token, "ask", lambda person: PASSPHRASE)
    call_command("make_token", "gw-mill", "--label", "mill gateway", "--days", "30")
    secret = capsys.readouterr().out.splitlines()[0]
    client = Client(headers={"Authorization": f"Bearer {secret}"})
    assert client.get("/api/v1/me").json()["person"] == "gw-mill"
    token = Token.objects.get()
    assert (token.expires_at - token.made_at).days == 30
    assert secret not in (token.digest, token.label)


def test_a_wrong_passphrase_makes_none(room_with_keys, settings):
    content = (settings.KEYS_FOLDER / f"gw-mill{SUFFIX}").read_bytes()
    ledger = Ledger.objects.get()
    with pytest.raises(WrongPassphrase):
        made(ledger, "gw-mill", content, lambda person: "no", label="x", days=1)
    assert Token.objects.count() == 0


@pytest.mark.parametrize(("label", "days"), [("x", 401), ("x", 0), (" ", 1)])
def test_a_token_has_a_label_and_an_end(label, days, room_with_keys):
    opened = OpenKey("gw-mill", key_of("gw-mill"))
    with pytest.raises(TokenRefused):
        tokens.make(Ledger.objects.get(), opened, label=label, days=days)
