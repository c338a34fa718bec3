"""The security manager's pages: findings, the check, whole copies of the record."""

import subprocess
import sys
from typing import NamedTuple

import pytest

from goldroom.faces.models import LastCheck
from goldroom.reports.entry import Mark, mark
from goldroom.reports.trusted import policy_text
from ledger import read
from ledger.core.base64text import from_base64, to_base64
from ledger.core.checkpoint import Checkpoint, sign_checkpoint
from tests.front_door import KEYS

MANAGER = ("p-okoro", "manager")
SECURITY = ("p-soto", "security")
REVIEWERS = (SECURITY, MANAGER)
BY_SUBJECT = ("/findings/", "/limits/", "/exports/")


def body_of(answer):
    return answer.content.decode()


@pytest.mark.parametrize("path", BY_SUBJECT)
def test_an_officer_is_told_whom_to_ask(told_once, signed_in_as, path):
    answer = signed_in_as("p-amara").get(path)
    assert answer.status_code == 403
    assert "Ask the security manager" in body_of(answer)


@pytest.mark.parametrize("path", BY_SUBJECT)
def test_those_who_watch_may_read(told_once, signed_in_as, path):
    assert signed_in_as("p-soto").get(path).status_code == 200


def test_a_finding_leads_to_the_form_of_its_review(told_once, signed_in_as):
    client = signed_in_as("p-soto")
    answer = client.get("/findings/?show=all")
    found = [each for _, level in answer.context["levels"] for each in level]
    assert found, "the story leaves something to look at"
    told, review = found[0]
    form = client.get(review, follow=True)
    assert form.status_code == 200
    for value in told.asks.values():
        assert value in body_of(form)


def test_a_since_that_is_no_day_is_told(told_once, signed_in_as):
    answer = signed_in_as("p-soto").get("/findings/?since=lately")
    assert answer.status_code == 422
    assert "such as 2026-10-01" in body_of(answer)


def test_check_says_up_to_where_the_record_holds(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    assert client.post("/check/now/").status_code == 302
    size = mark(room_with_keys.ledger_id).size
    assert LastCheck.objects.get(ledger_id=room_with_keys.ledger_id).size == size
    body = body_of(client.get("/check/"))
    assert f"holds to entry {size - 1}." in body
    assert mark(room_with_keys.ledger_id).root.replace("+", "&#x2B;") in body or (
        mark(room_with_keys.ledger_id).root in body
    )


def test_a_break_is_told_in_detail_only_to_those_who_watch(
    room_with_keys, signed_in_as
):
    broken = {
        "checked_at": "2026-03-02T00:00:00Z",
        "size": 5,
        "exit_code": 2,
        "report": '{"first_break": "entry 3: changed", "findings": ["entry 3:'
        ' changed"], "not_checked": [], "unpinned": []}',
    }
    LastCheck.objects.create(ledger_id=room_with_keys.ledger_id, **broken)
    assert "entry 3: changed" in body_of(signed_in_as("p-soto").get("/check/"))
    officers = body_of(signed_in_as("p-amara").get("/check/"))
    assert "does not hold" in officers
    assert "entry 3" not in officers


class Exported(NamedTuple):
    """A ledger whose record was exported, and the chain mark it had then."""

    ledger_id: int
    mark: Mark


@pytest.fixture
def exported(room_with_keys):
    """Say that the record was exported; what it was before, and the entry's number."""
    ledger_id = room_with_keys.ledger_id
    here = mark(ledger_id)
    room_with_keys.say(
        "export.made",
        {
            "taken_by": "an invented auditor",
            "purpose": "audit",
            "size": here.size,
            "root": here.root,
        },
        REVIEWERS,
    )
    return Exported(ledger_id, here)


def signed_mark(here):
    checkpoint = Checkpoint(here.origin, here.size, from_base64(here.root, size=32))
    return sign_checkpoint(checkpoint, KEYS["log"])


def copied_mark(here):
    return f"{here.origin}\n{here.size}\n{here.root}\n".encode()


@pytest.mark.parametrize(
    ("mark_of", "left_out"), [(signed_mark, "nothing"), (copied_mark, "log ")]
)
def test_a_bundle_holds_just_its_entries_and_verifies_elsewhere(
    exported, signed_in_as, tmp_path, mark_of, left_out
):
    ledger_id = exported.ledger_id
    assert read.head(ledger_id).size == exported.mark.size + 1
    answer = signed_in_as("p-soto").get(f"/exports/{exported.mark.size}/bundle.zip")
    lines = policy_text(ledger_id).splitlines(keepends=True)
    kept = {
        "bundle.zip": b"".join(answer.streaming_content),
        "policy.txt": "".join(x for x in lines if not x.startswith(left_out)).encode(),
        "mark.txt": mark_of(exported.mark),
    }
    for name, content in kept.items():
        (tmp_path / name).write_bytes(content)
    asked = ["bundle.zip", "--policy", "policy.txt", "--anchor", "mark.txt"]
    done = subprocess.run(
        [sys.executable, "-m", "ledger.core.verify", *asked],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"tail pinned: size {exported.mark.size}" in done.stdout


def test_an_export_is_listed_and_not_given_to_an_officer(
    room_with_keys, exported, signed_in_as
):
    assert "an invented auditor" in body_of(signed_in_as("p-soto").get("/exports/"))
    answer = signed_in_as("p-amara").get(f"/exports/{exported.mark.size}/bundle.zip")
    assert answer.status_code == 403


def test_the_entry_of_something_else_is_no_export(room_with_keys, signed_in_as):
    answer = signed_in_as("p-soto").get("/exports/0/bundle.zip")
    assert answer.status_code == 404


def test_an_export_of_another_history_is_not_handed_out(room_with_keys, signed_in_as):
    size = read.head(room_with_keys.ledger_id).size
    root = to_base64(bytes(32))
    said = {"taken_by": "x", "purpose": "y", "size": size, "root": root}
    room_with_keys.say("export.made", said, REVIEWERS)
    answer = signed_in_as("p-soto").get(f"/exports/{size}/bundle.zip")
    assert answer.status_code == 400
    assert "Check the whole record" in body_of(answer)
