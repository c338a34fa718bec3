"""Acts of programs: signing here and elsewhere, once however often they are sent."""

import base64
import hashlib
import uuid

import pytest
from django.test import Client

from goldroom.faces.models import Account
from ledger.models import Ledger, WorkNonce
from ledger.sealed_keys import SUFFIX
from tests.front_door import cycle, key_of
from tests.goldroom.api.conftest import PASSPHRASE
from tests.goldroom.api.test_problems import check

JSON = "application/json"
HANDS = [
    {"person": "p-amara", "role": "officer"},
    {"person": "p-leith", "role": "witness"},
]


def saying(**more):
    return {
        "kind": "place.registered",
        "occurred_at": "2026-03-05T10:00:00+02:00",
        "entry_id": str(uuid.uuid4()),
        "signers": [
            {"person": "p-soto", "role": "security"},
            {"person": "p-okoro", "role": "manager"},
        ],
        "data": {"place": "store", "name": "Store (invented)", "sort": "store"},
        **more,
    }


def opened(*persons):
    return [{"person": each, "passphrase": PASSPHRASE} for each in persons]


def post(client, path, body):
    return client.post(f"/api/v1/{path}", data=body, content_type=JSON)


def size_of(client):
    return client.get("/api/v1/ledger").json()["size"]


def test_with_one_signature_it_waits_and_with_both_it_is_an_entry(
    room_with_keys, program_of
):
    client = program_of("p-soto")
    said = saying()
    body = {**said, "signatures": opened("p-soto")}
    first = post(client, "statements", body)
    assert first.status_code == 202, first.content
    assert first.json()["missing"] == ["p-okoro"]
    again = post(client, "statements", body)
    assert (again.status_code, again.json()) == (200, first.json())
    assert client.get(first["Location"]).json() == first.json()
    listed = client.get("/api/v1/proposals").json()["proposals"]
    assert listed == [first.json()]

    path = f"proposals/{said['entry_id']}/signatures"
    done = post(client, path, opened("p-okoro")[0])
    assert done.status_code == 201, done.content
    assert client.get(done["Location"]).json() == done.json()
    size = size_of(client)
    later = post(client, path, opened("p-okoro")[0])
    assert (later.status_code, later.json()) == (200, done.json())
    assert size_of(client) == size


def test_with_all_signatures_it_is_an_entry_once(room_with_keys, program_of):
    client = program_of("p-soto")
    body = {**saying(), "signatures": opened("p-soto", "p-okoro")}
    first = post(client, "statements", body)
    assert first.status_code == 201, first.content
    again = post(client, "statements", body)
    assert (again.status_code, again.json()) == (200, first.json())
    other = {**body, "data": {**body["data"], "name": "Another"}}
    check(post(client, "statements", other), 409, "entry_id_used")


def test_a_machine_signs_alone(room_with_keys, program_of):
    body = {
        **saying(
            kind="cycles.recorded",
            signers=[{"person": "gw-mill", "role": "gateway"}],
            data={"cycles": [cycle("U1", 1, "07:00", "08:00")]},
        ),
        "signatures": opened("gw-mill"),
    }
    client = program_of("gw-mill")
    done = post(client, "statements", body)
    assert done.status_code == 201, done.content
    assert done.json()["signing_class"] == "machine"
    assert post(client, "statements", body).status_code == 200


def test_a_statement_is_checked_and_nothing_kept(room_with_keys, program_of):
    client = program_of("p-soto")
    size = size_of(client)
    answer = post(client, "checks", saying())
    assert answer.status_code == 200, answer.content
    assert "Store (invented)" in answer.json()["sentence"]
    assert size_of(client) == size
    assert client.get("/api/v1/proposals").json()["proposals"] == []


def test_every_field_that_is_wrong_is_named(room_with_keys, program_of):
    said = check(
        post(program_of("p-soto"), "checks", saying(data={"sort": "no"})),
        422,
        "bad_field",
    )
    assert {each["field"] for each in said["refusals"]} == {"place", "name", "sort"}


def test_who_asks_must_sign(room_with_keys, program_of):
    answer = post(program_of("p-amara"), "checks", saying())
    check(answer, 403, "not_your_place")


def test_a_wrong_passphrase_signs_nothing_and_locks(room_with_keys, program_of):
    client = program_of("p-soto")
    wrong = [{"person": "p-soto", "passphrase": "not the words"}]
    body = {**saying(), "signatures": wrong}
    for _ in range(5):
        check(post(client, "statements", body), 403, "passphrase_wrong")
    body["signatures"] = opened("p-soto")
    said = check(post(client, "statements", body), 403, "passphrase_wrong")
    assert "15 minutes" in said["detail"]
    assert "not the words" not in str(said)


def test_a_key_file_of_ones_own_opens(room_with_keys, program_of, settings):
    content = (settings.KEYS_FOLDER / f"p-soto{SUFFIX}").read_bytes()
    settings.KEYS_FOLDER = None
    client = program_of("p-soto")
    body = {**saying(), "signatures": opened("p-soto")}
    check(post(client, "statements", body), 422, "no_key_file")
    body["signatures"][0]["key_file"] = base64.b64encode(content).decode()
    assert post(client, "statements", body).status_code == 202
    body["signatures"][0]["key_file"] = "not base64"
    check(post(client, "statements", body), 422, "malformed_base64")


