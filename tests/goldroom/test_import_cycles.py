"""Importing a historian's table of cycles: whole or not at all, and once."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from goldroom.reports.flushes import counted_flushes
from ledger import read
from tests.goldroom.front import first_lines, keys_folder, write_lines

HEAD = "unit,flush,start,end,feed_t,status,reason\n"
ROW = "U1,{n},2026-10-01 {h:02d}:00,2026-10-01 {h:02d}:58,61.4,complete,\n"
TABLE = HEAD + "".join(ROW.format(n=4211 + k, h=6 + k) for k in range(6))


@pytest.fixture
def bring(fresh_db, tmp_path):
    """Return a function that imports a table and returns what the command said."""
    folder = keys_folder(tmp_path / "demo")
    unlock = {
        "keys": folder.keys,
        "passphrase_file": folder.keys / "passphrase.txt",
    }
    lines = write_lines(tmp_path / "first.jsonl", first_lines())
    call_command("record", lines, **unlock, stdout=StringIO())

    def run(table=TABLE, **options):
        file = tmp_path / "cycles.csv"
        octets = table if isinstance(table, bytes) else table.encode()
        file.write_bytes(octets)
        said = StringIO()
        call_command(
            "import_cycles",
            file,
            **{"zone": "Africa/Lusaka", **unlock, **options},
            stdout=said,
        )
        return said.getvalue()

    return run


def size():
    return read.head(read.ledgers()[0].pk).size


def test_table_becomes_one_statement_signed_by_the_gateway(bring):
    assert "6 cycles were recorded in 1 statement." in bring()
    entry = read.entry(read.ledgers()[0].pk, len(first_lines()))
    assert entry.kind == "cycles.recorded"
    assert [each["person"] for each in entry.statement["signers"]] == ["g-mill"]
    assert entry.statement["class"] == "machine"
    assert entry.statement["occurred_at"] == "2026-10-01T11:58:00+02:00"


def test_local_times_are_read_in_the_zone_stated(bring):
    bring()
    counted = counted_flushes(read.ledgers()[0].pk, ["U1-1-4211"])["U1-1-4211"]
    assert counted.started_at == "2026-10-01T04:00:00Z"
    assert counted.ended_at == "2026-10-01T04:58:00Z"


def test_table_given_twice_changes_nothing(bring):
    bring()
    assert "Nothing changed: all 6 cycles were counted before." in bring()
    assert size() == len(first_lines()) + 1


def test_longer_table_brings_only_what_is_new(bring):
    bring()
    said = bring(TABLE + ROW.format(n=4217, h=12))
    assert "1 cycle was recorded in 1 statement; 6 were counted before." in said


def test_flush_counted_before_with_other_values_is_refused(bring):
    bring()
    with pytest.raises(CommandError) as told:
        bring(TABLE.replace("61.4", "61.5", 1))
    assert "line 2, feed_t: found 61.5" in str(told.value)
    assert "counted before with 61.4" in str(told.value)
    assert "[flush_already_counted]" in str(told.value)
    assert size() == len(first_lines()) + 1


@pytest.mark.parametrize(
    ("table", "told"),
    [
        (TABLE.replace("4213", "4213x"), "line 4, flush: found '4213x'"),
        (TABLE.replace("U1", "U9"), "line 2, unit: .*U9"),
        (TABLE.replace("U1", "U3"), "line 2, unit: U3 is a continuous"),
        (HEAD, "holds no cycle"),
        (TABLE.replace("unit,", "Anlage,"), "expected one named unit"),
    ],
)
def test_wrong_row_is_named_and_nothing_is_taken(bring, table, told):
    with pytest.raises(CommandError, match=told):
        bring(table)
    assert size() == len(first_lines())


def test_another_counter_epoch_makes_other_flushes(bring):
    bring()
    said = bring(TABLE.replace("2026-10-01", "2026-10-02"), epoch=["U1=2"])
    assert "6 cycles were recorded" in said


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"zone": "Nowhere/Town"}, "--zone: 'Nowhere/Town' is not a time zone"),
        ({"status_map": ["OK"]}, "--status-map: found 'OK'"),
        ({"epoch": ["U1=none"]}, "--epoch: found 'none'"),
        ({"gateway": "p-dara"}, "--gateway: found p-dara, expected one of g-mill"),
        ({"delimiter": ";;"}, "--delimiter: found ';;'"),
    ],
)
def test_option_that_cannot_be_read_is_named(bring, options, told):
    with pytest.raises(CommandError, match=told):
        bring(**options)


def test_zone_must_be_stated(bring, tmp_path):
    with pytest.raises(CommandError, match="--zone"):
        call_command("import_cycles", tmp_path / "cycles.csv", "--keys", tmp_path)


def test_import_without_a_ledger_says_what_to_do(fresh_db, tmp_path):
    with pytest.raises(CommandError, match="open one first"):
        call_command("import_cycles", tmp_path / "x.csv", keys=tmp_path, zone="UTC")


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16"])
def test_table_in_another_encoding_is_read_when_it_is_said(bring, encoding):
    words = TABLE.replace("complete,\n", "short,Störung\n", 1)
    with pytest.raises(CommandError, match="--encoding, such as cp1252 or utf-16"):
        bring(words.encode(encoding))
    assert "6 cycles were recorded" in bring(words.encode(encoding), encoding=encoding)
    counted = counted_flushes(read.ledgers()[0].pk, ["U1-1-4211"])["U1-1-4211"]
    assert counted.reason == "Störung"


@pytest.mark.parametrize(
    ("option", "value", "told"),
    [
        ("encoding", "cp-none", "--encoding: 'cp-none' is not known"),
        ("time_format", "DD.MM.YYYY", "with a percent sign"),
    ],
)
def test_option_that_cannot_be_read_is_refused(bring, option, value, told):
    with pytest.raises(CommandError, match=told):
        bring(**{option: value})


def test_time_to_come_is_told_at_the_row_that_ends_last(bring):
    later = TABLE.replace("2026-10-01 09:58", "2099-10-01 09:58")
    with pytest.raises(CommandError, match=r"line 5, end: .*has not come yet"):
        bring(later)
