"""Paper forms passed over while later numbers of the range were used."""

from datetime import UTC, datetime

import pytest

from goldroom.custody.paper import PaperForm
from goldroom.findings.paper import forms_left_out
from tests.goldroom.findings.things import threshold

SOURCE = pytest.mark.source("common practice, no source")
USED_AT = "2026-10-05T06:00:00Z"
IN_TIME = datetime(2026, 10, 12, 6, tzinfo=UTC)
OVERDUE = datetime(2026, 10, 12, 6, 0, 1, tzinfo=UTC)


def form(number: int, status: str = "issued", series: str = "F", **more) -> PaperForm:
    """Return a form of the first handing-out, used or void on 5 October."""
    plain = {
        "form": f"{series}-{number:04d}",
        "status": status,
        "series": series,
        "number": number,
        "issued_to": "p-amara",
        "place": "gold_room",
        "at": "2026-10-01T04:00:00Z",
        "issued_entry": "e-1",
        "known_at": "2026-10-01T04:00:00Z",
        "ended_at": "" if status == "issued" else USED_AT,
    }
    return PaperForm(**{**plain, **more})


def found(forms, now=OVERDUE):
    """Return what the rule finds under a week's limit."""
    return forms_left_out(
        forms, within=threshold("paper_form_gap_d", "7", "d"), now=now
    )


@SOURCE
@pytest.mark.parametrize(
    ("situation", "forms", "left_out"),
    [
        ("none used", [form(1), form(2)], ""),
        ("used in their order", [form(1, "used"), form(2, "used"), form(3)], ""),
        ("one passed over", [form(1), form(2, "used")], "F-0001 (1 form)"),
        ("a void one passed over", [form(1, "void"), form(2, "used")], ""),
        ("a void one after it", [form(1), form(2, "void")], ""),
        (
            "several passed over",
            [form(1), form(2), form(3, "used"), form(4), form(5, "used"), form(6)],
            "F-0001 to 0002, F-0004 (3 forms)",
        ),
        (
            "a later one of another handing-out",
            [form(1), form(2, "used", issued_entry="e-2")],
            "",
        ),
    ],
)
def test_number_passed_over(situation, forms, left_out):
    texts = [each.found.partition(" issued to")[0] for each in found(forms)]
    assert texts == [left_out] * bool(left_out), situation


def test_forms_may_be_written_up_out_of_order_for_a_while():
    forms = [form(1), form(2, "used")]
    assert found(forms, IN_TIME) == []
    (each,) = found(forms)
    assert (each.code, each.level, each.item, each.at) == (
        "form_left_out",
        "exception",
        "F-0001",
        "2026-10-12T06:00:00Z",
    )


def test_the_time_runs_from_the_first_use_of_a_later_number():
    later = "2026-10-09T06:00:00Z"
    forms = [form(1), form(2, "used"), form(3, "used", ended_at=later)]
    assert [each.at for each in found(forms)] == ["2026-10-12T06:00:00Z"]
    forms = [form(1, "used"), form(2), form(3, "used", ended_at=later)]
    assert found(forms) == []


def test_each_handing_out_is_one_finding():
    forms = [
        form(1),
        form(2, "used"),
        form(11, issued_entry="e-2"),
        form(12, "used", issued_entry="e-2"),
        form(1, series="G"),
        form(2, "used", series="G"),
    ]
    assert [each.item for each in found(forms)] == ["F-0001", "F-0011", "G-0001"]
