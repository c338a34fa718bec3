"""Health: what a machine that watches the server is told, and what it is not."""

from datetime import timedelta

import pytest
from django.db import connection
from django.db.utils import OperationalError
from django.test import Client

from goldroom.faces import clock
from goldroom.faces.clock import real_now
from goldroom.faces.models import LastCheck
from ledger.models import Ledger


def asked(place):
    answer = Client().get(place)
    return answer.status_code, answer.content.decode()


def refuse(*args):
    raise OperationalError("password of the ledger is hunter2, host db.example")


def test_a_live_process_says_so_and_asks_nothing_of_the_database(fresh_db):
    with connection.execute_wrapper(refuse):
        assert asked("/health/live") == (200, "live\n")


def test_a_session_is_no_reason_to_ask_the_database(told_once, signed_in_as):
    client = signed_in_as("p-amara")
    with connection.execute_wrapper(refuse):
        assert client.get("/health/live").status_code == 200


def test_a_room_that_can_be_worked_in_is_ready(told_once):
    assert asked("/health/ready") == (200, "ready\nrecord verified: never yet\n")


@pytest.mark.parametrize(
    ("ago", "said"),
    [
        (timedelta(minutes=59), "within the hour"),
        (timedelta(hours=5, minutes=10), "5 hours ago"),
        (timedelta(days=3), "72 hours ago"),
    ],
)
def test_the_age_of_the_last_verification_is_told(fresh_db, room_with_keys, ago, said):
    LastCheck.objects.create(
        ledger_id=room_with_keys.ledger_id,
        checked_at=real_now() - ago,
        size=1,
        exit_code=2,
        report='{"secret": "finding"}',
    )
    assert asked("/health/ready") == (200, f"ready\nrecord verified: {said}\n")


def test_in_a_demo_the_age_is_by_the_demos_own_clock(room_with_keys, settings):
    settings.DEMO_CLOCK = "2026-03-02T08:00:00+02:00@2026-11-20T09:00:00+00:00"
    LastCheck.objects.create(
        ledger_id=room_with_keys.ledger_id,
        checked_at=clock.now(room_with_keys.ledger_id) - timedelta(hours=2),
        size=1,
        exit_code=0,
        report="{}",
    )
    assert asked("/health/ready")[1].endswith("record verified: 2 hours ago\n")


def test_a_database_that_does_not_answer_is_told_without_its_words(told_once):
    with connection.execute_wrapper(refuse):
        status, said = asked("/health/ready")
    assert status == 503
    assert said.startswith("not ready: the database does not answer.")
    assert "hunter2" not in said
    assert "db.example" not in said


def test_an_empty_database_is_not_ready(fresh_db):
    status, said = asked("/health/ready")
    assert status == 503
    assert "no ledger is open" in said


def test_a_database_of_another_version_is_not_ready(fresh_db, room_with_keys):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'faces'")
    status, said = asked("/health/ready")
    assert status == 503
    assert "Run manage.py migrate." in said


def test_nothing_of_the_record_stands_there(told_once):
    said = asked("/health/ready")[1] + asked("/health/live")[1]
    ledger = Ledger.objects.get()
    for word in (ledger.slug, ledger.origin, "Invented", "Amara"):
        assert word not in said


def test_only_reading_is_allowed(told_once):
    assert Client().post("/health/ready").status_code == 405
