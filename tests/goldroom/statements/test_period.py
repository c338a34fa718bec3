"""Periods closed, restated and trued up: what was reported stays as it was."""

from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest

from goldroom.custody.period import ClosedPeriod, Restatement, TrueUp
from goldroom.custody.records import Marker, Said
from goldroom.custody.state import State
from goldroom.statements.limits import MillDayReported
from goldroom.statements.period import (
    CAUSES,
    PeriodClosed,
    PeriodRestated,
    PeriodTruedUp,
)
from goldroom.statements.record import RecordCorrected
from tests.goldroom import room, story
from tests.goldroom.room import codes, noticed, reading, say

CLOSERS = (("p-odile", "accountant"), ("p-ines", "metallurgist"))
CLOSED_AT = "2026-11-02T10:00:00+02:00"


def balance(step: str, metal: str, *figures: str) -> dict[str, str]:
    """Return a row: opening, in, out, closing, unaccounted, u."""
    names = (
        "opening_g",
        "came_in_g",
        "went_out_g",
        "closing_g",
        "unaccounted_g",
        "u_g",
    )
    return {"step": step, "metal": metal, **dict(zip(names, figures, strict=False))}


def report(**changed: Any) -> dict[str, Any]:
    """Return the figures of a small month that add up, with some changed."""
    said: dict[str, Any] = {
        "standing": "provisional",
        "as_known_at": "2026-11-02T09:00:00+02:00",
        "ledger_size": 412,
        "ledger_root": "A" * 43 + "=",
        "report_digest": "0f" * 32,
        "program": "goldroom 0",
        "balances": [
            balance("hopper+table", "gold", "10", "500", "480", "20", "10", "6.5"),
            balance("smelt", "gold", "0", "480", "470", "12.5", "-2.5", "3"),
            balance("vault", "gold"),
            balance("all", "gold", "10", "500", "470", "32.5", "7.5", "7"),
            balance("smelt", "silver", "0", "60", "58", "2", "0", "2"),
            balance("all", "silver", "0", "60", "58", "2", "0", "2"),
        ],
        "gravity": {"estimated_g": "520", "estimated_u_g": "62", "poured_g": "470"},
    }
    return {**said, **changed}


CLOSED: dict[str, Any] = {
    "period": "2026-10",
    "first_day": "2026-10-01",
    "last_day": "2026-10-31",
    "from_at": "2026-10-01T06:00:00+02:00",
    "to_at": "2026-11-01T06:00:00+02:00",
    "report": report(),
}
NOVEMBER = {
    "period": "2026-11",
    "first_day": "2026-11-01",
    "last_day": "2026-11-30",
    "from_at": "2026-11-01T06:00:00+02:00",
    "to_at": "2026-12-01T06:00:00+02:00",
}


def at_site(state: State) -> State:
    """Return the room with the site's clock, as the opening entry sets it."""
    for name, value in (
        ("time_zone", "Africa/Johannesburg"), ("production_day_start", "06:00"),
    ):  # fmt: skip
        state.put(Marker(name=name, value=value, entry="entry-0"))
    return state


def site() -> State:
    """Return a room in which nothing was said yet but its clock."""
    return at_site(room.room())


def closed() -> State:
    """Return a room whose October is closed."""
    state = at_site(story.upto("melted"))
    say(state, PeriodClosed, CLOSED, at=CLOSED_AT, people=CLOSERS, entry="entry-close")
    return state


def refused(state: State, kind: Any, said: dict[str, Any], at: str) -> str | None:
    """Return the code with which the month's people are refused; None if not."""
    return room.refused(state, kind, said, at=at, people=CLOSERS)


