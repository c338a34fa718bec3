"""Seals by themselves: issued, fitted, inspected, removed."""

import pytest
from stdnum.iso7064 import mod_37_36

from goldroom.custody import moves
from goldroom.custody.records import Item, Seal, Stay, Vessel
from goldroom.statements.number_series import NumberSeriesSet
from goldroom.statements.seals import (
    SealFitted,
    SealInspected,
    SealRemoved,
    SealsIssued,
)
from tests.goldroom.room import (
    act,
    codes,
    fitted,
    noticed,
    refused,
    removed,
    room,
    say,
)

ISSUE = {"series": "S", "first": 61, "last": 80, "issued_to": "p-amara"}


def test_a_range_is_issued_to_the_person_who_keeps_it():
    state = room()
    said = say(state, SealsIssued, ISSUE)
    seal = state.get(Seal, "S-0061")
    assert (seal.status, seal.series, seal.issued_to) == ("issued", "S", "p-amara")
    assert state.get(Seal, "S-0080") is not None
    assert state.get(Seal, "S-0081") is None
    assert said.sentence() == (
        "Seals S-0061 to S-0080 (20 seals) were issued to p-amara."
    )


def test_numbers_may_have_another_width():
    state = room()
    say(state, SealsIssued, {**ISSUE, "series": "GR", "digits": 6})
    assert state.get(Seal, "GR-000061") is not None


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("a new range", {}, None),
        ("one seal", {"last": 61}, None),
        ("overlapping the last range", {"first": 40}, "already_registered"),
        ("upside down", {"first": 80, "last": 61}, "bad_field"),
        ("a thousand and one", {"last": 1061}, "bad_field"),
        ("to a person nobody enrolled", {"issued_to": "p-x"}, "unknown_person"),
    ],
)
def test_range_is_issued_or_refused(situation, change, code):
    assert refused(room(), SealsIssued, {**ISSUE, **change}) == code, situation


CHECKED = {
    "numbers": "seal", "prefix": "K-", "digits": 5, "with_check": True,
}  # fmt: skip


@pytest.mark.source("python-stdnum, stdnum.iso7064.mod_37_36")
def test_seals_with_a_check_character_bear_it_each():
    state = room()
    values = {**ISSUE, "series": "K", "digits": 5, "with_check": True}
    said = say(state, SealsIssued, values)
    numbers = said.numbers()
    assert len(numbers) == 20
    for n, number in enumerate(numbers, start=61):
        assert number[:-1] == f"K-{n:05d}"
        assert mod_37_36.is_valid(number.replace("-", ""))
        assert state.get(Seal, number) is not None


@pytest.mark.parametrize(
    ("situation", "change", "code"),
    [
        ("as its series is numbered", {"with_check": True, "digits": 5}, None),
        ("without the character", {"digits": 5}, "check_character_wrong"),
        ("said to have none", {"with_check": False}, "check_character_wrong"),
        ("with other digits", {"with_check": True}, "check_character_wrong"),
        ("another series", {"series": "L"}, None),
    ],
)
def test_seals_are_issued_as_their_series_is_numbered(situation, change, code):
    state = room()
    say(state, NumberSeriesSet, CHECKED)
    values = {**ISSUE, "series": "K", **change}
    assert refused(state, SealsIssued, values) == code, situation


def test_a_drum_is_sealed_and_its_contents_stay_under_the_seal():
    state, done = room(), act("made.up")
    new = moves.NewItem(item="lot-1", sort="lot", step="table", vessel="D1")
    for record in moves.make(state, done, new):
        state.put(record)
    said = say(
        state, SealFitted, {"vessel": "D1", "seals_fitted": [fitted("lid", "S-0003")]}
    )
    assert not state.get(Vessel, "D1").is_open
    lot = state.get(Item, "lot-1")
    stay = state.get(Stay, f"lot-1/{lot.stays:04d}")
    assert (stay.vessel, stay.seals, stay.act) == ("D1", ("S-0003",), "seal.fitted")
    assert said.sentence() == "D1 was sealed, S-0003 on lid."


def test_an_inspection_records_what_was_seen_and_changes_nothing():
    state = room()
    values = {
        "vessel": "H1",
        "seals_seen": [
            {"point": "lid", "seal": "S-0001", "tamper_signs": "none"},
            {"point": "drain", "seal": "S-0030", "tamper_signs": "heated"},
        ],
    }
    before = state.get(Vessel, "H1")
    said = say(state, SealInspected, values)
    assert state.get(Vessel, "H1") == before
    assert codes(state) == ["seal_not_the_one_fitted", "seal_tampered"]
    assert (noticed(state)[0].found, noticed(state)[0].expected) == ("S-0030", "S-0002")
    assert said.sentence() == (
        "Seals on H1 were read: S-0001 on lid (no tamper signs), S-0030 on drain"
        " (tamper signs: heated)."
    )


def test_a_broken_seal_is_replaced_with_its_reason():
    state = room()
    values = {
        "vessel": "H1",
        "reason": "knocked off by the hoist",
        "seals_removed": [removed("lid", "S-0001", tamper_signs="broken")],
        "seals_fitted": [fitted("lid", "S-0003")],
    }
    said = say(state, SealRemoved, values)
    assert state.get(Vessel, "H1").points[0].seal == "S-0003"
    assert codes(state) == ["seal_tampered"]
    assert said.sentence() == (
        "Seals were taken off H1: S-0001 on lid (tamper signs: broken); reason: knocked"
        " off by the hoist. In their place: S-0003 on lid."
    )


ROW = {"point": "lid", "seal": "S-0001", "tamper_signs": "none"}


@pytest.mark.parametrize(
    ("situation", "kind", "values", "code"),
    [
        (
            "a seal on a sealed point",
            SealFitted,
            {"vessel": "H1", "seals_fitted": [fitted("lid", "S-0003")]},
            "seal_point_taken",
        ),
        (
            "no seals to fit",
            SealFitted,
            {"vessel": "D1", "seals_fitted": []},
            "bad_field",
        ),
        (
            "looking at a point there is not",
            SealInspected,
            {"vessel": "H1", "seals_seen": [{**ROW, "point": "hatch"}]},
            "unknown_seal_point",
        ),
        (
            "looking at a vessel there is not",
            SealInspected,
            {"vessel": "H9", "seals_seen": [ROW]},
            "unknown_vessel",
        ),
        (
            "a sign that is no sign",
            SealInspected,
            {"vessel": "H1", "seals_seen": [{**ROW, "tamper_signs": "fine"}]},
            "bad_field",
        ),
        (
            "removal without a reason",
            SealRemoved,
            {"vessel": "H1", "seals_removed": [removed("lid", "S-0001")]},
            "bad_field",
        ),
        (
            "another seal found and taken off",
            SealRemoved,
            {
                "vessel": "H1",
                "reason": "check",
                "seals_removed": [removed("lid", "S-0033")],
            },
            None,
        ),
    ],
)
def test_seal_statements_are_taken_or_refused(situation, kind, values, code):
    assert refused(room(), kind, values) == code, situation
