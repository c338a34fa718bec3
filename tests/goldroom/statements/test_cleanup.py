"""Cleanup sheets: what they must list, what they must answer, what follows."""

import pytest

from goldroom.custody.records import Concentrator, Flush, Item, Seal, Stay, Vessel
from goldroom.statements.cleanup import BowlOpened, CleanupRecorded
from goldroom.statements.plant import CyclesRecorded
from tests.goldroom.room import (
    codes,
    noticed,
    reading,
    refused,
    room,
    say,
    vessel,
)
from tests.goldroom.statements.test_plant import GATEWAY, cycle


def listed(first: int, last: int, *, unit: str = "U1", epoch: int = 1):
    return {"unit": unit, "counter_epoch": epoch, "first": first, "last": last}


def answer(number: int, what: str, *, unit: str = "U1", **more):
    return {"unit": unit, "flush": number, "what": what, "answer": "seen", **more}


def sheet(*ranges, exceptions=(), hopper="H1", **more):
    values = {"hopper": hopper, "flushes": list(ranges), **more}
    return {**values, "exceptions": list(exceptions)} if exceptions else values


def counted(state, *rows):
    say(state, CyclesRecorded, {"cycles": list(rows)}, people=GATEWAY)


def begun():
    """Return a room with flush 1 to 3 of U1 on a sheet, 4 to 8 counted since."""
    state = room()
    counted(state, *(cycle(n) for n in range(1, 4)))
    say(state, CleanupRecorded, sheet(listed(1, 3)), entry="entry-first")
    counted(
        state,
        cycle(4),
        cycle(5, status="short"),
        cycle(6),
        cycle(7),
        cycle(8, status="aborted"),
    )
    return state


def test_every_flush_listed_becomes_an_item_in_its_hopper():
    state = room()
    rows = sheet(listed(1, 3), listed(1, 2, unit="U2"))
    said = say(state, CleanupRecorded, rows, entry="entry-1")
    hopper = state.get(Vessel, "H1")
    ids = ("U1-1-1", "U1-1-2", "U1-1-3", "U2-1-1", "U2-1-2")
    assert hopper.pending_flushes == ids
    assert hopper.contents == ids
    item = state.get(Item, "U2-1-1")
    assert (item.sort, item.status, item.step, item.place, item.crossings) == (
        "flush",
        "held",
        "",
        "hopper_bay",
        0,
    )
    stay = state.get(Stay, "U2-1-1/0001")
    assert (stay.seals, stay.hands) == (("S-0001", "S-0002"), ("p-amara", "p-leith"))
    assert state.get(Flush, "U2-1-1").sheet == "entry-1"
    assert state.get(Concentrator, "U1").last_flush == 3
    assert codes(state) == []
    assert said.sentence() == (
        "Cleanup sheet: flushes 1 to 3 of U1 (3), flushes 1 to 2 of U2 (2) into H1."
        " Exceptions: none."
    )


SHORT_ONES = (answer(5, "short"), answer(8, "aborted"))