def test_a_closed_period_keeps_its_figures_and_what_they_were_drawn_from():
    state = site()
    said = say(state, PeriodClosed, CLOSED, at=CLOSED_AT, people=CLOSERS)
    kept = state.get(ClosedPeriod, "2026-10")
    assert kept is not None
    assert (kept.from_at, kept.to_at) == (
        "2026-10-01T04:00:00Z", "2026-11-01T04:00:00Z",
    )  # fmt: skip
    assert (kept.reported.size, kept.reported.standing) == (412, "provisional")
    smelt = kept.reported.balances[1]
    assert (smelt.unaccounted_g, smelt.u_g) == (Decimal("-2.5"), Decimal(3))
    assert kept.reported.balances[2].closing_g is None
    assert kept.reported.gravity.poured_g == Decimal(470)
    assert codes(state) == []
    assert said.sentence() == (
        "Period 2026-10 was closed, 2026-10-01 to 2026-10-31, with provisional figures"
        " as known 2026-11-02 09:00: unaccounted 8 g of gold (± 7) and 0 g of silver"
        " (± 2)."
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="a whole month"),
        pytest.param(
            {"from_at": "2026-10-01T04:00:00+00:00"}, None, id="the same in UTC"
        ),
        pytest.param(
            {"from_at": "2026-10-01T00:00:00+02:00"}, "bad_field", id="from midnight"
        ),
        pytest.param(
            {"to_at": "2026-10-31T06:00:00+02:00"}, "bad_field", id="a day short"
        ),
        pytest.param(
            {"last_day": "2026-09-30"}, "bad_field", id="the last before the first"
        ),
        pytest.param(
            {"last_day": "2026-11-02", "to_at": "2026-11-03T06:00:00+02:00"},
            "occurred_in_future",
            id="before its last day is over",
        ),
        pytest.param(
            {"report": report(as_known_at="2026-11-03T09:00:00+02:00")},
            "occurred_in_future",
            id="as known tomorrow",
        ),
        pytest.param({"report": report(ledger_root="A")}, "bad_field", id="no root"),
        pytest.param(
            {"report": report(report_digest="f")}, "bad_field", id="no digest"
        ),
        pytest.param({"report": report(ledger_size=0)}, "bad_field", id="no entries"),
        pytest.param(
            {"report": report(standing="good")}, "bad_field", id="no standing"
        ),
    ],
)
def test_a_period_is_closed_or_refused(changed, code):
    assert refused(site(), PeriodClosed, {**CLOSED, **changed}, CLOSED_AT) == code


@pytest.mark.parametrize(
    ("n", "row", "code"),
    [
        pytest.param(
            1, balance("smelt", "gold", "0", "480", "470", "12.5", "-2.4", "3"),
            "figures_do_not_add", id="a row that does not add up",
        ),
        pytest.param(
            1, balance("smelt", "gold", "0", "480", "470", "12.6", "-2.6", "3"),
            "figures_do_not_add", id="steps that are not the whole",
        ),
        pytest.param(
            1, balance("smelt", "gold", "0", "480"), "bad_field", id="half a row",
        ),
        pytest.param(
            1, balance("kitchen", "gold"), "bad_field", id="a step that is none",
        ),
        pytest.param(
            2, balance("table+vault", "gold"), "bad_field", id="a step twice",
        ),
        pytest.param(
            3, balance("vault", "silver"), "bad_field", id="no sum of all steps",
        ),
    ],
)  # fmt: skip
def test_figures_that_do_not_add_up_are_refused(n, row, code):
    said = deepcopy(CLOSED)
    said["report"]["balances"][n] = row
    assert refused(site(), PeriodClosed, said, CLOSED_AT) == code


def test_the_next_period_follows_the_last_without_gap_or_overlap():
    state = closed()
    at = "2026-12-02T10:00:00+02:00"
    november = {**NOVEMBER, "report": report()}
    again = {**CLOSED, "period": "october"}
    gap = {
        **november,
        "first_day": "2026-11-02",
        "from_at": "2026-11-02T06:00:00+02:00",
    }
    assert refused(state, PeriodClosed, CLOSED, at) == "already_registered"
    assert refused(state, PeriodClosed, again, at) == "period_not_next"
    assert refused(state, PeriodClosed, gap, at) == "period_not_next"
    assert refused(state, PeriodClosed, november, at) is None
    kept = state.get(ClosedPeriod, "2026-11")
    assert kept is not None
    assert kept.before == "2026-10"


