"""`manage.py policy_line`: rules for the kinds that an older ledger has none for."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from goldroom import commands
from goldroom.management.policy_text import (
    completed_rules,
    kinds_without_rule,
    signing_rules,
)
from goldroom.roles import completed_policy, default_classes, default_policy
from goldroom.sayings import read_line
from goldroom.statements.registry import kinds
from ledger import read
from ledger.core.errors import KeyringRefusal
from tests.goldroom import small_mine

NEWER = ("room.entered", "finding.reviewed")
SIGNERS = ("p-sefu:security", "p-brandt:manager")
AT = "2026-09-30T10:00:00+02:00"


@pytest.fixture
def ledger_id(fresh_db):
    """Give a ledger whose policy knows neither some kinds nor the group of one."""
    opening = small_mine.opening("mine.example/older")
    policy = default_policy()
    policy["kinds"] = [each for each in policy["kinds"] if each["kind"] not in NEWER]
    guarded = {each["kind"] for each in policy["kinds"] if each["group"] == "guard"}
    policy["kinds"] = [each for each in policy["kinds"] if each["kind"] not in guarded]
    policy["groups"] = [each for each in policy["groups"] if each["name"] != "guard"]
    room = next(each for each in policy["groups"] if each["name"] == "room")
    room["slots"] = [["officer"], ["witness"]]
    policy["basis_lag_entries"] = 77
    opening.data["policy"] = policy
    commands.open_ledger(opening, small_mine.KEYS)
    return read.ledgers()[0].pk


def printed(*signers, at=AT):
    """Return what the command prints, and what it says beside."""
    out, err = StringIO(), StringIO()
    arguments = [f"--signer={each}" for each in signers]
    arguments += [] if at is None else ["--at", at]
    call_command("policy_line", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def entered(name):
    return small_mine.saying(
        name, "09-30 11:00", "place.registered", small_mine.GUARDS,
        place=name, name=name, sort="room",
    )  # fmt: skip


def go_in():
    return small_mine.saying(
        "go in", "09-30 12:00", "room.entered",
        (("p-amara", "officer"), ("p-leith", "witness")),
        place="gold_room", persons=["p-amara", "p-leith"],
    )  # fmt: skip


def test_line_gives_every_kind_a_rule_and_record_takes_it(ledger_id):
    commands.say(ledger_id, entered("gold_room"), small_mine.KEYS)
    with pytest.raises(
        KeyringRefusal, match=r"no rule for room\.entered.* policy_line"
    ):
        commands.say(ledger_id, go_in(), small_mine.KEYS)
    line, beside = printed(*SIGNERS)
    assert "room.entered" in beside
    assert line.count("\n") == 1
    commands.say_many(ledger_id, [read_line(line)], small_mine.KEYS)
    assert kinds_without_rule(ledger_id) == []
    commands.say(ledger_id, go_in(), small_mine.KEYS)
    assert "there is nothing to set" in printed(*SIGNERS)[1]
    assert printed(*SIGNERS)[0] == ""


def test_line_leaves_the_rules_there_are_as_they_are(ledger_id):
    before, after = signing_rules(ledger_id), completed_rules(ledger_id)
    assert after["classes"] == before["classes"]
    assert after["policy"]["basis_lag_entries"] == 77
    for part, name in (("kinds", "kind"), ("groups", "name")):
        kept = {each[name]: each for each in after["policy"][part]}
        for each in before["policy"][part]:
            assert kept[each[name]] == each
    groups = {each["name"]: each["slots"] for each in after["policy"]["groups"]}
    assert groups["room"] == [["officer"], ["witness"]]
    assert "guard" in groups


def test_rules_as_they_are_read_back_as_they_were_opened(told):
    assert signing_rules(told) == {
        "policy": default_policy(),
        "classes": default_classes(),
    }
    assert kinds_without_rule(told) == []


def test_every_kind_of_two_has_a_group_that_is_there():
    policy = completed_policy({"basis_lag_entries": 1, "groups": [], "kinds": []})
    names = {each["name"] for each in policy["groups"]}
    assert {each["group"] for each in policy["kinds"]} == names
    assert {each["kind"] for each in policy["kinds"]} == {
        name for name, each in kinds().items() if each.klass == "two"
    }


def test_line_names_its_signers_and_its_time(ledger_id):
    line = json.loads(printed(*SIGNERS)[0])
    assert line["occurred_at"] == AT
    assert line["signers"] == [
        {"person": "p-sefu", "role": "security"},
        {"person": "p-brandt", "role": "manager"},
    ]
    assert list(line) == ["kind", "occurred_at", "data", "signers"]


def test_line_without_a_time_is_of_now(ledger_id):
    line = json.loads(printed(*SIGNERS, at=None)[0])
    assert line["occurred_at"].endswith("+00:00")
    assert len(line["occurred_at"]) == 25


@pytest.mark.parametrize("signer", ["p-sefu", ":security", "p-sefu:"])
def test_signer_without_person_or_role_is_refused(ledger_id, signer):
    with pytest.raises(CommandError, match="expected a person and the role"):
        printed(signer)


def test_signers_must_be_named(ledger_id):
    with pytest.raises(CommandError, match="--signer"):
        call_command("policy_line")
