"""The diary of the invented mine, before anything of it is said."""

import json
from datetime import date, timedelta

import pytest

from goldroom.demo import mine, month, story
from goldroom.demo.diary import COUNTERSIGN, PROPOSE, SAY, WITHDRAW
from goldroom.sayings import read_line
from goldroom.statements.fold import read_values


@pytest.fixture(scope="module")
def room():
    return month.write(1, 1)


@pytest.fixture(scope="module")
def lines(room):
    return list(room.diary.lines())


def test_same_seed_writes_the_same_bytes(lines):
    assert list(month.write(1, 1).diary.lines()) == lines


def test_another_seed_writes_other_figures(lines):
    assert list(month.write(2, 1).diary.lines()) != lines


def test_every_line_is_a_saying_whose_values_its_kind_reads(lines):
    for line in lines:
        saying = read_line(line)
        if saying.kind not in ("ledger.opened", "person.enrolled"):
            read_values(saying.kind, dict(saying.data))


def test_a_month_has_as_many_entries_as_a_room_has_work(lines):
    assert 600 <= len(lines) <= 1200
    flushes = [
        row
        for line in lines
        if (saying := read_line(line)).kind == "cycles.recorded"
        for row in saying.data["cycles"]
    ]
    after_the_month = 8 * 2
    assert len(flushes) == 31 * 24 * 2 + after_the_month


def test_pages_are_in_the_order_of_receipt_and_never_before_the_event(room):
    pages = room.diary.pages()
    assert [page.at for page in pages] == sorted(page.at for page in pages)
    for page in pages:
        assert page.saying.occurred_at <= page.at.isoformat()


def test_page_that_asks_the_ledger_has_no_line_before_it_is_said(room, lines):
    asking = [page for page in room.diary.pages() if page.ask is not None]
    assert [page.saying.kind for page in asking] == ["period.closed", "export.made"]
    said = {read_line(line).entry_id for line in lines}
    assert not said & {page.saying.entry_id for page in asking}


def test_only_the_month_shown_has_a_desk_and_a_closing():
    pages = month.write(1, 2).diary.pages()
    entered = [page.at for page in pages if page.saying.kind == "room.entered"]
    assert min(entered).date() >= month.SHOWN_MONTH
    assert [p.saying.kind for p in pages].count("period.closed") == 1


def test_papers_are_those_that_sayings_cite(room):
    cited = {
        each["name"] for page in room.diary.pages() for each in page.saying.attachments
    }
    assert cited == set(room.diary.papers)
    assert b"Signed in ink" in room.diary.papers["F-0003-scan.txt"]


def test_names_are_marked_as_invented(lines):
    opening = json.loads(lines[0])["data"]
    assert "invented" in opening["site"]
    assert "invented" in opening["origin_name"]
    assert all("invented" in person["name"] for person in opening["persons"])
    text = "\n".join(lines)
    for name in (mine.CARRIER, mine.CARRIER_PERSON):
        assert "invented" in name
        assert name in text


def test_story_has_its_ordinary_trouble(room):
    pages = room.diary.pages()
    acts = {page.act for page in pages}
    assert acts == {SAY, PROPOSE, COUNTERSIGN, WITHDRAW}
    kinds = [page.saying.kind for page in pages]
    for kind in (
        "instrument.check_weighed",
        "emergency.declared",
        "emergency.ratified",
        "record.corrected",
        "slag.released",
        "dispatch.received",
        "dispatch.melted",
        "bowl.opened",
        "person.enrolled",
    ):
        assert kind in kinds, kind
    assert kinds.count("dispatch.handed_over") == 2
    assert kinds.count("dispatch.received") == 1
    standings = {
        page.saying.data["standing"]
        for page in pages
        if page.saying.kind == "assay.reported"
    }
    assert standings == {"provisional", "final"}
    modes = {
        page.saying.data["mode"]
        for page in pages
        if page.saying.kind == "record.corrected"
    }
    assert modes == {"figures", "void"}
    assert {each.what for each in story.ODD_FLUSHES.values()} == {"short", "missing"}


def test_correction_of_figures_changes_one_figure(room):
    correction = next(
        page.saying
        for page in room.diary.pages()
        if page.saying.kind == "record.corrected"
        and page.saying.data["mode"] == "figures"
    )
    wrong = next(
        page.saying
        for page in room.diary.pages()
        if page.saying.entry_id == correction.corrects
    )
    right = correction.data["values"]
    assert right["products"][:-1] == wrong.data["products"][:-1]
    assert right["products"][-1]["gross"] != wrong.data["products"][-1]["gross"]


@pytest.mark.parametrize(
    ("months", "expected"),
    [(1, date(2026, 10, 1)), (2, date(2026, 9, 1)), (12, date(2025, 11, 1))],
)
def test_longer_demonstration_begins_earlier(months, expected):
    assert month.first_day(months) == expected


def test_shown_month_is_whole():
    first, last = month.shown_days()
    assert (first, last + timedelta(days=1)) == (date(2026, 10, 1), date(2026, 11, 1))
