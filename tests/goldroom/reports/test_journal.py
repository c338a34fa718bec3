"""The journal: filters, pages by entry number, words."""

import pytest
from django.db import connection

from goldroom import commands
from goldroom.errors import OutOfRange
from goldroom.reports.journal import Wanted, journal, lines_of
from ledger import read
from tests.goldroom import small_mine


def every_line(ledger_id, wanted, most):
    lines, before = [], None
    while True:
        page = journal(ledger_id, wanted, before=before, most=most)
        lines += page.lines
        before = page.before
        if before is None:
            return lines


@pytest.mark.parametrize("most", [1, 7, 500])
def test_pages_hold_every_entry_once_the_newest_first(told, most):
    lines = every_line(told, Wanted(), most)
    size = read.head(told).size
    assert [line.seq for line in lines] == list(reversed(range(size)))


def test_page_stays_where_it_was_while_entries_are_appended(fresh_db):
    ledger_id = small_mine.tell(upto="sheet/1")
    first = journal(ledger_id, most=5)
    expected = journal(ledger_id, before=first.before, most=5)
    load = small_mine.weighed("LD-1", "10-01 13:53", "1972")
    commands.say(ledger_id, load, small_mine.KEYS)
    assert journal(ledger_id, before=first.before, most=5) == expected


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        (Wanted(kind="bar.numbered"), ["BAR-2", "BAR-1"]),
        (Wanted(kind="bar."), ["BAR-2", "BAR-1"]),
        (
            Wanted(person="g-plant", kind="cycles."),
            ["cycles/3", "cycles/2", "cycles/1"],
        ),
        (
            Wanted(thing="LOT-1"),
            ["solids", "table", "emptied"],
        ),
        (
            Wanted(record="vessel", thing="B1", kind="dispatch."),
            ["received", "handed over"],
        ),
        (
            Wanted(record="seal", thing="S-0008"),
            ["taken", "placed"],
        ),
        (
            Wanted(from_at="2026-10-05T07:00:00Z", to_at="2026-10-05T11:10:00Z"),
            ["BAR-1", "pour"],
        ),
        (Wanted(kind="bar.numbered", person="p-noor"), []),
    ],
)
def test_filters_leave_only_what_was_asked_for(told, wanted, names):
    lines = [
        line
        for line in journal(told, wanted, most=500).lines
        if line.kind != "vessel.registered" and line.kind != "seals.issued"
    ]
    assert [line.entry_id for line in lines] == [
        small_mine.entry_id(name) for name in names
    ]


def test_line_reads_the_entry_aloud(told):
    line = lines_of(told, [small_mine.entry_id("BAR-2")])[small_mine.entry_id("BAR-2")]
    assert line.title == "Bar numbered"
    assert line.people == ("p-amara", "p-leith")
    assert "KR-0102" in line.sentence
    assert line.occurred_at == "2026-10-05T11:10:00Z"


@pytest.mark.parametrize("most", [0, -1, 501])
def test_page_of_no_or_too_many_lines_is_refused(told, most):
    with pytest.raises(OutOfRange, match="1 to 500"):
        journal(told, most=most)


def test_percent_sign_in_a_kind_is_no_wildcard(told):
    assert journal(told, Wanted(kind="%.")).lines == ()


def test_a_page_takes_one_query(told, django_assert_num_queries):
    with django_assert_num_queries(1, connection=connection):
        journal(told, Wanted(thing="BAR-1", person="p-sefu"))
