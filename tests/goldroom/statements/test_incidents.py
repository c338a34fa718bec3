"""Incidents: reported with what they concern, closed by somebody else's eyes too."""

from typing import Any

import pytest

from goldroom.custody.room import Incident
from goldroom.custody.state import State
from goldroom.statements.incidents import IncidentClosed, IncidentReported
from tests.goldroom import story
from tests.goldroom.room import codes, noticed, room, say
from tests.goldroom.room import refused as refused_in

GUARDS = (("p-sefu", "security"), ("p-amara", "officer"))
OTHERS = (("p-sefu", "security"), ("p-brandt", "manager"))
LATER = "2026-10-20T09:00:00+02:00"
REPORT: dict[str, Any] = {
    "incident": "INC-1",
    "severity": "minor",
    "what": "Slag boiled over the lip of the mould",
    "place": "gold_room",
    "items": ["BAR-1", "SLAG-1"],
    "vessels": ["F1"],
    "entries": ["entry-of-pour"],
    "done": "burner off, area kept clear, the site's safety officer told",
    "anybody_hurt": False,
}
CLOSING = {
    "incident": "INC-1",
    "found": "damp flux in the mould",
    "changed": "moulds are warmed and looked at before each pour",
}


def reported(state: State | None = None, **changed: Any) -> State:
    """Return a room in which something went wrong."""
    state = state or story.upto("slag")
    say(state, IncidentReported, {**REPORT, **changed}, people=GUARDS, entry="e-inc",
        at="2026-10-06T12:30:00+02:00")  # fmt: skip
    return state


def incident(state: State) -> Incident:
    """Return the incident."""
    found = state.get(Incident, "INC-1")
    assert found is not None
    return found


def test_an_incident_stays_open_with_what_it_concerns():
    kept = incident(reported())
    assert (kept.status, kept.severity, kept.place) == ("open", "minor", "gold_room")
    assert (kept.items, kept.vessels, kept.entries) == (
        ("BAR-1", "SLAG-1"),
        ("F1",),
        ("entry-of-pour",),
    )
    assert (kept.people, kept.at, kept.entry) == (
        ("p-sefu", "p-amara"),
        "2026-10-06T10:30:00Z",
        "e-inc",
    )


def test_an_incident_moves_no_metal():
    state = story.upto("slag")
    earlier = state.all_held()
    reported(state)
    changed = {
        at[0] for at, each in state.all_held().items() if earlier.get(at) != each
    }
    assert changed == {"incident", "finding", "said"}


@pytest.mark.parametrize(
    ("changed", "code", "level"),
    [
        ({}, "incident_reported", "notice"),
        ({"severity": "near_miss"}, "incident_reported", "notice"),
        ({"severity": "serious"}, "incident_serious", "exception"),
        (
            {"anybody_hurt": True, "hurt": "one burnt hand, cooled, taken to clinic"},
            "incident_serious",
            "exception",
        ),
    ],
)
def test_every_incident_is_seen(changed: dict[str, Any], code: str, level: str):
    found = noticed(reported(**changed))[-1:]
    assert [(each.code, each.level, each.item) for each in found] == [
        (code, level, "INC-1")
    ]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="as it was"),
        pytest.param(
            {"items": [], "vessels": [], "entries": []}, None, id="concerning nothing"
        ),
        pytest.param({"place": "moon"}, "unknown_place", id="no such place"),
        pytest.param({"items": ["BAR-9"]}, "unknown_item", id="no such item"),
        pytest.param({"vessels": ["F9"]}, "unknown_vessel", id="no such vessel"),
        pytest.param({"entries": ["e-9"]}, "unknown_entry", id="no such entry"),
        pytest.param({"severity": "bad"}, "bad_field", id="no such severity"),
        pytest.param({"anybody_hurt": True}, "bad_field", id="hurt, but not who"),
        pytest.param({"hurt": "a hand"}, "bad_field", id="nobody hurt, yet somebody"),
    ],
)
def test_report(changed: dict[str, Any], code: str | None):
    state = story.upto("slag")
    values = {**REPORT, **changed}
    assert refused_in(state, IncidentReported, values, people=GUARDS) == code


def test_an_incident_is_reported_once():
    state = reported()
    assert refused_in(state, IncidentReported, REPORT, people=GUARDS) == (
        "already_registered"
    )


def test_an_incident_is_closed_with_what_was_found():
    state = reported()
    said = say(state, IncidentClosed, CLOSING, people=OTHERS, at=LATER, entry="e-close")
    assert (incident(state).status, incident(state).closed_by) == ("closed", "e-close")
    assert said.sentence() == (
        "Incident INC-1 was closed. Found: damp flux in the mould. From now on: moulds"
        " are warmed and looked at before each pour."
    )


@pytest.mark.parametrize(
    ("people", "code"),
    [
        pytest.param(OTHERS, None, id="one of them and another"),
        pytest.param(GUARDS, "same_signers", id="those who reported it"),
    ],
)
def test_somebody_else_closes_an_incident(people: Any, code: str | None):
    state = reported()
    assert refused_in(state, IncidentClosed, CLOSING, people=people, at=LATER) == code


def test_an_incident_is_closed_once_and_only_if_reported():
    state = reported()
    unknown = {**CLOSING, "incident": "INC-2"}
    assert refused_in(state, IncidentClosed, unknown, people=OTHERS, at=LATER) == (
        "unknown_incident"
    )
    say(state, IncidentClosed, CLOSING, people=OTHERS, at=LATER)
    assert refused_in(state, IncidentClosed, CLOSING, people=OTHERS, at=LATER) == (
        "not_in_this_state"
    )


def test_reports_read_aloud():
    state = story.upto("slag")
    said = say(state, IncidentReported, REPORT, people=GUARDS, at=LATER)
    assert said.sentence() == (
        "Incident INC-1 in gold_room (minor): Slag boiled over the lip of the mould."
        " Done: burner off, area kept clear, the site's safety officer told. Nobody"
        " was hurt. It concerns BAR-1, SLAG-1, F1 and entry entry-of-pour."
    )
    bare = {
        "incident": "INC-2",
        "severity": "near_miss",
        "what": "A strap slipped",
        "done": "strap replaced",
        "anybody_hurt": True,
        "hurt": "a bruised foot, seen to on site",
    }
    assert say(room(), IncidentReported, bare, people=GUARDS).sentence() == (
        "Incident INC-2 (near miss): A strap slipped. Done: strap replaced. Hurt: a"
        " bruised foot, seen to on site."
    )


def test_the_form_reminds_that_rescue_comes_first():
    from goldroom.statements.fields import specs

    assert "rescue never waits" in specs(IncidentReported)["what"].help
    assert codes(room()) == []
