"""What stands open at each step while the story is told."""

import pytest

from goldroom.reports.steps import STEPS_OF_WORK, every_step
from tests import rest_of_the_room
from tests.front_door import STORY, Room


def opened(ledger_id, hidden=()):
    """Return what stands open now, by step, in words."""
    return {
        each.step.key: [one.said for one in each.open]
        for each in every_step(ledger_id, hidden=hidden)
    }


def tell(room, upto):
    """Tell the story up to and with the first entry of a kind."""
    for kind, hands, data, at in STORY:
        room.say(kind, data, hands, at=at)
        if kind == upto:
            return


@pytest.mark.parametrize(
    ("upto", "step", "words"),
    [
        ("cycles.recorded", "cleanup", "U1: flushes 1 to 2 on no sheet (2 counted"),
        ("cleanup.recorded", "hopper", "on a sheet and not yet weighed"),
        ("hopper.weighed", "hopper", "LOAD-1 (1 load) weighed and not yet emptied"),
        ("hopper.emptied", "table", "LOT-1 (a lot) can go on the table"),
        ("table.run", "smelt", "CON-1 (concentrate) can go into a charge"),
        ("charge.made_up", "smelt", "CH-1 (a charge) is made up and not poured"),
        (
            "charge.poured",
            "bars",
            "(a bar, casting 1 of CH-1) is poured and not numbered",
        ),
        ("charge.poured", "smelt", "is not weighed yet"),
        ("bar.numbered", "vault", "is numbered and not in the vault"),
        ("bar.numbered", "samples", "BAR-1 (1 bar) without an assay that is final"),
    ],
)
def test_each_act_leaves_open_what_comes_next(fresh_db, upto, step, words):
    room = Room.opened()
    tell(room, upto)
    assert any(words in each for each in opened(room.ledger_id)[step])


def test_nothing_stands_open_before_the_first_act(fresh_db):
    room = Room.opened()
    assert not any(opened(room.ledger_id).values())


def test_what_is_answered_is_no_longer_open(told_once):
    found = opened(told_once.ledger_id)
    assert found["cleanup"] == []
    assert found["table"] == []
    assert found["bars"] == []
    assert found["vault"] == []
    assert found["samples"] == []


def test_an_open_hopper_says_so_and_leads_to_closing_it(fresh_db):
    room = Room.opened()
    seals = [
        {"point": p, "seal": s, "tamper_signs": "none", "remains_kept": True}
        for p, s in (("lid", "S-0001"), ("drain", "S-0002"))
    ]
    room.say(
        "hopper.opened",
        {"hopper": "H1", "reason": "a blocked drain", "seals_removed": seals},
    )
    steps = {each.step.key: each for each in every_step(room.ledger_id)}
    (found,) = steps["hopper"].open
    assert found.said == "H1 (invented) stands open"
    closed = next(each for each in found.follows if each.kind == "hopper.closed")
    assert closed.carried == {"hopper": "H1"}


def test_every_step_has_its_look_and_a_name_of_its_own():
    names = [step.name for step in STEPS_OF_WORK]
    assert len(set(names)) == len(names)


@pytest.fixture
def watched(fresh_db, monkeypatch):
    """Tell the rest of the room; what stood open after each act, by its kind."""
    seen = []
    say = rest_of_the_room.Room.say

    def said(self, told, **more):
        appended = say(self, told, **more)
        steps = {each.step.key: each.open for each in every_step(self.ledger_id)}
        seen.append((told[1], steps))
        return appended

    monkeypatch.setattr(rest_of_the_room.Room, "say", said)
    rest_of_the_room.told()
    return seen


def test_a_batch_and_a_cell_load_stand_open_while_they_run(watched):
    """Each with its account, and with what can follow as far as it has come."""
    after = {kind: steps for kind, steps in reversed(watched)}
    (charged,) = after["leach.charged"]["leach"]
    assert charged.said.startswith("Batch LB-1 in ")
    assert charged.account.startswith("Gold charged ")
    assert "leach.drained" in [each.kind for each in charged.follows]
    (drained,) = after["leach.drained"]["leach"]
    assert [each.kind for each in drained.follows] == [
        "leach.washed",
        "leach.discharged",
    ]
    (residue,) = after["leach.discharged"]["leach"]
    assert residue.things == ("RES-1",)
    assert any(
        each.said.startswith("Load CL-1 in EC1") for each in after["cells.run"]["cells"]
    )
    opened = [each.said for each in after["cells.opened"]["cells"]]
    assert any(each.endswith(" stands open") for each in opened)


def test_wet_sludge_waits_until_it_was_dried(watched):
    waits = [[each.things for each in steps["drying"]] for _, steps in watched]
    assert ("SLU-1",) in {one for each in waits for one in each}
    assert waits[-1] == [("SLU-2",)]


def test_no_act_carries_what_must_be_read_afresh(watched):
    """A mass, a seal's number and a stamped number are read, never carried over."""
    carried = {
        (each.kind, path)
        for _, steps in watched
        for opened in steps.values()
        for one in opened
        for each in one.follows
        for path in each.carried
    }
    allowed = {
        "hopper", "feed", "batch", "item", "cell", "load", "solutions", "charge",
        "sources[0].item", "sample", "samples[0].item", "used[0].sample", "items",
        "shipment",
    }  # fmt: skip
    assert {path for _, path in carried} <= allowed
