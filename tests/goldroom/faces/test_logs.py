"""What is written of requests and failures, and that nobody's words are in it."""

import json

from django.conf import settings
from django.test import Client

from ledger import proposals
from tests.goldroom.web.conftest import PASSPHRASE
from tests.goldroom.web.test_say import filled, form_of, signed


def lines(requests):
    return [json.loads(line) for line in requests.getvalue().splitlines()]


def test_each_request_is_a_line_without_its_query(told_once, signed_in_as, written):
    answer = signed_in_as("p-amara").get("/journal/?text=a+word+typed")
    (line,) = lines(written[0])
    assert line.pop("ms") >= 0
    assert line.pop("at").endswith("+00:00")
    assert line == {
        "id": answer["X-Request-ID"],
        "method": "GET",
        "path": "/journal/",
        "route": "journal",
        "status": 200,
        "person": "p-amara",
        "entry": "-",
    }


def test_requests_of_nobody_and_for_files_are_lines_too(told_once, written):
    for place in ("/", "/static/web/goldroom.css", "/none"):
        Client().get(place)
    found = [
        (each["route"], each["status"], each["person"]) for each in lines(written[0])
    ]
    assert found == [("today", 302, "-"), ("-", 200, "-"), ("-", 404, "-")]


def test_the_entry_that_an_act_made_is_named_and_nothing_typed_is(
    room_with_keys, written
):
    client = Client()
    who = "test-room:p-amara"
    client.post("/sign-in/", {"who": who, "passphrase": "a wrong passphrase"})
    client.post("/sign-in/", {"who": who, "passphrase": PASSPHRASE})
    purpose = "to look for something unmistakable"
    place = client.post(form_of(client), filled(**{"d.purpose": purpose}))["Location"]
    assert signed(client, place, "p-amara")["Location"] == place
    done = signed(client, place, "p-leith")["Location"]
    seq = int(done.split("/")[2])
    found = lines(written[0])
    entered = [each["person"] for each in found if each["route"] == "sign_in"]
    assert entered == ["-", "p-amara"], "the wrong passphrase is nobody's"
    assert [each["entry"] for each in found if each["entry"] != "-"] == [seq]
    assert found[-1]["person"] == "p-amara"
    assert proposals.waiting(room_with_keys.ledger_id) == []
    both = written[0].getvalue() + written[1].getvalue()
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    for secret in (PASSPHRASE, "a wrong passphrase", purpose, cookie, "gold-room"):
        assert secret not in both


def test_a_statement_taken_back_is_an_entry_too(room_with_keys, signed_in_as, written):
    client = signed_in_as("p-amara")
    place = client.post(form_of(client), filled())["Location"]
    signed(client, place, "p-amara")
    done = client.post(f"{place}back/", {"detail": "written for the wrong hour"})
    (line,) = [each for each in lines(written[0]) if each["route"] == "take_back"]
    assert done["Location"] == f"/journal/{line['entry']}/"
    assert "wrong hour" not in written[0].getvalue() + written[1].getvalue()


def test_a_failure_is_traced_without_what_was_typed(
    room_with_keys, written, monkeypatch
):
    def broken(*args, **kwargs):
        try:
            raise ValueError(f"{args} {kwargs}")
        except ValueError as error:
            raise RuntimeError(PASSPHRASE) from error

    monkeypatch.setattr("goldroom.web.session.account_of", broken)
    client = Client(raise_request_exception=False)
    who = "test-room:p-amara"
    answer = client.post("/sign-in/", {"who": who, "passphrase": PASSPHRASE})
    assert answer.status_code == 500
    told = written[1].getvalue()
    assert f"ERROR django.request {answer['X-Request-ID']} " in told
    assert "goldroom/web/session.py" in told
    assert "builtins.ValueError\n" in told
    assert told.rstrip().endswith("builtins.RuntimeError")
    for typed in (PASSPHRASE, who):
        assert typed not in told
        assert typed not in written[0].getvalue()


def test_lines_go_to_standard_output_and_failures_to_standard_error():
    named = settings.LOGGING["handlers"]
    assert named["requests"]["stream"] == "ext://sys.stdout"
    assert "stream" not in named["failures"], "a StreamHandler's own is stderr"
    assert settings.LOGGING["root"]["handlers"] == ["failures"]
