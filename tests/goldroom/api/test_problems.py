"""Problem documents: members, statuses, meanings, and nothing that is HTML."""

import pytest
from django.test import Client

from goldroom.api import problems
from goldroom.api.meanings import meanings
from goldroom.faces.models import Token
from tests.goldroom.api.conftest import token_of

RFC_9457 = {"type": str, "title": str, "status": int, "detail": str, "instance": str}


def check(answer, status, code):
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    assert answer["Cache-Control"] == "no-store"
    said = answer.json()
    assert {name: type(said[name]) for name in RFC_9457} == RFC_9457
    assert said["status"] == status
    assert said["code"] == code
    assert set(said) <= {*RFC_9457, "code", "field", "refusals"}
    return said


@pytest.mark.source("RFC 9457 section 3.1: type, status, title, detail, instance")
def test_what_is_not_there_is_a_problem_document(told_once, program_of):
    client = program_of("p-amara")
    check(client.get("/api/v1/nothing/here"), 404, "no_such_address")
    check(client.get("/api/v1/entries/999999"), 404, "no_such_entry")
    check(client.get("/api/v1/items/NOTHING-1"), 404, "unknown_item")
    check(client.get("/api/v1/kinds/no.such"), 404, "unknown_kind")


@pytest.mark.source("RFC 9110 section 15.5.2: a 401 says how to authenticate")
def test_nobody_is_told_to_sign_in(told_once):
    for headers in (
        {},
        {"Authorization": "Bearer no"},
        {"Authorization": "Basic eA=="},
    ):
        answer = Client(headers=headers).get("/api/v1/ledger")
        check(answer, 401, "not_signed_in")
        assert answer["WWW-Authenticate"].startswith("Bearer ")


@pytest.mark.source("RFC 9110 section 15.5.6: a 405 names the methods in Allow")
def test_another_method_is_told_which_it_takes(told_once, program_of):
    client = program_of("p-amara")
    answer = client.delete("/api/v1/ledger")
    check(answer, 405, "no_such_method")
    assert answer["Allow"] == "GET, HEAD"
    check(client.get("/api/v1/checks"), 405, "no_such_method")
    check(client.options("/api/v1/checks"), 405, "no_such_method")


@pytest.mark.parametrize(
    ("body", "media", "status", "code"),
    [
        ("{", "application/json", 400, "not_readable"),
        ("[1]", "application/json", 400, "not_readable"),
        (b"\xff", "application/json", 400, "not_readable"),
        ('{"kind": "\\ud800"}', "application/json", 400, "not_readable"),
        ('{"kind": "\\u0000"}', "application/json", 400, "not_readable"),
        ('{"kind": "x", "kind": "y"}', "application/json", 400, "bad_line"),
        ('{"data": {"mass": 1.5}}', "application/json", 400, "bad_line"),
        ("{}", "text/plain", 415, "other_media"),
        ("a=1", "application/x-www-form-urlencoded", 415, "other_media"),
        ("{}", "application/json", 422, "bad_field"),
        ("x" * 3_000_000, "application/json", 413, "too_large"),
    ],
)
def test_what_cannot_be_read(body, media, status, code, told_once, program_of):
    client = program_of("p-amara")
    answer = client.post("/api/v1/checks", data=body, content_type=media)
    check(answer, status, code)


def test_a_wrong_parameter_is_named(told_once, program_of):
    client = program_of("p-anan")
    for query, field in (
        ({"most": "0"}, "most"),
        ({"before": "x"}, "before"),
        ({"from": "2026-01-01"}, "from"),
        ({"colour": "red"}, "colour"),
        ({"most": ["1", "2"]}, "most"),
        ({"sort": "x"}, "sort"),
    ):
        said = check(client.get("/api/v1/journal", query), 400, "out_of_range")
        assert said["field"] == field


def test_every_type_leads_to_its_meaning(told_once):
    for code, told in meanings().items():
        answer = Client().get(f"/api/v1/problems/{code}")
        assert answer.json() == told
    check(Client().get("/api/v1/problems/none_such"), 404, "no_such_address")


def test_what_nobody_foresaw_is_told_without_words(told_once, program_of, monkeypatch):
    def broken(ledger_id):
        raise ZeroDivisionError("secret words")

    monkeypatch.setattr("goldroom.api.records.mark", broken)
    answer = program_of("p-amara").get("/api/v1/ledger")
    check(answer, 500, "program_failed")
    assert "secret" not in answer.content.decode()


def test_every_status_of_the_list_is_documented():
    from goldroom.api.openapi import REFUSED

    assert {status for status, _ in problems.STATUS} <= set(REFUSED)


def test_a_token_is_kept_as_its_digest_and_ends(fresh_db, program_of):
    from datetime import UTC, datetime

    from tests.front_door import Room

    Room.opened()
    secret = token_of("gw-mill")
    assert secret not in [each.digest for each in Token.objects.all()]
    client = Client(headers={"Authorization": f"Bearer {secret}"})
    assert client.get("/api/v1/me").status_code == 200
    Token.objects.update(expires_at=datetime(2026, 1, 1, tzinfo=UTC))
    check(client.get("/api/v1/me"), 401, "not_signed_in")


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/api/v1/problems/%00", 400),
        ("/api/v1/journal?person=%00", 400),
        ("/api/v1/nowhere/at/all", 404),
    ],
)
def test_what_fails_beside_a_view_is_a_problem_too(told_once, program_of, path, status):
    answer = program_of("p-soto").get(path)
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"
    assert {"type", "title", "status", "detail", "code"} <= set(answer.json())


def test_another_hosts_name_is_a_problem_too(told_once, program_of, settings):
    settings.ALLOWED_HOSTS = ["goldroom.mine.example"]
    answer = program_of("p-soto").get("/api/v1/ledger", headers={"host": "elsewhere"})
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"
