"""What people get wrong, through the front door: refused by code, or taken and noticed.

Every refusal names what was found, what was expected and what to do, and changes
nothing. What people saw is taken and noticed.
"""

import ast
import copy
from typing import Any

import pytest

from goldroom import commands
from goldroom.custody.records import Noticed
from goldroom.errors import Refusal, SubjectChanged
from goldroom.tables import read_all
from ledger import attachments, read
from ledger.core.errors import LedgerRefusal
from tests.front_door import (
    ASSAY,
    KEYS,
    ROOM,
    SHIPPING,
    STANDING,
    STORY,
    Room,
    g,
    kg,
    off,
    on,
    told,
)

NOTHING: dict[str, Any] = {}
WEIGHED = {"load": "LOAD-2", "hopper": "H1", "mark": "M1", "gross": kg("1900.0", "LC1")}
ASSAYED = {
    "laboratory": "lab",
    "method": "fire_assay",
    "standing": "final",
    "sampler": "dip",
    "results": [
        {
            "items": ["BAR-1"],
            "sample": "SMP-9",
            "unit": "permille",
            "gold": "850.0",
            "silver": "120.0",
        }
    ],
}
EMPTIED = {
    "hopper": "H1",
    "lot": "LOT-2",
    "into": "D1",
    "seals_removed": [off("lid", "S-0004"), off("drain", "S-0005")],
    "gross": kg("113.0", "PS1"),
    "tare": kg("20.0", "PS1"),
    "moisture": {"percent": "14.0", "oven": "OV1"},
    "seals_fitted": [on("lid", "S-0010"), on("drain", "S-0011")],
}