@pytest.mark.parametrize(
    ("situation", "values", "code"),
    [
        (
            "short and aborted answered",
            sheet(listed(4, 8), exceptions=SHORT_ONES),
            None,
        ),
        ("up to the first short one", sheet(listed(4, 4)), None),
        (
            "short one silent",
            sheet(listed(4, 8), exceptions=[answer(8, "aborted")]),
            "exception_unanswered",
        ),
        (
            "aborted one silent",
            sheet(listed(4, 8), exceptions=[answer(5, "short")]),
            "exception_unanswered",
        ),
        (
            "people say missing what the plant counted",
            sheet(listed(4, 7), exceptions=[answer(5, "short"), answer(6, "missing")]),
            None,
        ),
        (
            "a gap after the last sheet, silent",
            sheet(listed(6, 7)),
            "exception_unanswered",
        ),
        (
            "the gap answered, flush by flush",
            sheet(listed(6, 7), exceptions=[answer(4, "late"), answer(5, "missing")]),
            None,
        ),
        (
            "the gap half answered",
            sheet(listed(6, 7), exceptions=[answer(4, "late")]),
            "exception_unanswered",
        ),
        ("a flush of the last sheet", sheet(listed(3, 4)), "flush_on_earlier_sheet"),
        ("a flush twice on one sheet", sheet(listed(4, 4), listed(4, 4)), "bad_field"),
        (
            "an answer for a flush that is not here",
            sheet(listed(4, 4), exceptions=[answer(9, "missing")]),
            "bad_field",
        ),
        (
            "a flush answered twice",
            sheet(listed(4, 4), exceptions=[answer(4, "short"), answer(4, "other")]),
            "bad_field",
        ),
        (
            "an extra flush that nobody lists",
            sheet(listed(5, 7), exceptions=[answer(5, "short"), answer(4, "extra")]),
            "bad_field",
        ),
        ("a range upside down", sheet(listed(6, 4)), "bad_field"),
        ("far too many flushes", sheet(listed(4, 400)), "bad_field"),
        ("a counter misread by thousands", sheet(listed(4000, 4005)), "bad_field"),
        ("a continuous unit", sheet(listed(1, 2, unit="U3")), "wrong_sort"),
        (
            "a unit nobody registered",
            sheet(listed(1, 2, unit="U9")),
            "unknown_concentrator",
        ),
        ("into a drum", sheet(listed(4, 4), hopper="D1"), "wrong_sort"),
        ("into nothing", sheet(listed(4, 4), hopper="H9"), "unknown_vessel"),
        ("no flushes", sheet(), "bad_field"),
    ],
)
def test_sheet_is_taken_or_refused(situation, values, code):
    assert refused(begun(), CleanupRecorded, values) == code, situation


def test_the_refusal_names_the_flush_that_needs_an_answer():
    with pytest.raises(Exception, match=r"flush 5 of U1 \(counter epoch 1\)"):
        say(begun(), CleanupRecorded, sheet(listed(4, 7)))


def test_a_flush_said_to_be_missing_makes_no_item_and_a_finding():
    state = begun()
    rows = sheet(listed(4, 7), exceptions=[answer(5, "short"), answer(6, "missing")])
    said = say(state, CleanupRecorded, rows)
    assert state.get(Item, "U1-1-6") is None
    assert "U1-1-6" not in state.get(Vessel, "H1").contents
    assert codes(state) == ["flush_short", "flush_missing"]
    missing = noticed(state)[1]
    assert missing.level == "exception"
    assert missing.expected == "the plant counted it complete"
    assert "Exceptions: U1 flush 5 short: seen; U1 flush 6 missing: seen." in (
        said.sentence()
    )


def test_an_extra_flush_is_an_item_and_a_finding():
    state = begun()
    rows = sheet(listed(4, 9), exceptions=[*SHORT_ONES, answer(9, "extra")])
    say(state, CleanupRecorded, rows)
    assert state.get(Item, "U1-1-9").sort == "flush"
    assert codes(state) == ["flush_short", "flush_short", "flush_extra"]


def test_a_late_flush_of_the_gap_may_come_on_the_next_sheet_but_a_missing_not():
    state = begun()
    gap = [answer(4, "late"), answer(5, "missing")]
    say(state, CleanupRecorded, sheet(listed(6, 7), exceptions=gap))
    assert state.get(Item, "U1-1-4") is None
    assert refused(state, CleanupRecorded, sheet(listed(4, 4))) is None
    assert state.get(Item, "U1-1-4") is not None
    assert state.get(Concentrator, "U1").last_flush == 7
    again = sheet(listed(5, 5), exceptions=[answer(5, "short")])
    assert refused(state, CleanupRecorded, again) == "flush_on_earlier_sheet"


def test_a_counter_started_again_leaves_no_flush_behind():
    state = begun()
    counted(state, cycle(1, epoch=2), cycle(2, epoch=2))
    only_new = sheet(listed(1, 2, epoch=2))
    assert refused(state, CleanupRecorded, only_new) == "exception_unanswered"
    both = sheet(listed(4, 8), listed(1, 2, epoch=2), exceptions=SHORT_ONES)
    say(state, CleanupRecorded, both)
    unit = state.get(Concentrator, "U1")
    assert (unit.counter_epoch, unit.last_flush) == (2, 2)
    assert state.get(Item, "U1-2-1") is not None
    assert state.get(Item, "U1-1-8") is not None


