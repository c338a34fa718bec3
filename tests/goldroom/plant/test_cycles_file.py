"""Reading a plant historian's table of cycles, cell by cell."""

from zoneinfo import ZoneInfo

import pytest

from goldroom.plant.cycles_file import AT_ONCE, Columns, Reader, grouped, read_cycles

HEAD = "unit,flush,start,end,feed_t,status,reason"
GOOD = "U1,7,2026-10-01 06:00:00,2026-10-01 06:58:00,61.4,complete,"
BERLIN = ZoneInfo("Europe/Berlin")
UTC = ZoneInfo("UTC")


def read(*rows, head=HEAD, **reader):
    return read_cycles([head, *rows], Reader(**{"zone": UTC, **reader}))


def test_good_row_is_read_to_a_statements_values():
    cycles, wrong = read(GOOD, zone=BERLIN)
    assert wrong == []
    assert cycles[0].flush_id == "U1-1-7"
    assert dict(cycles[0].values) == {
        "unit": "U1",
        "counter_epoch": 1,
        "flush": 7,
        "started_at": "2026-10-01T06:00:00+02:00",
        "ended_at": "2026-10-01T06:58:00+02:00",
        "feed_t": "61.4",
        "status": "complete",
    }


def test_cycles_come_in_the_order_they_ended():
    later = "U1,8,2026-10-01 07:00:00,2026-10-01 07:58:00,,,"
    cycles, _ = read(later, GOOD)
    assert [each.values["flush"] for each in cycles] == [7, 8]


def test_columns_words_epochs_and_time_format_are_the_plants_own():
    cycles, wrong = read(
        "C-1;7;01.10.2026 06:00;01.10.2026 06:21;ABBR;Druck",
        head="Anlage;Nr;Beginn;Ende;Status;Grund",
        columns=Columns(
            unit="Anlage",
            flush="Nr",
            start="Beginn",
            end="Ende",
            feed_t="",
            status="Status",
            reason="Grund",
        ),
        statuses={"ABBR": "aborted"},
        epochs={"C-1": 3},
        time_format="%d.%m.%Y %H:%M",
        delimiter=";",
    )
    assert wrong == []
    assert cycles[0].flush_id == "C-1-3-7"
    assert cycles[0].values["status"] == "aborted"
    assert cycles[0].values["reason"] == "Druck"


@pytest.mark.parametrize(
    ("row", "column", "found"),
    [
        (GOOD.replace("U1", ""), "unit", "found nothing"),
        (GOOD.replace(",7,", ",7a,"), "flush", "found '7a'"),
        (GOOD.replace(",7,", ",0,"), "flush", "whole number from 1"),
        (GOOD.replace("2026-10-01 06:00:00", "1/10/26"), "start", "found '1/10/26'"),
        (GOOD.replace("06:58", "05:58"), "end", "after the start"),
        (GOOD.replace("61.4", '"61,4"'), "feed_t", "61,4"),
        (GOOD.replace("61.4", "-1"), "feed_t", "-1"),
        (GOOD.replace("61.4", '"61,4"'), "feed_t", "Export it with a point"),
        (GOOD.replace("complete", "OK"), "status", "found the status 'OK'"),
        (f"{GOOD},61,4", "", "found '61, 4' beyond the last heading"),
    ],
)
def test_wrong_cell_is_named_with_line_column_and_what_was_found(row, column, found):
    cycles, wrong = read(GOOD.replace(",7,", ",6,"), row)
    assert [each.values["flush"] for each in cycles] == [6]
    assert [(each.line, each.column) for each in wrong] == [(3, column)]
    assert found in wrong[0].message


def test_every_wrong_cell_of_a_row_is_told_at_once():
    _, wrong = read(",x,y,z,w,v,")
    assert [each.column for each in wrong] == [
        "unit", "flush", "start", "end", "feed_t", "status",
    ]  # fmt: skip


def test_missing_column_is_told_before_any_row():
    cycles, wrong = read(GOOD, head=HEAD.replace("flush", "Nr"))
    assert cycles == []
    assert [(each.code, each.column) for each in wrong] == [("no_such_column", "flush")]


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (HEAD.replace(",", ";"), "set apart by semicolons: say --delimiter ';'"),
        (HEAD.replace(",", "\t"), r"set apart by tabs: say --delimiter '\t'"),
        ("", "line of headings"),
    ],
)
def test_headings_that_are_not_told_apart_are_one_fault(head, told):
    cycles, wrong = read(GOOD, head=head)
    assert cycles == []
    assert len(wrong) == 1
    assert told in wrong[0].message


def test_flush_that_stands_twice_is_told_with_its_first_line():
    _, wrong = read(GOOD, GOOD)
    assert [each.code for each in wrong] == ["flush_twice_in_file"]
    assert "line 2" in wrong[0].message


@pytest.mark.source("IANA time zone database: Europe/Berlin in 2026")
@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("2026-10-25 02:30:00", "is shown twice"),
        ("2026-03-29 02:30:00", "does not exist"),
    ],
)
def test_local_time_that_the_clocks_make_doubtful_is_refused(text, why):
    row = GOOD.replace("2026-10-01 06:00:00", text)
    _, wrong = read(row, zone=BERLIN)
    assert why in wrong[0].message


def test_time_with_its_own_offset_needs_no_guess():
    row = "U1,7,2026-10-25T02:10:00+02:00,2026-10-25T02:50:00+01:00,,,"
    cycles, wrong = read(row, zone=BERLIN)
    assert wrong == []
    assert cycles[0].values["ended_at"] == "2026-10-25T02:50:00+01:00"


def test_broken_quotes_are_told_by_line():
    _, wrong = read(GOOD, 'U1,8,"x"y,,,,')
    assert wrong[-1].code == "bad_table"


def test_portions_hold_at_most_three_hundred():
    rows = [GOOD.replace(",7,", f",{n},") for n in range(1, 702)]
    cycles, _ = read(*rows)
    assert [len(each) for each in grouped(cycles)] == [AT_ONCE, AT_ONCE, 101]
