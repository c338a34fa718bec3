"""A form's boxes turned into values: nothing lost, nothing guessed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from goldroom.statements.fields import parse, refusals, specs
from goldroom.statements.registry import kinds
from goldroom.web.values import (
    NoSuchTime,
    Typed,
    boxes_of,
    figure_text,
    moment_text,
    turned,
    without_row,
)
from ledger import read

ZONE = "Europe/Berlin"


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("12.5", "12.5"),
        ("12,5", "12.5"),
        ("1 234,50", "1234.50"),
        ("1\u202f234.5", "1234.5"),
        ("1,234.5", "1,234.5"),  # two marks: not guessed, refused by the reader
        ("1,2,3", "1,2,3"),
    ],
)
def test_a_decimal_comma_is_a_point_and_nothing_else_is_guessed(typed, written):
    assert figure_text(typed) == written


@pytest.mark.source("IANA time zone database: Europe/Berlin, 2026-10-25 and 2026-03-29")
@pytest.mark.parametrize("wall", ["2026-10-25T02:30", "2026-03-29T02:30"])
def test_a_clock_time_that_came_twice_or_never_is_asked_about(wall):
    with pytest.raises(NoSuchTime) as refused:
        moment_text(wall, ZONE, "occurred_at")
    assert "Write it with its offset" in refused.value.message


def test_a_wall_clock_time_gets_the_sites_offset():
    assert moment_text("2026-07-01T06:00", ZONE, "x") == "2026-07-01T06:00:00+02:00"
    assert moment_text("2026-12-01T06:00:30", ZONE, "x") == "2026-12-01T06:00:30+01:00"
    assert moment_text("yesterday", ZONE, "x") == "yesterday"


def test_every_entry_said_comes_back_from_its_own_boxes(told_once):
    """What stands in the record, shown in a form and sent again, is the same."""
    for entry in read.entries(told_once.ledger_id, 1):
        cls = kinds()[entry.kind]
        if any(spec.sort == "opaque" for spec in specs(cls).values()):
            continue
        boxes = boxes_of(entry.data)
        units = {
            text: boxes[path.replace(".instrument", ".unit")]
            for path, text in boxes.items()
            if path.endswith(".instrument")
            and path.replace(".instrument", ".unit") in boxes
        }
        typed = Typed(boxes=boxes, zone=ZONE, units=units)
        found = turned(cls, typed)
        assert found.refusals == ()
        assert parse(cls, found.data) == parse(cls, entry.data), entry.kind


def test_a_row_left_out_moves_the_others_up():
    boxes = {"a": "x", "p[0].q": "0", "p[1].q": "1", "p[2].q": "2", "pp[1].q": "z"}
    assert without_row(boxes, "p", 1) == {
        "a": "x", "p[0].q": "0", "p[1].q": "2", "pp[1].q": "z",
    }  # fmt: skip


def test_all_that_is_wrong_is_told_at_once():
    cls = kinds()["hopper.weighed"]
    found = {each.field for each in refusals(cls, {"settled_kg_m3": "heavy"})}
    assert found == {"load", "hopper", "mark", "settled_kg_m3"}


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(kinds())),
    st.dictionaries(st.text(max_size=30), st.text(max_size=30), max_size=8),
    st.data(),
)
def test_any_text_in_any_box_is_read_or_refused(kind, junk, data):
    cls = kinds()[kind]
    names = sorted(specs(cls))
    own = data.draw(
        st.dictionaries(
            st.sampled_from(
                [*names, *(f"{n}[0].item" for n in names), *(f"{n}.x" for n in names)]
            ),
            st.text(max_size=40),
            max_size=6,
        )
    )
    found = turned(cls, Typed(boxes={**junk, **own}, zone=ZONE, units={}))
    list(refusals(cls, found.data))
