"""The ceremony of seals, as every kind that opens or closes a vessel uses it."""

import pytest

from goldroom.custody.records import Seal, Vessel
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.fields import parse
from goldroom.statements.sealing import (
    TAMPER_SIGNS,
    SealFittedRow,
    SealRemovedRow,
    SealSeenRow,
    ceremony,
    check_ceremony,
    check_seen,
    fitted_words,
    removed_words,
    seen_words,
)
from tests.goldroom.room import act, codes, fitted, removed, room


def off(*rows):
    return [parse(SealRemovedRow, row) for row in rows]


def on(*rows):
    return [parse(SealFittedRow, row) for row in rows]


def hold(state: State, records) -> None:
    for record in records:
        state.put(record)


def test_a_vessel_is_open_while_any_point_is_bare():
    state, done = room(), act("hopper.opened", entry="entry-1")
    hold(state, ceremony(state, done, "H1", removed=off(removed("lid", "S-0001"))))
    assert state.get(Vessel, "H1").is_open
    assert state.get(Seal, "S-0001").status == "removed"
    assert state.get(Seal, "S-0001").removed_entry == "entry-1"
    hold(state, ceremony(state, done, "H1", fitted=on(fitted("lid", "S-0003"))))
    assert not state.get(Vessel, "H1").is_open
    new = state.get(Seal, "S-0003")
    assert (new.status, new.vessel, new.point) == ("fitted", "H1", "lid")
    assert codes(state) == []


def test_a_seal_is_replaced_in_one_ceremony():
    state, done = room(), act("seal.removed")
    rows = off(removed("lid", "S-0001")), on(fitted("lid", "S-0004"))
    check_ceremony(state, "H1", removed=rows[0], fitted=rows[1])
    hold(state, ceremony(state, done, "H1", removed=rows[0], fitted=rows[1]))
    lid = state.get(Vessel, "H1").points[0]
    assert (lid.point, lid.seal) == ("lid", "S-0004")
    assert not state.get(Vessel, "H1").is_open


@pytest.mark.parametrize(
    ("situation", "seen", "expected"),
    [
        ("the seal fitted, untouched", {}, []),
        ("another seal of ours", {"seal": "S-0030"}, ["seal_not_the_one_fitted"]),
        ("a seal nobody issued", {"seal": "X-0001"}, ["seal_unknown"]),
        ("no seal at all", {"seal": "none"}, ["seal_not_the_one_fitted"]),
        ("scratched", {"tamper_signs": "scratched"}, ["seal_tampered"]),
        ("remains thrown away", {"remains_kept": False}, ["seal_remains_not_kept"]),
        (
            "all of it",
            {"seal": "X-0001", "tamper_signs": "cut", "remains_kept": False},
            ["seal_unknown", "seal_tampered", "seal_remains_not_kept"],
        ),
    ],
)
def test_what_is_seen_on_a_seal_taken_off_is_recorded(situation, seen, expected):
    state = room()
    rows = off({**removed("lid", "S-0001"), **seen})
    check_ceremony(state, "H1", removed=rows)
    hold(state, ceremony(state, act("hopper.opened"), "H1", removed=rows))
    assert codes(state) == expected, situation
    assert state.get(Seal, "S-0001").status == "removed"


def test_a_bare_point_found_bare_is_nothing_to_notice():
    state = room()
    rows = off(removed("lid", "none"))
    hold(state, ceremony(state, act("seal.removed"), "D1", removed=rows))
    assert codes(state) == []


def code_of(state, vessel, *, put_on=(), taken_off=()) -> str | None:
    try:
        check_ceremony(state, vessel, fitted=on(*put_on), removed=off(*taken_off))
    except Refusal as refusal:
        return refusal.code
    return None


@pytest.mark.parametrize(
    ("situation", "vessel", "put_on", "taken_off", "code"),
    [
        ("an unused seal on a bare point", "D1", [("lid", "S-0005")], [], None),
        ("a seal never issued", "D1", [("lid", "S-9999")], [], "seal_never_issued"),
        (
            "a seal on another vessel",
            "D1",
            [("lid", "S-0001")],
            [],
            "seal_already_used",
        ),
        (
            "the very seal just taken off",
            "H1",
            [("lid", "S-0001")],
            [("lid", "S-0001")],
            "seal_already_used",
        ),
        ("a point still sealed", "H1", [("lid", "S-0005")], [], "seal_point_taken"),
        (
            "one seal on two points",
            "H1",
            [("lid", "S-0005"), ("drain", "S-0005")],
            [("lid", "S-0001"), ("drain", "S-0002")],
            "seal_already_used",
        ),
        (
            "a point twice on",
            "D1",
            [("lid", "S-0005"), ("lid", "S-0006")],
            [],
            "bad_field",
        ),
        (
            "a point twice off",
            "H1",
            [],
            [("lid", "S-0001"), ("lid", "S-0001")],
            "bad_field",
        ),
        (
            "a point the vessel has not",
            "D1",
            [("hatch", "S-0005")],
            [],
            "unknown_seal_point",
        ),
        ("a vessel nobody registered", "D9", [("lid", "S-0005")], [], "unknown_vessel"),
    ],
)
def test_fitting_is_accepted_or_refused(situation, vessel, put_on, taken_off, code):
    put_on = [fitted(*row) for row in put_on]
    taken_off = [removed(*row) for row in taken_off]
    found = code_of(room(), vessel, put_on=put_on, taken_off=taken_off)
    assert found == code, situation


def test_a_refusal_names_the_field_it_was_found_in():
    with pytest.raises(Refusal) as caught:
        check_ceremony(room(), "D1", fitted=on(fitted("lid", "X-1")), field="lot_seals")
    assert caught.value.field == "lot_seals[0].seal"


def test_an_inspection_names_each_point_once():
    row = parse(SealSeenRow, {"point": "lid", "seal": "S-0001", "tamper_signs": "none"})
    check_seen(room(), "H1", [row])
    with pytest.raises(Refusal) as caught:
        check_seen(room(), "H1", [row, row])
    assert caught.value.field == "seals_seen[1].point"


def test_words_say_the_number_and_the_signs_apart():
    assert fitted_words(on(fitted("lid", "S-0003"), fitted("drain", "S-0004"))) == (
        "S-0003 on lid, S-0004 on drain"
    )
    rows = off(
        removed("lid", "S-0001"),
        removed("drain", "S-0002", tamper_signs="cut", remains_kept=False),
    )
    assert seen_words(rows) == (
        "S-0001 on lid (no tamper signs), S-0002 on drain (tamper signs: cut)"
    )
    assert removed_words(rows).endswith("; remains of S-0002 not kept")


def test_no_signs_is_the_first_choice():
    assert TAMPER_SIGNS[0] == "none"