def test_a_period_closed_in_error_can_be_taken_back_while_nothing_built_on_it():
    state = closed()
    void = {"entry": "entry-close", "mode": "void", "kind": "period.closed",
            "reason": "two shipments were still open"}  # fmt: skip
    say(state, RecordCorrected, void, at="2026-11-03T10:00:00+02:00",
        corrects="entry-close")  # fmt: skip
    assert state.get(ClosedPeriod, "2026-10") is None
    assert refused(state, PeriodClosed, CLOSED, "2026-11-04T10:00:00+02:00") is None


# --- late facts --------------------------------------------------------------


def late_slag(state: State, at: str) -> list[str]:
    """Return what is found as slag is weighed again at a time, taken down later."""
    said = story.values("slag", vessel=None, tare=reading("18.5", "kg", "PS1"))
    kind = story.STAGES["slag"][0]
    say(state, kind, said, at=at, late_h=1)
    return codes(state)


@pytest.mark.source("common practice, no source")
def test_metal_of_a_closed_period_entered_after_its_close_is_noticed():
    state = closed()
    assert late_slag(state, "2026-10-31T23:00:00+02:00") == ["entered_after_close"]
    found = noticed(state)[0]
    assert "2026-10-31T21:00:00Z" in found.found
    assert found.expected.startswith("before 2026-10 was closed")


def test_metal_of_the_open_period_is_not():
    assert late_slag(closed(), "2026-11-01T06:00:00+02:00") == []


def test_nothing_is_late_while_no_period_is_closed():
    assert late_slag(story.upto("melted"), "2026-10-31T23:00:00+02:00") == []


def test_a_mill_day_of_a_closed_period_is_late_whenever_it_is_reported():
    state = closed()
    day = {"day": "2026-10-31", "feed_t": "1200", "gold_gpt": "2", "silver_gpt": "1"}
    at = "2026-11-03T10:00:00+02:00"
    say(state, MillDayReported, {**day, "day": "2026-11-01"}, at=at)
    assert codes(state) == []
    say(state, MillDayReported, day, at=at)
    assert codes(state) == ["entered_after_close"]


def test_figures_of_a_closed_period_put_right_are_late_too():
    state = closed()
    said = story.values("slag", gold_g="12")
    say(
        state, RecordCorrected,
        {"entry": story.entry_of("slag"), "mode": "figures", "kind": "slag.weighed",
         "values": said, "reason": "assayed at last"},
        at="2026-11-05T10:00:00+02:00", corrects=story.entry_of("slag"),
        people=(("p-jonas", "officer"), ("p-sefu", "security")),
    )  # fmt: skip
    assert codes(state) == ["entered_after_close"]


# --- restated and trued up ---------------------------------------------------


def restated() -> dict[str, Any]:
    """Return the month with 2.5 g less in the smelt's closing."""
    rows = deepcopy(report()["balances"])
    rows[1] = balance("smelt", "gold", "0", "480", "470", "10", "0", "3")
    rows[3] = balance("all", "gold", "10", "500", "470", "30", "10", "7")
    return report(balances=rows, standing="final",
                  as_known_at="2026-11-20T09:00:00+02:00")  # fmt: skip


def test_a_restatement_stands_beside_what_was_reported():
    state = closed()
    said = say(
        state, PeriodRestated,
        {"period": "2026-10", "reason": "slag assayed", "report": restated()},
        at="2026-11-20T10:00:00+02:00", people=CLOSERS,
    )  # fmt: skip
    kept = state.get(ClosedPeriod, "2026-10")
    anew = state.get(Restatement, "2026-10/001")
    assert kept is not None
    assert anew is not None
    assert kept.restated == 1
    assert kept.reported.balances[1].unaccounted_g == Decimal("-2.5")
    assert anew.reported.balances[1].unaccounted_g == Decimal(0)
    assert said.sentence() == (
        "Period 2026-10 was restated, with final figures: unaccounted 10 g of gold"
        " (± 7) and 0 g of silver (± 2). Reason: slag assayed."
    )


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        pytest.param({}, None, id="new figures"),
        pytest.param({"report": report()}, "not_in_this_state", id="the same figures"),
        pytest.param({"period": "2026-09"}, "unknown_period", id="never closed"),
        pytest.param(
            {"report": {**restated(), "report_digest": "?"}},
            "bad_field",
            id="no digest",
        ),
    ],
)
def test_a_restatement_is_refused(changed, code):
    said = {"period": "2026-10", "reason": "slag assayed", "report": restated()}
    at = "2026-11-20T10:00:00+02:00"
    assert refused(closed(), PeriodRestated, {**said, **changed}, at) == code


