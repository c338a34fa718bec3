"""Sessions end when nobody works, and names are locked after wrong passphrases."""

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.conf import settings
from django.test import Client, RequestFactory

from goldroom.faces.clock import real_now
from goldroom.faces.middleware import address_of
from tests.goldroom.web.conftest import PASSPHRASE

WHO = "test-room:p-amara"
IDLE = timedelta(seconds=settings.IDLE_SECONDS)


@pytest.fixture
def later(monkeypatch):
    """Return a function that lets the sessions' clock be later by some time."""

    def move(by):
        monkeypatch.setattr(
            "goldroom.faces.middleware.real_now", lambda: real_now() + by
        )

    return move


def try_to_enter(client, passphrase, **more):
    answer = client.post("/sign-in/", {"who": WHO, "passphrase": passphrase}, **more)
    return answer.status_code, answer.content.decode()


@pytest.mark.source(
    "OWASP ASVS 4.0.3, 3.3.2: 15 to 30 minutes of idleness; from memory"
)
def test_a_session_lasts_fifteen_minutes_without_work():
    assert settings.IDLE_SECONDS == 15 * 60
    assert settings.SESSION_COOKIE_AGE == settings.IDLE_SECONDS


def test_a_session_ends_when_idle_and_not_before(told_once, signed_in_as, later):
    client = signed_in_as("p-amara")
    assert client.get("/").status_code == 200
    later(IDLE - timedelta(seconds=30))
    assert client.get("/").status_code == 200
    later(2 * IDLE - timedelta(seconds=60))
    assert client.get("/").status_code == 200, "each request begins the time anew"
    later(3 * IDLE)
    assert client.get("/")["Location"].startswith("/sign-in/")
    later(timedelta(0))
    assert client.get("/").status_code == 302, "an ended session does not come back"


def test_five_wrong_passphrases_lock_the_name_and_say_what_to_do(room_with_keys):
    client = Client()
    for _ in range(4):
        status, said = try_to_enter(client, "wrong words")
        assert status == 422
        assert "does not open the key" in said
    status, said = try_to_enter(client, "wrong words")
    assert "Wait 15 minutes, or ask the" in said
    status, said = try_to_enter(client, PASSPHRASE)
    assert status == 422, "the right one does not help while it is locked"
    assert "Wait 15 minutes, or ask the" in said


def test_the_lock_is_for_the_name_at_that_address(room_with_keys):
    for _ in range(5):
        try_to_enter(Client(), "wrong words", REMOTE_ADDR="192.0.2.7")
    there, here = ("192.0.2.7", "192.0.2.8")
    assert try_to_enter(Client(), PASSPHRASE, REMOTE_ADDR=there)[0] == 422
    assert try_to_enter(Client(), PASSPHRASE, REMOTE_ADDR=here)[0] == 302
    other = {"who": "test-room:p-leith", "passphrase": PASSPHRASE}
    assert Client().post("/sign-in/", other, REMOTE_ADDR=there).status_code == 302


def test_the_lock_opens_after_fifteen_minutes(room_with_keys):
    client = Client()
    for _ in range(5):
        try_to_enter(client, "wrong words")
    assert try_to_enter(client, PASSPHRASE)[0] == 422
    locked_at = AccessAttempt.objects.get().attempt_time
    for ago, status in ((timedelta(minutes=14), 422), (timedelta(minutes=16), 302)):
        AccessAttempt.objects.update(attempt_time=locked_at - ago)
        assert try_to_enter(client, PASSPHRASE)[0] == status


def test_a_try_while_locked_does_not_lengthen_the_lock(room_with_keys):
    client = Client()
    for _ in range(5):
        try_to_enter(client, "wrong words")
    before = AccessAttempt.objects.get().attempt_time
    try_to_enter(client, "wrong words")
    assert AccessAttempt.objects.get().attempt_time == before


def test_what_is_kept_of_a_wrong_try_holds_nothing_typed(room_with_keys):
    Client().post(
        "/sign-in/",
        {"who": WHO, "passphrase": "wrong words", "typed": "a reading of 2074"},
    )
    kept = AccessAttempt.objects.get()
    told = " ".join(str(value) for value in vars(kept).values())
    assert WHO in told
    assert "wrong words" not in told
    assert "2074" not in told


FORWARDED = [
    pytest.param(False, "198.51.100.9", "192.0.2.1", id="nobody said proxy"),
    pytest.param(True, "198.51.100.9", "198.51.100.9", id="the proxy says who"),
    pytest.param(True, "10.9.9.9, 198.51.100.9", "198.51.100.9", id="forged before"),
    pytest.param(True, "", "192.0.2.1", id="the proxy says nothing"),
]


@pytest.mark.source("RFC 7239, section 8.1: what a client sends may be forged")
@pytest.mark.parametrize(("behind", "header", "expected"), FORWARDED)
def test_the_address_is_taken_from_a_proxy_only_where_there_is_one(
    settings, behind, header, expected
):
    settings.IS_BEHIND_PROXY = behind
    request = RequestFactory().get(
        "/", REMOTE_ADDR="192.0.2.1", headers={"x-forwarded-for": header}
    )
    assert address_of(request) == expected
