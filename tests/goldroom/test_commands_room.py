"""The room's own record through the front door: many signers, paper, lock-outs."""

import hashlib
from dataclasses import replace

import pytest

from goldroom import commands, projection
from goldroom.custody.room import Occupancy
from goldroom.errors import NobodyCouldSign, Refusal
from goldroom.management.policy_text import signing_rules
from goldroom.reports import rows
from ledger import attachments, read
from ledger.audit import audit
from ledger.core.errors import LedgerRefusal
from tests.goldroom import small_mine

OUTGOING = (("p-amara", "officer"), ("p-leith", "witness"))
INCOMING = (("p-jonas", "officer"), ("p-sefu", "security"))
MANAGED = (("p-sefu", "security"), ("p-brandt", "manager"))
SCAN = b"ink on form F-0001"


def say(ledger_id, given):
    """Say it; the tables must be what a fresh fold makes of the entries."""
    appended = commands.say(ledger_id, given, small_mine.KEYS)
    assert projection.compare(ledger_id) == []
    return appended


def handed_over(people):
    return small_mine.saying(
        "handover", "10-13 07:00", "shift.handed_over", people, place="gold_room",
        outgoing=["p-amara", "p-leith"], incoming=["p-jonas", "p-sefu"],
        way="all_sign", open_items="furnace cooling",
    )  # fmt: skip


def test_shift_is_handed_over_by_four_signatures_that_all_verify(told):
    appended = say(told, handed_over(OUTGOING + INCOMING))
    assert [each["person"] for each in appended.entry.statement["signers"]] == [
        "p-amara",
        "p-leith",
        "p-jonas",
        "p-sefu",
    ]
    assert len(appended.entry.signatures) == 4
    assert audit().exit_code == 0


def test_slots_may_be_filled_by_the_third_and_fourth_signer(told):
    say(told, handed_over((INCOMING[0], OUTGOING[0], INCOMING[1], OUTGOING[1])))


@pytest.mark.parametrize(
    ("people", "code"),
    [
        pytest.param(OUTGOING * 2, "same_signer", id="two of them twice"),
        pytest.param(
            (*OUTGOING, *INCOMING, ("p-brandt", "manager")),
            "number_of_signers",
            id="five",
        ),
        pytest.param(
            (("p-ines", "metallurgist"), *MANAGED, ("p-odile", "accountant")),
            "role_may_not_sign",
            id="four, and no officer among them",
        ),
    ],
)
def test_signers_whom_the_policy_does_not_take(told, people, code):
    with pytest.raises((Refusal, LedgerRefusal)) as refusal:
        commands.say(told, handed_over(people), small_mine.KEYS)
    assert refusal.value.code == code


def test_who_is_in_the_room_is_kept_and_put_back_by_a_void(told):
    went_in = small_mine.saying(
        "went in", "10-13 07:00", "room.entered", OUTGOING,
        place="gold_room", persons=["p-amara", "p-leith"],
    )  # fmt: skip
    say(told, went_in)
    there = rows.one(told, Occupancy, "gold_room")
    assert there is not None
    assert there.persons == ("p-amara", "p-leith")
    taken_back = small_mine.saying(
        "not this room", "10-13 07:20", "record.corrected", small_mine.MENDERS,
        entry=went_in.entry_id, mode="void", kind="room.entered",
        reason="it was the vault", corrects=went_in.entry_id,
    )  # fmt: skip
    say(told, taken_back)
    assert rows.one(told, Occupancy, "gold_room") is None


def test_form_is_written_up_with_its_scan_in_the_record(told):
    issued = small_mine.saying(
        "forms", "09-30 13:00", "paper_forms.issued", small_mine.GUARDS, series="F",
        first=1, last=20, issued_to="p-amara", place="gold_room",
    )  # fmt: skip
    say(told, issued)
    poured = next(
        each for each in read.entries(told) if each.kind == "charge.poured"
    ).statement
    written = small_mine.saying(
        "written up", "10-13 07:00", "paper_form.written_up", small_mine.MENDERS,
        form="F-0001", happened_at=poured["occurred_at"],
        entries=[poured["entry_id"]],
        signed_in_ink=[{"name": "A. Venn"}, {"name": "L. Orban"}], scan="F-0001.txt",
    )  # fmt: skip
    cited = attachments.put(told, SCAN, name="F-0001.txt", media="text/plain")
    say(told, replace(written, attachments=(dict(cited),)))
    digest = hashlib.sha256(SCAN).hexdigest()
    assert attachments.content(told, digest) == SCAN


def test_nobody_sets_a_policy_that_locks_everybody_out(told):
    values = signing_rules(told)
    policy = {
        **values["policy"],
        "kinds": [
            each for each in values["policy"]["kinds"] if each["kind"] != "policy.set"
        ],
    }
    locked = small_mine.saying(
        "locked out", "10-13 07:00", "policy.set", MANAGED,
        policy=policy, classes=values["classes"],
    )  # fmt: skip
    with pytest.raises(NobodyCouldSign, match=r"no rule for policy\.set"):
        commands.say(told, locked, small_mine.KEYS)
    unchanged = small_mine.saying(
        "same", "10-13 07:00", "policy.set", MANAGED, **values
    )
    say(told, unchanged)


def test_a_key_is_revoked_while_others_can_sign_and_the_last_is_not(told):
    def revoked(person):
        key = read.keyring(told).keys_of(person)[0].key_id
        return small_mine.saying(
            f"revoked {person}", "10-13 07:00", "key.revoked", MANAGED,
            person=person, key=key, reason="left the mine",
        )  # fmt: skip

    say(told, revoked("p-leith"))
    with pytest.raises(NobodyCouldSign, match="nobody could sign"):
        commands.say(told, revoked("p-sefu"), small_mine.KEYS)