def test_what_waits_is_taken_back_with_the_reason(room_with_keys, program_of):
    client = program_of("p-soto")
    body = {**saying(), "signatures": opened("p-soto")}
    post(client, "statements", body)
    path = f"proposals/{body['entry_id']}/withdrawal"
    check(post(client, path, {"detail": " "}), 422, "bad_field")
    check(post(program_of("p-amara"), path, {"detail": "x"}), 403, "not_your_place")
    done = post(client, path, {"detail": "wrong place"})
    assert done.status_code == 201, done.content
    assert done.json()["kind"] == "record.lapsed"
    check(post(client, "statements", body), 409, "proposal_lapsed")
    unknown = f"proposals/{uuid.uuid4()}/withdrawal"
    check(post(client, unknown, {"detail": "x"}), 404, "no_such_proposal")


def test_a_file_is_cited_and_read_through_its_entry(room_with_keys, program_of):
    client = program_of("p-soto")
    content = b"invented certificate"
    cited = client.post(
        "/api/v1/files?name=certificate.txt&media=text/plain",
        data=content,
        content_type="application/octet-stream",
    )
    assert cited.status_code == 201
    assert cited.json()["sha256"] == hashlib.sha256(content).hexdigest()
    body = {
        **saying(attachments=[cited.json()]),
        "signatures": opened("p-soto", "p-okoro"),
    }
    done = post(client, "statements", body)
    assert done.status_code == 201, done.content
    address = f"{done['Location']}/files/{cited.json()['sha256']}"
    assert client.get(address).content == content
    check(client.get(f"{done['Location']}/files/{'0' * 64}"), 404, "no_such_entry")


def signed_elsewhere(prepared, person):
    """Sign as a program of one's own would: from the bytes, by the published form."""
    statement = base64.b64decode(prepared["statement"])
    assert hashlib.sha256(statement).hexdigest() == prepared["sha256"]
    to_sign = base64.b64decode(prepared["to_sign"])
    assert prepared["sha256"].encode() in to_sign
    signature = key_of(person).private.sign(to_sign)
    return {
        "alg": prepared["alg"],
        "key": prepared["key"],
        "nonce": prepared["nonce"],
        "signature": base64.b64encode(signature).decode(),
    }


@pytest.mark.source("Ed25519 (RFC 8032) by the library cryptography")
def test_keys_that_never_leave_their_machines_sign(
    room_with_keys, program_of, settings
):
    settings.KEYS_FOLDER = None
    client, other = program_of("p-soto"), program_of("p-okoro")
    said = saying()
    first = post(client, "preparations", said).json()
    body = {
        "entry_id": said["entry_id"],
        "statement": first["statement"],
        "signature": signed_elsewhere(first, "p-soto"),
    }
    waiting = post(client, "signed-statements", body)
    assert waiting.status_code == 202, waiting.content
    assert post(client, "signed-statements", body).status_code == 200
    path = f"proposals/{said['entry_id']}"
    check(post(client, f"{path}/preparations", {}), 403, "not_your_place")
    second = post(other, f"{path}/preparations", {}).json()
    done = post(
        other, f"{path}/signatures", {"signature": signed_elsewhere(second, "p-okoro")}
    )
    assert done.status_code == 201, done.content
    assert WorkNonce.objects.filter(nonce=second["nonce"]).count() == 0


def test_a_signature_of_something_else_is_refused(room_with_keys, program_of):
    client = program_of("p-soto")
    said = saying()
    first = post(client, "preparations", said).json()
    wrong = signed_elsewhere(first, "p-okoro")
    body = {
        "entry_id": said["entry_id"],
        "statement": first["statement"],
        "signature": wrong,
    }
    answer = post(client, "signed-statements", body)
    assert answer.status_code == 422, answer.content
    changed = base64.b64decode(first["statement"]).replace(b"Store", b"Other")
    body["statement"] = base64.b64encode(changed).decode()
    body["signature"] = signed_elsewhere(first, "p-soto")
    assert post(client, "signed-statements", body).status_code == 422
    rules = base64.b64decode(first["statement"]).replace(b'"recorded"', b'"joined"')
    body["statement"] = base64.b64encode(rules).decode()
    answer = post(client, "signed-statements", body)
    check(answer, 409, "not_as_prepared")


def test_a_session_needs_the_token_of_our_own_page(room_with_keys):
    ledger = Ledger.objects.latest("pk")
    account = Account.objects.create(
        name=f"{ledger.slug}:p-soto", ledger_id=ledger.pk, person="p-soto"
    )
    client = Client(enforce_csrf_checks=True)
    client.force_login(account, backend="goldroom.faces.backend.KeyBackend")
    assert client.get("/api/v1/ledger").status_code == 200
    check(post(client, "checks", saying()), 403, "not_from_our_page")
    client.cookies["goldroom_csrf"] = token = "a" * 32
    answer = client.post(
        "/api/v1/checks",
        data=saying(),
        content_type=JSON,
        headers={"X-CSRFToken": token},
    )
    assert answer.status_code == 200, answer.content


def test_a_token_ends_with_its_persons_key(room_with_keys, program_of):
    client = program_of("p-mori")
    assert client.get("/api/v1/me").status_code == 200
    room_with_keys.say(
        "key.revoked",
        {"person": "p-mori", "key": key_of("p-mori").key_id, "reason": "lost"},
        (("p-soto", "security"), ("p-okoro", "manager")),
    )
    check(client.get("/api/v1/me"), 401, "not_signed_in")