def test_an_answer_can_name_the_old_epoch():
    state = begun()
    counted(state, cycle(4, epoch=2))
    gone = [answer(n, "missing", counter_epoch=1) for n in range(4, 9)]
    new_gap = [answer(n, "other", counter_epoch=2) for n in range(1, 4)]
    say(state, CleanupRecorded, sheet(listed(4, 4, epoch=2), exceptions=gone + new_gap))
    assert codes(state) == ["flush_missing"] * 5
    assert state.get(Flush, "U1-1-4").answer == "missing: seen"
    assert state.get(Flush, "U1-2-4").answer == ""


def test_an_answer_that_names_its_epoch_is_not_taken_for_the_same_number_of_another():
    state = begun()
    gap = [answer(n, "missing", counter_epoch=2) for n in range(1, 9)]
    both = sheet(listed(4, 8), listed(9, 9, epoch=2), exceptions=[*SHORT_ONES, *gap])
    say(state, CleanupRecorded, both)
    assert state.get(Flush, "U1-2-8").answer == "missing: seen"
    assert state.get(Flush, "U1-1-8").answer == "aborted: seen"
    assert state.get(Item, "U1-1-8") is not None


def test_seals_seen_with_the_sheet_are_compared():
    state = room()
    seen = [{"point": "lid", "seal": "S-0009", "tamper_signs": "none"}]
    said = say(state, CleanupRecorded, sheet(listed(1, 1), seals_seen=seen))
    assert codes(state) == ["seal_not_the_one_fitted"]
    assert state.get(Seal, "S-0001").status == "fitted"
    assert said.sentence() == (
        "Cleanup sheet: flush 1 of U1 into H1. Exceptions: none. Seals read: S-0009 on"
        " lid (no tamper signs)."
    )


def test_a_flush_into_another_hopper_is_taken_and_noticed():
    state = room()
    state.put(vessel("H2", "hopper", "hopper_bay", {"lid": "S-0039"}))
    say(state, CleanupRecorded, sheet(listed(1, 2), hopper="H2"))
    assert codes(state) == ["flush_other_hopper"]
    assert state.get(Vessel, "H2").pending_flushes == ("U1-1-1", "U1-1-2")
    assert state.get(Flush, "U1-1-1").hopper == "H2"


BOWL = {"unit": "U1", "permit": "PTW-211", "reason": "worn liner"}


def test_a_bowl_opened_is_always_noticed():
    state = room()
    said = say(state, BowlOpened, BOWL)
    finding = noticed(state)[0]
    assert (finding.code, finding.item) == ("bowl_opened", "U1")
    assert finding.found == "permit PTW-211; heel not weighed"
    assert finding.expected == "heel weighed before and after"
    assert said.sentence() == (
        "The bowl of U1 was opened under permit PTW-211: worn liner; heel not weighed."
    )


def test_a_bowl_weighed_before_and_after_says_so():
    state = room()
    heel = {
        "heel_before": reading("412.5", "kg", "PS1"),
        "heel_after": reading("398.1", "kg", "PS1"),
    }
    said = say(state, BowlOpened, {**BOWL, **heel})
    assert codes(state) == ["bowl_opened"]
    assert "with heel 412.5 kg before, 398.1 kg after" in said.sentence()


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("not weighed", {}, None),
        (
            "weighed after and not before",
            {"heel_after": reading("398.1", "kg", "PS1")},
            "bad_field",
        ),
        (
            "digits the scale has not",
            {"heel_before": reading("398.15", "kg", "PS1")},
            "more_digits_than_instrument",
        ),
        (
            "in another unit",
            {"heel_before": reading("398150", "g", "PS1")},
            "wrong_unit",
        ),
        ("a unit nobody registered", {"unit": "U9"}, "unknown_concentrator"),
        ("without a permit", {"permit": ""}, "bad_field"),
    ],
)
def test_bowl_opening_is_taken_or_refused(situation, change, code):
    assert refused(room(), BowlOpened, {**BOWL, **change}) == code, situation
