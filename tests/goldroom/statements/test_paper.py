"""Paper forms: every number handed out is written up, void, or asked after."""

from typing import Any

import pytest

from goldroom.custody.paper import PaperForm
from goldroom.custody.state import State
from goldroom.errors import Refusal
from goldroom.statements.numbering import numbers_of
from goldroom.statements.paper import (
    PaperFormsIssued,
    PaperFormVoided,
    PaperFormWrittenUp,
)
from goldroom.statements.record import RecordCorrected
from tests.goldroom import story
from tests.goldroom.room import codes, noticed, refused, say

SOURCE = pytest.mark.source("common practice, no source")
GUARDS = (("p-sefu", "security"), ("p-amara", "officer"))
MENDERS = (("p-jonas", "officer"), ("p-sefu", "security"))
ISSUED: dict[str, Any] = {
    "series": "F",
    "first": 11,
    "last": 14,
    "issued_to": "p-amara",
    "place": "gold_room",
}
ISSUED_AT = "2026-10-01T06:00:00+02:00"
POURED_AT = story.STAGES["pour"][1]
LATER = "2026-10-07T08:00:00+02:00"
WRITTEN: dict[str, Any] = {
    "form": "F-0012",
    "happened_at": POURED_AT,
    "entries": ["entry-of-pour"],
    "signed_in_ink": [
        {"name": "A. Venn", "person": "p-amara"},
        {"name": "L. Orban", "person": "p-leith"},
    ],
    "scan": "form F-0012.pdf",
    "reason": "no power at the server",
}
SPOILED = {"form": "F-0013", "reason": "wet", "form_kept": True}


def handed_out(issued_at: str = ISSUED_AT) -> State:
    """Return the room after the pour, with four forms handed out before."""
    state = story.upto("pour")
    say(state, PaperFormsIssued, ISSUED, people=GUARDS, at=issued_at, entry="e-issued")
    return state


def write_up(state: State, *, attachments: int = 1, **changed: Any) -> Any:
    """Say that a form was written up; return the statement."""
    values = {k: v for k, v in {**WRITTEN, **changed}.items() if v is not None}
    return say(
        state,
        PaperFormWrittenUp,
        values,
        people=MENDERS,
        at=LATER,
        entry="e-written",
        attachments=attachments,
    )


def code_of(state: State, **more: Any) -> str | None:
    """Return the code with which a writing up is refused; None if it is not."""
    try:
        write_up(state, **more)
    except Refusal as refusal:
        return refusal.code
    return None


def form(state: State, number: str) -> PaperForm:
    """Return a form that was issued."""
    found = state.get(PaperForm, number)
    assert found is not None
    return found


def test_forms_are_handed_out_as_a_range_to_a_person_and_a_place():
    state = handed_out()
    forms = [form(state, f"F-00{n}") for n in (11, 12, 13, 14)]
    assert {each.status for each in forms} == {"issued"}
    assert [each.number for each in forms] == [11, 12, 13, 14]
    assert {(each.issued_to, each.place, each.at) for each in forms} == {
        ("p-amara", "gold_room", "2026-10-01T04:00:00Z")
    }


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({"first": 15, "last": 20}, None, id="the next pad"),
        pytest.param({}, "already_registered", id="the same pad"),
        pytest.param({"first": 1, "last": 11}, "already_registered", id="one of it"),
        pytest.param({"first": 30, "last": 29}, "bad_field", id="upside down"),
        pytest.param({"first": 1001, "last": 2001}, "bad_field", id="too many"),
        pytest.param({"issued_to": "p-none", "series": "G"}, "unknown_person",
                     id="to nobody"),
        pytest.param({"place": "moon", "series": "G"}, "unknown_place", id="nowhere"),
    ],
)  # fmt: skip
def test_issue(changed: dict[str, Any], code: str | None):
    values = {**ISSUED, **changed}
    assert refused(handed_out(), PaperFormsIssued, values, people=GUARDS) == code


@pytest.mark.parametrize(
    ("digits", "numbers"),
    [(None, ["F-0009", "F-0010"]), (1, ["F-9", "F-10"]), (3, ["F-009", "F-010"])],
)
def test_numbers_are_of_fixed_width(digits: int | None, numbers: list[str]):
    assert numbers_of("F", 9, 10, digits) == numbers


def test_a_form_written_up_is_used_and_keeps_the_events_own_time():
    state = handed_out()
    write_up(state)
    used = form(state, "F-0012")
    assert (used.status, used.ended_entry) == ("used", "e-written")
    assert (used.ended_at, used.ended_known_at) == (
        "2026-10-06T07:00:00Z",
        "2026-10-07T06:10:00Z",
    )
    assert codes(state) == []


@SOURCE
@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param({"attachments": 0}, "paper_not_attached", id="without its scan"),
        pytest.param({"form": "F-0099"}, "form_never_issued", id="never issued"),
        pytest.param({"entries": ["e-9"]}, "unknown_entry", id="no such entry"),
        pytest.param({"entries": []}, "bad_field", id="of no entry"),
        pytest.param({"signed_in_ink": []}, "bad_field", id="signed by nobody"),
        pytest.param({"scan": None}, "bad_field", id="scan not named"),
        pytest.param(
            {"signed_in_ink": [{"name": "X", "person": "p-none"}]},
            "unknown_person",
            id="signed by an unknown id",
        ),
        pytest.param(
            {"happened_at": "2026-10-01T05:59:59+02:00"},
            "form_issued_later",
            id="from before it was issued",
        ),
        pytest.param(
            {"happened_at": "2026-10-07T08:00:01+02:00"},
            "occurred_in_future",
            id="from after its writing up",
        ),
        pytest.param(
            {"happened_at": "2026-10-06T09:00:00"},
            "bad_field",
            id="a time without its offset",
            marks=pytest.mark.source("RFC 3339, 5.6 Internet Date/Time Format"),
        ),
    ],
)
def test_writing_up(changed: dict[str, Any], code: str | None):
    assert code_of(handed_out(), **changed) == code


