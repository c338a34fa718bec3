"""The frame of the pages as somebody signed in sees it."""

import pytest
from django.test import Client

from tests.goldroom.web.conftest import PASSPHRASE


def test_today_opens_for_somebody_signed_in(told_once, signed_in_as):
    answer = signed_in_as("p-amara").get("/")
    assert answer.status_code == 200
    assert b"Amara Invented" in answer.content


def test_nobody_signed_in_is_sent_to_sign_in(told_once):
    answer = Client().get("/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")


@pytest.mark.parametrize(
    ("passphrase", "status"), [(PASSPHRASE, 302), ("wrong words", 422)]
)
def test_the_passphrase_of_the_key_opens_the_door(room_with_keys, passphrase, status):
    who = "test-room:p-amara"
    answer = Client().post("/sign-in/", {"who": who, "passphrase": passphrase})
    assert answer.status_code == status
