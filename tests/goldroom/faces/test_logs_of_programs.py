"""What is written of a program's requests: as of a person's, and no token or key."""

import json

import pytest
from django.test import Client

from tests.goldroom.api.conftest import token_of
from tests.goldroom.faces.test_logs import lines
from tests.goldroom.web.conftest import PASSPHRASE

PURPOSE = "to look for something unmistakable"


@pytest.fixture
def statement():
    """Return a statement that a program sends, signed by two with passphrases."""
    return {
        "kind": "room.entered",
        "occurred_at": "2026-03-02T08:00:00+02:00",
        "entry_id": "7b0c1f0e-3a55-4c39-9f53-0d5a6d1d7e11",
        "signers": [
            {"person": "p-amara", "role": "officer"},
            {"person": "p-leith", "role": "witness"},
        ],
        "data": {
            "place": "gold-room",
            "persons": ["p-amara", "p-leith"],
            "purpose": PURPOSE,
        },
        "signatures": [
            {"person": person, "passphrase": PASSPHRASE}
            for person in ("p-amara", "p-leith")
        ],
    }


def test_a_programs_act_is_a_line_with_its_person_and_entry(
    room_with_keys, written, statement
):
    token = token_of("p-amara")
    client = Client(headers={"Authorization": f"Bearer {token}"})
    done = client.post(
        "/api/v1/statements", json.dumps(statement), content_type="application/json"
    )
    assert done.status_code == 201, done.content
    (line,) = lines(written[0])
    assert (line["person"], line["path"]) == ("p-amara", "/api/v1/statements")
    assert isinstance(line["entry"], int)
    both = written[0].getvalue() + written[1].getvalue()
    for secret in (token, PASSPHRASE, PURPOSE):
        assert secret not in both


def test_a_failure_at_a_programs_request_tells_nothing_of_it(
    room_with_keys, written, statement, monkeypatch
):
    def broken(*args, **kwargs):
        raise RuntimeError(f"{args} {kwargs}")

    monkeypatch.setattr("goldroom.faces.acts.commands.propose", broken)
    token = token_of("p-amara")
    client = Client(
        headers={"Authorization": f"Bearer {token}"}, raise_request_exception=False
    )
    done = client.post(
        "/api/v1/statements", json.dumps(statement), content_type="application/json"
    )
    assert done.status_code == 500
    assert done["X-Request-ID"] in written[1].getvalue()
    both = written[0].getvalue() + written[1].getvalue()
    assert "builtins.RuntimeError" in both
    for secret in (token, PASSPHRASE, PURPOSE):
        assert secret not in both
        assert secret not in done.content.decode()