def changed(values: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    """Return the values with one of them, named by its path, changed."""
    new = copy.deepcopy(values)
    where: Any = new
    *way, last = path.split(".")
    for part in way:
        where = where[int(part)] if part.isdigit() else where[part]
    where[last] = value
    return new


TWICE = (("p-soto", "security"), ("p-soto", "witness"))

REFUSED = [
    ("a bare ounce", "hopper.weighed", ROOM,
     changed(WEIGHED, "gross.unit", "oz"), "bare_ounce", "gross.unit"),
    ("a binary float", "hopper.weighed", ROOM,
     changed(WEIGHED, "gross.reading", 1900.5), "not_a_figure", "gross.reading"),
    ("more digits than the instrument reads", "hopper.weighed", ROOM,
     changed(WEIGHED, "gross.reading", "1900.25"), "more_digits_than_instrument",
     "gross.reading"),
    ("a fineness over 1000", "assay.reported", ASSAY,
     changed(ASSAYED, "results.0.gold", "1000.4"), "fineness_over_1000",
     "results[0].gold"),
    ("a moisture over 100", "hopper.emptied", ROOM,
     changed(EMPTIED, "moisture.percent", "114.0"), "moisture_over_100",
     "moisture.percent"),
    ("an unknown vessel", "hopper.weighed", ROOM,
     changed(WEIGHED, "hopper", "H9"), "unknown_vessel", "hopper"),
    ("a seal never issued", "hopper.emptied", ROOM,
     changed(EMPTIED, "seals_fitted.0.seal", "S-0999"), "seal_never_issued",
     "seals_fitted[0].seal"),
    ("a seal used before", "hopper.emptied", ROOM,
     changed(EMPTIED, "seals_fitted.0.seal", "S-0001"), "seal_already_used",
     "seals_fitted[0].seal"),
    ("an item id used before", "hopper.weighed", ROOM,
     changed(WEIGHED, "load", "LOAD-1"), "item_id_used", "load"),
    ("a charge whose sources were consumed already", "charge.made_up", ROOM,
     {"charge": "CH-2", "furnace": "F1", "crucible": "C-1", "crucible_uses": 4,
      "sources": [{"item": "CON-1"}]}, "item_consumed", "sources[0].item"),
    ("a reading over capacity, not confirmed", "hopper.weighed", ROOM,
     changed(WEIGHED, "gross.reading", "5000.5"), "over_capacity", "gross.reading"),
    ("a reading in another unit than displayed", "hopper.weighed", ROOM,
     changed(WEIGHED, "gross.unit", "g"), "wrong_unit", "gross.unit"),
    ("the same person twice", "vault.counted", TWICE,
     {"safe": "S1", "found": ["BAR-1"]}, "same_signer", "signers"),
    ("a role that may not sign this", "assay.reported", ROOM, ASSAYED,
     "role_may_not_sign", "signers"),
    ("a role not held", "hopper.weighed",
     (("p-amara", "laboratory"), ("p-leith", "witness")), WEIGHED,
     "role_may_not_sign", "signers[0].role"),
    ("both signers of one reporting line", "seal.removed",
     (("p-amara", "officer"), ("p-amara", "officer")),
     {"vessel": "S1", "reason": "count", "seals_removed": [off("door", "S-0006")]},
     "same_signer", "signers"),
    ("somebody not enrolled", "hopper.weighed",
     (("p-amara", "officer"), ("p-nobody", "witness")), WEIGHED, "unknown_person",
     "signers[1].person"),
    ("a kind that does not exist", "hopper.guessed", ROOM, NOTHING, "unknown_kind",
     "kind"),
    ("a field that does not exist", "hopper.weighed", ROOM,
     {**WEIGHED, "colour": "grey"}, "bad_field", "colour"),
    ("a field left out", "hopper.weighed", ROOM,
     {name: value for name, value in WEIGHED.items() if name != "mark"}, "bad_field",
     "mark"),
]  # fmt: skip


def refusal_of(room: Room, *args: Any, **more: Any) -> Refusal | LedgerRefusal:
    """Return the refusal with which a saying is met."""
    with pytest.raises((Refusal, LedgerRefusal)) as caught:
        room.say(*args, **more)
    found = caught.value
    assert isinstance(found, Refusal | LedgerRefusal)
    return found


@pytest.mark.parametrize(
    ("situation", "kind", "hands", "data", "code", "field"),
    REFUSED,
    ids=[each[0] for each in REFUSED],
)
def test_bad_input_is_refused_at_its_field_and_changes_nothing(
    told_once, situation, kind, hands, data, code, field
):
    before = read.head(told_once.ledger_id)
    refusal = refusal_of(
        told_once, kind, data, hands, at="2026-03-10T09:00:00+02:00", entry_id=""
    )
    assert (refusal.code, refusal.field) == (code, field), refusal.message
    assert len(refusal.message) > 30
    assert refusal.message.rstrip().endswith((".", "?"))
    assert read.head(told_once.ledger_id) == before


def test_a_date_in_the_future_is_refused(told_once):
    refusal = refusal_of(
        told_once,
        "hopper.weighed",
        WEIGHED,
        at="2026-03-10T09:00:00+02:00",
        received_at="2026-03-09T09:00:00+02:00",
        entry_id="",
    )
    assert (refusal.code, refusal.field) == ("occurred_in_future", "occurred_at")


def test_an_attachment_whose_bytes_do_not_match_is_refused(told_once):
    cited = attachments.put(
        told_once.ledger_id, b"photograph", name="bar.txt", media="text/plain"
    )
    cited["sha256"] = "0" * 64
    refusal = refusal_of(
        told_once,
        "hopper.weighed",
        WEIGHED,
        at="2026-03-10T09:00:00+02:00",
        attachments=(cited,),
        entry_id="",
    )
    assert refusal.code == "attachment_mismatch"


def test_what_changed_between_the_signatures_is_refused_by_the_second(fresh_db):
    room = told()
    saying = room.saying(
        "hopper.emptied",
        EMPTIED,
        at="2026-03-10T09:00:00+02:00",
        entry_id="10000000-0000-4000-8000-000000000001",
        received_at="",
    )
    waiting = commands.propose(
        room.ledger_id, saying, KEYS["p-amara"], clock=lambda: room.now
    )
    assert (waiting.signed, waiting.missing) == (("p-amara",), ("p-leith",))
    room.say("hopper.emptied", {**EMPTIED, "lot": "LOT-3"})
    with pytest.raises(SubjectChanged) as caught:
        commands.countersign(
            room.ledger_id, saying.entry_id, KEYS["p-leith"], clock=lambda: room.now
        )
    assert caught.value.code == "subject_changed"
    assert "S-0004" in caught.value.message or "seal" in caught.value.message


def noticed(room: Room) -> list[str]:
    """Return the codes of all that the fold noticed, oldest first."""
    return [
        row.value.split('"code":"')[1].split('"')[0]
        for row in read_all(room.ledger_id, "goldroom_row")
        if row.record == Noticed.table
    ]


def stamped_twice(room: Room) -> None:
    """Give a second bar the number of the first."""
    mend = {"CON-1": "CON-2", "TAI-1": "TAI-2", "LOT-1": "LOT-2", "CH-1": "CH-2",
            "BAR-1": "BAR-2", "SLAG-1": "SLAG-2"}  # fmt: skip
    room.say("hopper.emptied", EMPTIED, at="2026-03-10T09:00:00+02:00")
    for kind, hands, data, _ in STORY:
        if kind in ("table.run", "charge.made_up", "charge.poured", "bar.numbered"):
            text = repr(data)
            for old, new in mend.items():
                text = text.replace(f"'{old}'", f"'{new}'")
            new_data = ast.literal_eval(text)
            new_data.pop("opened", None)
            room.say(kind, new_data, hands)


def sum_over_1000(room: Room) -> None:
    """Report gold, silver and base that come to a little over 1000."""
    data = changed(ASSAYED, "results.0.base", "30.2")
    room.say("assay.reported", data, ASSAY, at="2026-03-10T09:00:00+02:00")


def wrong_seal(room: Room) -> None:
    """Find another seal on the lid than the one fitted."""
    data = changed(EMPTIED, "seals_removed.0.seal", "S-0009")
    room.say("hopper.emptied", data, at="2026-03-10T09:00:00+02:00")


def out_of_date(room: Room) -> None:
    """Move metal over a scale whose calibration has run out."""
    room.say(
        "instrument.calibrated",
        {"instrument": "PS1", "calibration": "PS1-short", "due": "2026-03-05",
         "certificate": "invented", "reading_u_g": "30", "slope_u_relative": "0.001",
         "place": "gold-room"},
        STANDING, at="2026-03-04T18:00:00+02:00",
    )  # fmt: skip
    room.say("hopper.emptied", EMPTIED, at="2026-03-10T09:00:00+02:00")


def over_capacity(room: Room) -> None:
    """Confirm a reading over the capacity of the scale."""
    data = changed(EMPTIED, "gross", {**kg("600.5", "PS1"), "confirmed": True})
    room.say("hopper.emptied", data, at="2026-03-10T09:00:00+02:00")


def bar_lighter_in_the_safe(room: Room) -> None:
    """Find a bar lighter when it is weighed again, with nothing drilled."""
    room.say(
        "bar.reweighed",
        {"item": "BAR-1", "first": g("160.1", "BU1"),
         "opened": [{"vessel": "S1", "seals_removed": [off("door", "S-0006")]}]},
        ROOM, at="2026-03-10T09:00:00+02:00",
    )  # fmt: skip


def count_differs(room: Room) -> None:
    """Count a safe and find nothing where the book has a bar."""
    room.say(
        "vault.counted",
        {"safe": "S1",
         "opened": [{"vessel": "S1", "seals_removed": [off("door", "S-0006")]}],
         "closed": [{"vessel": "S1", "seals_fitted": [on("door", "S-0012")]}]},
        (*SHIPPING[1:], ("p-anan", "accountant")), at="2026-03-10T09:00:00+02:00",
    )  # fmt: skip


ACCEPTED = [
    (wrong_seal, "seal_not_the_one_fitted"),
    (stamped_twice, "stamped_number_twice"),
    (out_of_date, "instrument_out_of_date"),
    (over_capacity, "reading_over_capacity"),
    (sum_over_1000, "fineness_sum_over_1000"),
    (bar_lighter_in_the_safe, "item_lost_mass"),
    (count_differs, "count_differs"),
]


@pytest.mark.parametrize(
    ("happen", "code"), ACCEPTED, ids=[code for _, code in ACCEPTED]
)
def test_what_people_saw_is_taken_and_noticed(fresh_db, happen, code):
    room = told()
    before = noticed(room)
    assert code not in before
    size = read.head(room.ledger_id).size
    happen(room)
    assert read.head(room.ledger_id).size > size
    assert code in noticed(room)
