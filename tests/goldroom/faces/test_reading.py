"""What each role may read, in one place for every face."""

import pytest

from goldroom.faces import reading
from goldroom.faces.models import Account
from goldroom.faces.reader import reader_of
from goldroom.faces.reading import NotForYou
from goldroom.reports.entry import entries_told
from goldroom.roles import READING, READING_OF_KINDS, ROLES, hidden_kinds
from goldroom.statements.registry import kinds
from ledger import read
from tests import front_door


def reader(room, person):
    """Return who a person is at a face."""
    slug = next(each.slug for each in read.ledgers() if each.pk == room.ledger_id)
    account, _ = Account.objects.get_or_create(
        name=f"{slug}:{person}",
        defaults={"ledger_id": room.ledger_id, "person": person},
    )
    found = reader_of(account)
    assert found is not None
    return found


def test_every_subject_and_kind_named_is_one_that_there_is():
    assert set(READING_OF_KINDS) <= set(kinds())
    assert set(READING_OF_KINDS.values()) <= set(READING)
    for roles, _ in READING.values():
        assert set(roles) <= set(ROLES)


@pytest.mark.parametrize("role", ["officer", "witness", "laboratory", "gateway"])
def test_who_does_the_work_reads_no_limits_cases_totals_or_shipments(role):
    assert hidden_kinds([role]) == set(READING_OF_KINDS)


@pytest.mark.parametrize("role", ["security", "accountant", "manager"])
def test_who_watches_reads_all(role):
    assert hidden_kinds([role]) == frozenset()


@pytest.fixture
def watched(fresh_db):
    """Tell the story, set a limit and announce a shipment: both of them hidden."""
    room = front_door.told()
    limit = {"limit": "sample_loss_g", "value": "0.2", "unit": "g", "reason": "finer"}
    room.say("limit.set", limit, front_door.STANDING)
    room.say(
        "dispatch.advised",
        {
            "shipment": "SH-1",
            "carrier": "Invented Carriers",
            "carrier_person": "Ulla Invented",
            "refinery": "refinery",
            "items": ["BAR-1"],
            "window_from": "2026-03-09T08:00:00+02:00",
            "window_until": "2026-03-09T16:00:00+02:00",
        },
        (("p-soto", "security"), ("p-anan", "accountant")),
    )
    return room


def test_the_journal_leaves_out_what_is_hidden(watched):
    whole = reading.journal(reader(watched, "p-soto"), most=500).lines
    seen = reading.journal(reader(watched, "p-amara"), most=500).lines
    left_out = {each.kind for each in whole if each not in seen}
    assert left_out == {"limit.set", "dispatch.advised"}


def test_whoever_signed_it_reads_it(watched):
    manager = reader(watched, "p-okoro")
    accountant = reader(watched, "p-anan")
    for person in (manager, accountant):
        kinds_seen = {each.kind for each in reading.journal(person, most=500).lines}
        assert {"limit.set", "dispatch.advised"} <= kinds_seen


def test_an_entry_hidden_in_the_journal_is_refused_by_its_number_too(watched):
    officer = reader(watched, "p-amara")
    seen = {line.seq for line in reading.journal(officer, most=500).lines}
    size = read.head(watched.ledger_id).size
    assert len(seen) < size
    for seq, told in entries_told(watched.ledger_id, range(size)).items():
        if seq in seen:
            assert reading.entry(officer, seq) == told
        else:
            with pytest.raises(NotForYou):
                reading.entry(officer, seq)


def test_an_items_trail_hides_a_shipment_that_has_not_left(watched):
    assert reading.trail(reader(watched, "p-soto"), "BAR-1").shipments
    assert not reading.trail(reader(watched, "p-amara"), "BAR-1").shipments


def test_the_vaults_total_is_for_those_who_watch(told_once):
    whole = reading.holdings(reader(told_once, "p-soto"))
    seen = reading.holdings(reader(told_once, "p-amara"))
    assert whole.withheld == ()
    assert seen.withheld == ("vault",)
    assert "vault" in {each.step for each in whole.holdings.steps}
    assert "vault" not in {each.step for each in seen.holdings.steps}


def test_others_see_what_was_noticed_in_what_they_signed_and_no_more(told_once):
    officer = reader(told_once, "p-amara")
    found = reading.attention(officer, now=told_once.now)
    lines = {each.entry_id: each for each in reading.journal(officer, most=500).lines}
    assert all(officer.person in lines[each.entry].people for each in found)


def test_somebody_whose_key_was_revoked_is_nobody(fresh_db):
    room = front_door.Room.opened()
    account = Account.objects.create(
        name="x:p-lima", ledger_id=room.ledger_id, person="p-lima"
    )
    assert reader_of(account) is not None
    key = read.keyring(room.ledger_id).keys_of("p-lima")[-1].key_id
    room.say(
        "key.revoked",
        {"key": key, "person": "p-lima", "reason": "left the site"},
        front_door.STANDING,
    )
    assert reader_of(account) is None
