"""Rules about people and seals not followed up. Common practice, no source."""

from datetime import UTC, datetime

import pytest

from goldroom.custody.records import Noticed
from goldroom.findings.people import (
    CountSigned,
    Signing,
    corrected_often,
    counted_by_operators,
)
from goldroom.findings.seals import seal_findings_open
from tests.goldroom.findings.things import threshold

TEN_PERCENT = threshold("corrections_percent", "10", "%")
A_WEEK = threshold("seal_finding_open_d", "7", "d")


def signings(person: str, count: int, corrected: int) -> list[Signing]:
    """Return a person's statements, the first of them put right."""
    return [
        Signing(
            person=person,
            at="2026-10-01T09:00:00Z",
            corrected_at=f"2026-10-{n + 2:02d}T09:00:00Z" if n < corrected else "",
        )
        for n in range(count)
    ]


@pytest.mark.parametrize(
    ("count", "corrected", "is_found"),
    [
        pytest.param(30, 3, False, id="at the limit"),
        pytest.param(29, 3, True, id="over it"),
        pytest.param(19, 5, False, id="too few statements"),
        pytest.param(20, 3, True, id="just enough of both"),
        pytest.param(20, 2, False, id="too few corrections to say"),
    ],
)
def test_person_corrected_often_is_named_with_the_share(count, corrected, is_found):
    theirs = signings("p-amara", count, corrected)
    found = corrected_often([*theirs, *signings("p-leith", 40, 0)], at_most=TEN_PERCENT)
    assert [each.item for each in found] == (["p-amara"] if is_found else [])
    for each in found:
        assert f"{corrected} of {count} statements" in each.found
        assert "help them at the bench" in each.message


def test_count_signed_by_an_officer_is_found_and_one_by_others_is_not():
    counts = [
        CountSigned(
            entry=entry,
            at="2026-10-11T07:00:00Z",
            roles_of={"p-amara": roles, "p-loris": ("accountant",)},
        )
        for entry, roles in (("e-1", ("officer",)), ("e-2", ("security",)))
    ]
    (found,) = counted_by_operators(counts, since="2026-10-01T00:00:00Z")
    assert (found.code, found.item) == ("counted_by_operator", "e-1")
    assert found.found == "counted by p-amara, who works at the bench"
    assert counted_by_operators(counts, since="2026-11-01T00:00:00Z") == []


def noticed(entry: str, code: str, day: int) -> Noticed:
    """Return something odd about the seal of a hopper's drain."""
    return Noticed(
        entry=entry, n=1, code=code, level="exception", item="H1", found="",
        expected="", message="", at=f"2026-10-{day:02d}T08:00:00Z",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("day", "reviewed", "is_found"),
    [
        pytest.param(1, [], True, id="a week and a second ago"),
        pytest.param(2, [], False, id="six days ago"),
        pytest.param(1, ["e-1/01"], False, id="looked into"),
    ],
)
def test_odd_seal_must_be_looked_into_in_time(day, reviewed, is_found):
    now = datetime(2026, 10, 8, 8, 0, 1, tzinfo=UTC)
    found = seal_findings_open(
        [noticed("e-1", "seal_tampered", day), noticed("e-2", "flush_short", 1)],
        reviewed,
        within=A_WEEK,
        now=now,
    )
    assert bool(found) is is_found
    for each in found:
        assert each.item == "H1"
        assert each.expected == "reviewed within 7 d (limit seal_finding_open_d)"