def test_an_entry_from_before_the_form_was_issued_is_not_from_it():
    state = handed_out("2026-10-06T08:59:59+02:00")
    assert code_of(state, entries=["entry-of-charge", "entry-of-pour"]) == (
        "form_issued_later"
    )
    assert code_of(state) is None


def test_an_entry_taken_back_is_not_written_up():
    state = story.upto("slag")
    say(state, PaperFormsIssued, ISSUED, people=GUARDS, at=ISSUED_AT)
    take_back(state, "entry-of-slag", "slag.weighed")
    assert code_of(state, entries=["entry-of-slag"]) == "not_in_this_state"


@pytest.mark.parametrize("first", ["written up", "void"])
@pytest.mark.parametrize("then", ["written up", "void"])
def test_a_form_is_used_once(first: str, then: str):
    state = handed_out()
    ends = {
        "written up": lambda: code_of(state),
        "void": lambda: refused(
            state, PaperFormVoided, {**SPOILED, "form": "F-0012"}, people=GUARDS
        ),
    }
    assert ends[first]() is None
    assert ends[then]() == "form_already_used"


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        pytest.param({}, [], id="in order"),
        pytest.param(
            {"signed_in_ink": [{"name": "A. Venn"}]},
            ["paper_signed_by_one"],
            id="one signature",
            marks=SOURCE,
        ),
        pytest.param(
            {"happened_at": "2026-10-06T09:05:00+02:00"},
            ["paper_time_differs"],
            id="another time than the entry's",
        ),
        pytest.param(
            {"happened_at": "2026-10-06T07:00:00+00:00"}, [], id="in another zone"
        ),
        pytest.param(
            {"entries": ["entry-of-charge", "entry-of-pour"]}, [], id="one of two"
        ),
    ],
)
def test_what_is_odd_about_the_paper_is_noticed(
    changed: dict[str, Any], found: list[str]
):
    state = handed_out()
    write_up(state, **changed)
    assert codes(state) == found


def test_a_spoiled_form_is_void_and_kept():
    state = handed_out()
    said = say(state, PaperFormVoided, SPOILED, people=GUARDS, entry="e-void")
    spoiled = form(state, "F-0013")
    assert (spoiled.status, spoiled.ended_entry) == ("void", "e-void")
    assert codes(state) == []
    assert said.sentence() == "Paper form F-0013 was made void (kept): wet."


def test_a_spoiled_form_that_is_not_there_is_noticed():
    state = handed_out()
    said = say(state, PaperFormVoided, {**SPOILED, "form_kept": False}, people=GUARDS)
    assert [(each.code, each.item) for each in noticed(state)] == [
        ("form_not_kept", "F-0013")
    ]
    assert said.sentence() == "Paper form F-0013 was made void (not kept): wet."
    unknown = {**SPOILED, "form": "F-0099"}
    assert refused(state, PaperFormVoided, unknown, people=GUARDS) == (
        "form_never_issued"
    )


def take_back(state: State, entry: str, kind: str) -> None:
    """Void an entry."""
    values = {"entry": entry, "mode": "void", "kind": kind, "reason": "wrong form"}
    say(
        state,
        RecordCorrected,
        values,
        people=(("p-ines", "metallurgist"), ("p-brandt", "manager")),
        at="2026-10-20T09:00:00+02:00",
        corrects=entry,
    )


def test_a_writing_up_taken_back_leaves_the_form_unused():
    state = handed_out()
    earlier = form(state, "F-0012")
    write_up(state)
    take_back(state, "e-written", "paper_form.written_up")
    assert form(state, "F-0012") == earlier


def test_paper_reads_aloud():
    state = story.upto("pour")
    said = say(state, PaperFormsIssued, ISSUED, people=GUARDS, at=ISSUED_AT)
    assert said.sentence() == (
        "Paper forms F-0011 to F-0014 (4 forms) were issued to p-amara, kept at"
        " gold_room."
    )
    assert write_up(state).sentence() == (
        "Paper form F-0012 of 2026-10-06 09:00, signed in ink by A. Venn (p-amara)"
        " and L. Orban (p-leith), was written up as entry entry-of-pour. Scan: form"
        " F-0012.pdf. On paper because: no power at the server."
    )
    two = write_up(
        state,
        form="F-0014",
        entries=["entry-of-charge", "entry-of-pour"],
        reason=None,
        signed_in_ink=[{"name": "Tavi Brandel"}, {"name": "A. Venn"}],
    )
    assert two.sentence() == (
        "Paper form F-0014 of 2026-10-06 09:00, signed in ink by Tavi Brandel and"
        " A. Venn, was written up as entries entry-of-charge and entry-of-pour. Scan:"
        " form F-0012.pdf."
    )
