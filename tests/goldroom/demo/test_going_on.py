"""After the month there is work: flushes on no sheet, and one signature outstanding."""

from datetime import datetime

import pytest

from goldroom.demo import going_on, month
from goldroom.demo.diary import PROPOSE
from goldroom.demo.mine import FLUSHING, OFFICERS, WITNESSES
from goldroom.demo.shifts import SHIFT_H
from goldroom.demo.story import SHORT


@pytest.fixture(scope="module")
def room():
    return month.write(seed=1, months=1)


def test_a_shifts_flushes_are_counted_after_the_last_sheet_one_of_them_short(room):
    last = [page for page in room.diary.pages() if page.saying.kind != "seal.inspected"]
    counts = [page for page in last if page.saying.kind == "cycles.recorded"]
    sheets = [page for page in last if page.saying.kind == "cleanup.recorded"]
    assert counts[-1].at > sheets[-1].at
    rows = counts[-1].saying.data["cycles"]
    assert len(rows) == len(FLUSHING) * SHIFT_H
    assert [row["status"] for row in rows].count(SHORT) == 1
    _, last_day = month.shown_days()
    begins = [datetime.fromisoformat(row["ended_at"]) for row in rows]
    assert min(begins).date() > last_day
    assert all((begun.hour, begun.minute) >= (6, 0) for begun in begins)


def test_a_look_at_the_seals_waits_for_the_witness_and_is_in_no_file(room):
    last = room.diary.pages()[-1]
    assert (last.act, last.saying.kind) == (PROPOSE, "seal.inspected")
    signers = [each.person for each in last.saying.signers]
    assert signers == [OFFICERS[0], WITNESSES[0]]
    assert not any(last.saying.entry_id in line for line in room.diary.lines())


def test_the_clock_goes_on_after_the_last_word_said(room):
    assert going_on.clock_begins(room) > room.diary.pages()[-1].at
