"""Samples that a laboratory never spoke of again. The limit is common practice."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from goldroom.custody.sampled import Sample
from goldroom.findings.samples import samples_open
from tests.goldroom.findings.things import threshold
from tests.goldroom.sampled import drilled, told
from tests.goldroom.story import item

MONTH = threshold("sample_open_d", "30", "d")
DUE = "2026-11-05T13:00:00+00:00"
"""Thirty days after the split of the drillings."""


def held(name: str, **changed):
    """Return a portion of the drillings, taken 2026-10-06T13:00:00Z."""
    return replace(item(told(drilled(), "split"), name), **changed)


def known(sample: str, status: str) -> dict[str, Sample]:
    return {
        sample: Sample(
            sample=sample, status=status, taken_by="", portion="mine", at="2026-10-06"
        )
    }


def found(items, records, now: str = "2026-11-06T00:00:00+00:00"):
    moment = datetime.fromisoformat(now).astimezone(UTC)
    return samples_open(items, records, within=MONTH, now=moment)


@pytest.mark.parametrize(
    ("now", "is_found"),
    [(DUE, False), ("2026-11-05T13:00:01+00:00", True)],
)
def test_a_sample_is_found_once_thirty_days_have_passed(now, is_found):
    assert bool(found([held("P-1")], known("P-1", "open"), now)) is is_found


@pytest.mark.parametrize(
    ("status", "is_found"),
    [("open", True), ("back", False), ("kept", False), ("given_back", False)],
)
def test_only_open_samples_are_found(status, is_found):
    assert bool(found([held("P-1")], known("P-1", status))) is is_found


def test_a_dip_sample_never_spoken_of_is_found_and_a_bar_is_not():
    assert found([held("P-1")], {})
    assert not found([held("P-1", sort="bar")], {})


def test_samples_of_one_day_are_one_finding():
    items = [held(name) for name in ("P-1", "P-2")]
    other = held("P-3", held_from="2026-10-01T04:00:00Z")
    told_of = found([*items, other], {})
    assert [each.code for each in told_of] == ["sample_open_long"] * 2
    assert [each.item for each in told_of] == ["P-3", "P-1"]
    assert "P-1 to 2 (2 samples) taken 2026-10-06" in told_of[1].found
    assert told_of[1].at == "2026-11-05T13:00:00Z"