def test_the_same_restatement_twice_is_refused():
    state = closed()
    said = {"period": "2026-10", "reason": "slag assayed", "report": restated()}
    at = "2026-11-20T10:00:00+02:00"
    assert refused(state, PeriodRestated, said, at) is None
    assert refused(state, PeriodRestated, said, at) == "not_in_this_state"


TRUE_UP: dict[str, Any] = {
    "period": "2026-10",
    "entries": [story.entry_of("melted")],
    "lines": [
        {"step": "smelt", "metal": "gold", "amount_g": "2.5", "cause": "measurement",
         "reason": "slag held less than thought"},
    ],
}  # fmt: skip


def test_a_true_up_is_posted_where_it_became_known_and_refers_back():
    state = closed()
    said = say(
        state, PeriodTruedUp, TRUE_UP, at="2026-11-20T10:00:00+02:00", people=CLOSERS,
        entry="entry-true-up",
    )  # fmt: skip
    posted = state.get(TrueUp, "2026-10/001/001")
    assert posted is not None
    assert (posted.amount_g, posted.cause) == (Decimal("2.5"), "measurement")
    assert posted.at == "2026-11-20T08:00:00Z"
    assert said.sentence() == (
        "Trued up for 2026-10, by entry-of-melted: +2.5 g of gold unaccounted at smelt,"
        " measurement (a figure became better known): slag held less than thought."
    )
    void = {"entry": "entry-true-up", "mode": "void", "kind": "period.trued_up",
            "reason": "posted twice"}  # fmt: skip
    say(state, RecordCorrected, void, at="2026-11-21T10:00:00+02:00",
        corrects="entry-true-up")  # fmt: skip
    assert state.get(TrueUp, "2026-10/001/001") is None
    assert state.get(Said, "entry-true-up") is not None


@pytest.mark.source("common practice, no source")
def test_metal_found_and_a_book_error_are_two_causes():
    assert {"physical_adjustment", "book_adjustment"} <= set(CAUSES)
    assert {"timing", "measurement", "known_loss", "unexplained"} <= set(CAUSES)


@pytest.mark.parametrize("cause", CAUSES)
def test_every_cause_can_be_posted_and_reads_aloud(cause):
    state = closed()
    row = {**TRUE_UP["lines"][0], "cause": cause}
    said = say(state, PeriodTruedUp, {**TRUE_UP, "lines": [row]},
               at="2026-11-20T10:00:00+02:00", people=CLOSERS)  # fmt: skip
    assert f"{cause.replace('_', ' ')} ({CAUSES[cause]})" in said.sentence()


@pytest.mark.parametrize(
    ("changed", "line", "at", "code"),
    [
        pytest.param({}, {}, "2026-11-20T10:00:00+02:00", None, id="in November"),
        pytest.param(
            {}, {}, "2026-10-31T10:00:00+02:00", "not_in_this_state",
            id="into the closed period itself",
        ),
        pytest.param(
            {"period": "2026-09"}, {}, CLOSED_AT, "unknown_period", id="never closed"
        ),
        pytest.param(
            {"entries": ["entry-none"]}, {}, CLOSED_AT, "unknown_entry", id="no entry"
        ),
        pytest.param({"entries": []}, {}, CLOSED_AT, "bad_field", id="no cause at all"),
        pytest.param({}, {"amount_g": "0.000"}, CLOSED_AT, "bad_field", id="nothing"),
        pytest.param({}, {"step": "kitchen"}, CLOSED_AT, "bad_field", id="no step"),
        pytest.param({}, {"cause": "theft"}, CLOSED_AT, "bad_field", id="no cause"),
    ],
)  # fmt: skip
def test_a_true_up_is_refused(changed, line, at, code):
    said = {**TRUE_UP, "lines": [{**TRUE_UP["lines"][0], **line}], **changed}
    assert refused(closed(), PeriodTruedUp, said, at) == code
