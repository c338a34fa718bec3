"""Recording a file of statements: whole or not at all, and once."""

import hashlib
import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from goldroom.demo.folder import PASSPHRASE
from goldroom.management.database import working_on
from goldroom.sayings import line_entry_id
from ledger import attachments, read
from ledger.core.trust import parse_trust
from tests.goldroom.front import first_lines, keys_folder, write_lines

ORIGIN_NAME = "goldroom.example/ossel-fell-invented"


@pytest.fixture
def folder(tmp_path):
    return keys_folder(tmp_path / "demo")


@pytest.fixture
def record(fresh_db, folder, tmp_path):
    """Return a function that records lines and returns what the command said."""

    def run(lines, **options):
        said = StringIO()
        call_command(
            "record",
            write_lines(tmp_path / "said.jsonl", lines),
            keys=folder.keys,
            **{"passphrase_file": folder.keys / "passphrase.txt", **options},
            stdout=said,
        )
        return said.getvalue()

    return run


def size():
    found = read.ledgers()
    return read.head(found[0].pk).size if found else 0


def test_file_that_opens_a_ledger_is_recorded_whole(record):
    lines = first_lines()
    said = record(lines)
    assert f"{len(lines)} of {len(lines)} statements were recorded" in said
    assert size() == len(lines)
    entries = list(read.entries(read.ledgers()[0].pk))
    assert [each.kind for each in entries] == [line["kind"] for line in lines]


def test_file_given_twice_changes_nothing_and_says_so(record):
    lines = first_lines()
    record(lines)
    assert "Nothing changed" in record(lines)
    assert size() == len(lines)


def test_file_cut_short_is_finished_by_the_whole_file(record):
    lines = first_lines()
    record(lines[:20])
    assert "20 were there already" in record(lines)
    assert size() == len(lines)


def test_lines_without_ids_get_ids_of_their_own_characters(record, tmp_path):
    lines = first_lines(8)
    for line in lines:
        del line["entry_id"]
    record(lines)
    text = (tmp_path / "said.jsonl").read_text(encoding="utf-8").splitlines()
    entries = list(read.entries(read.ledgers()[0].pk))
    expected = [line_entry_id(ORIGIN_NAME, line) for line in text]
    assert [each.entry_id for each in entries] == expected
    assert "Nothing changed" in record(lines)


def test_later_file_takes_its_ids_from_the_ledgers_own_name(record, tmp_path):
    lines = first_lines(9)
    record(lines[:8])
    del lines[8]["entry_id"]
    record(lines[8:])
    text = (tmp_path / "said.jsonl").read_text(encoding="utf-8").rstrip("\n")
    ledger = read.ledgers()[0]
    assert read.entry(ledger.pk, 8).entry_id == line_entry_id(ledger.origin, text)


def spoilt(lines, n, **changes):
    lines[n] = {**lines[n], **changes}
    return lines


@pytest.mark.parametrize(
    ("n", "changes", "field", "code"),
    [
        (3, {"kind": "place.opened"}, "kind", "unknown_kind"),
        (3, {"occurred_at": "yesterday"}, "occurred_at", "bad_time"),
        (3, {"data": {}}, "place", "bad_field"),
        (3, {"signers": []}, "signers", "role_may_not_sign"),
        (3, {"no_such": 1}, "no_such", "bad_line"),
        (3, {"occurred_at": "2027-01-01T06:00:00+02:00"}, "occurred_at",
         "occurred_in_future"),
    ],
)  # fmt: skip
def test_wrong_line_is_named_and_nothing_is_taken(record, n, changes, field, code):
    with pytest.raises(CommandError) as told:
        record(spoilt(first_lines(), n, **changes))
    assert f"line {n + 1}, {field}: " in str(told.value)
    assert f"[{code}]" in str(told.value)
    assert "nothing of the file was taken" in str(told.value)
    assert told.value.returncode == 1
    assert size() == 0


def test_every_wrong_line_is_told(record):
    lines = spoilt(spoilt(first_lines(), 3, data={}), 5, data={})
    with pytest.raises(CommandError) as told:
        record(lines)
    assert "lines 4, 6, place: " in str(told.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{not json}\n", "line 1: the line is not JSON"),
        ("[1, 2]\n", "line 1: the line is not an object"),
        ("", "holds no statement"),
        ('{"kind": 1.5}\n', "line 1, kind: found the bare number 1.5"),
    ],
)
def test_file_that_is_no_file_of_statements_is_refused(
    fresh_db, folder, tmp_path, text, told
):
    file = tmp_path / "bad.jsonl"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CommandError, match=told):
        call_command("record", file, keys=folder.keys)


def test_file_in_another_encoding_is_named_by_line(fresh_db, folder, tmp_path):
    file = tmp_path / "bad.jsonl"
    file.write_bytes(b'{"kind": "a"}\n{"kind": "\xe9"}\n')
    with pytest.raises(CommandError, match="line 2 is not UTF-8"):
        call_command("record", file, keys=folder.keys)


def test_first_line_must_open_a_ledger_where_there_is_none(record):
    with pytest.raises(CommandError, match=r"line 1, kind: .*must be ledger.opened"):
        record(first_lines()[1:2], passphrase_file=None)


def test_passphrase_file_is_for_demonstrations_only(record):
    lines = first_lines()
    lines[0]["data"]["demo"] = False
    with pytest.raises(CommandError, match="demonstration"):
        record(lines)


def test_signer_whose_key_is_not_there_is_named(record, folder):
    (folder.keys / "p-ysolt.key.json").unlink()
    with pytest.raises(CommandError, match="the key of p-ysolt is not unlocked here"):
        record(first_lines())
    assert size() == 0


def with_attachment(lines, content, **changes):
    cited = {
        "media": "text/plain",
        "name": "note.txt",
        "sha256": hashlib.sha256(content).hexdigest(),
        "size": len(content),
    }
    lines[-1]["attachments"] = [{**cited, **changes}]
    return lines


def test_cited_file_is_taken_from_the_folder_into_the_record(record, tmp_path):
    (tmp_path / "note.txt").write_bytes(b"ink")
    lines = with_attachment(first_lines(), b"ink")
    record(lines, attachments=tmp_path)
    digest = hashlib.sha256(b"ink").hexdigest()
    assert attachments.content(read.ledgers()[0].pk, digest) == b"ink"
    assert "Nothing changed" in record(lines), "its file is in the record already"


@pytest.mark.parametrize(
    "changes",
    [{"sha256": "0" * 64}, {"size": 4}, {"name": "other.txt"}, {"name": "../note.txt"}],
)
def test_cited_file_with_other_bytes_or_name_is_refused(record, tmp_path, changes):
    (tmp_path / "note.txt").write_bytes(b"ink")
    (tmp_path / "sub").mkdir()
    lines = with_attachment(first_lines(), b"ink", **changes)
    folder = tmp_path / "sub" if "../" in str(changes) else tmp_path
    with pytest.raises(CommandError) as told:
        record(lines, attachments=folder)
    assert f"line {len(lines)}, attachments[0]" in str(told.value)
    assert "[attachment_mismatch]" in str(told.value)
    assert size() == 0


def test_blank_lines_are_passed_over_and_counted(record, folder, tmp_path):
    lines = first_lines(4)
    text = [json.dumps(line) for line in lines]
    file = tmp_path / "gaps.jsonl"
    file.write_text("\n".join([*text[:2], "", *text[2:], "{}"]), encoding="utf-8")
    with pytest.raises(CommandError, match="line 6, kind"):
        call_command("record", file, keys=folder.keys)


def test_mark_that_editors_put_before_a_file_is_passed_over(record, tmp_path, folder):
    record(first_lines(2))
    file = tmp_path / "said.jsonl"
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    said = StringIO()
    call_command(
        "record",
        file,
        keys=folder.keys,
        passphrase_file=folder.keys / "passphrase.txt",
        stdout=said,
    )
    assert "Nothing changed" in said.getvalue()


def test_opening_a_ledger_prints_what_a_checker_should_trust(record):
    said = record(first_lines(2))
    ledger = read.ledgers()[0]
    genesis = read.entry(ledger.pk, 0).leaf_hash
    policy = "".join(
        f"{line}\n"
        for line in said.splitlines()
        if line.startswith(("log ", "genesis ", "quorum "))
    )
    trusted = parse_trust(policy.encode())
    assert trusted.genesis_hashes == {genesis}
    assert [key.spki for key in trusted.keys_for(ledger.origin)] == [
        read.keyring(ledger.pk).log_key
    ]
    assert "genesis" not in record(first_lines(3)), "only who opens is told"


def test_what_was_noticed_is_told_by_line(record):
    lines = first_lines()
    closed = next(n for n, each in enumerate(lines) if each["kind"] == "hopper.closed")
    vessel = lines[closed]["data"]["hopper"]
    seen = {
        "kind": "seal.inspected",
        "occurred_at": lines[-1]["occurred_at"],
        "received_at": lines[-1]["received_at"],
        "signers": lines[closed]["signers"],
        "data": {
            "vessel": vessel,
            "seals_seen": [
                {**each, "tamper_signs": "none"}
                for each in lines[closed]["data"]["seals_fitted"]
            ],
        },
    }
    seen["data"]["seals_seen"][0]["seal"] = "S-0010"
    said = record([*lines, seen])
    assert f"line {len(lines) + 1}: " in said
    assert "found S-0010, expected S-0001 [exception, seal_not_the_one_fitted]" in said


def test_lines_that_hang_on_a_wrong_one_are_counted_and_not_told(record):
    lines = first_lines()
    registered = next(
        n
        for n, each in enumerate(lines)
        if each["kind"] == "instrument.registered"
        and each["data"]["instrument"] == "PS1"
    )
    lines[registered]["data"]["unit"] = "oz"
    with pytest.raises(CommandError) as told:
        record(lines)
    assert "1 thing is wrong" in str(told.value)
    assert f"line {registered + 1}, unit: " in str(told.value)
    assert f"line {registered + 2}: not judged yet" in str(told.value)


def test_one_fault_of_many_lines_is_told_once(record, folder):
    (folder.keys / "p-ruvi.key.json").unlink()
    with pytest.raises(CommandError) as told:
        record(first_lines())
    assert str(told.value).count("the key of p-ruvi") == 1
    assert "1 thing is wrong" in str(told.value)


def test_file_cited_without_its_digest_is_told_the_digest(record, tmp_path):
    (tmp_path / "note.txt").write_bytes(b"ink")
    lines = first_lines()
    lines[-1]["attachments"] = [{"name": "note.txt", "media": "text/plain"}]
    with pytest.raises(CommandError, match=hashlib.sha256(b"ink").hexdigest()):
        record(lines, attachments=tmp_path)


@pytest.mark.parametrize("content", [None, b"\xff\xfe"])
def test_passphrase_file_that_cannot_be_read_is_refused(record, tmp_path, content):
    file = tmp_path / "words.txt"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(CommandError, match=r"--passphrase-file: .*words\.txt"):
        record(first_lines(), passphrase_file=file)


def test_passphrase_that_nobody_can_type_is_refused(record, monkeypatch):
    monkeypatch.setattr("sys.stdin", StringIO())
    with pytest.raises(CommandError, match=r"no terminal .*\[no_terminal\]"):
        record(first_lines(), passphrase_file=None)


def test_passphrase_mistyped_is_asked_for_again(record, monkeypatch, capsys):
    typed = iter(["mistyped", *[PASSPHRASE] * 50])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("getpass.getpass", lambda prompt: next(typed))
    assert "2 of 2" in record(first_lines(2), passphrase_file=None)
    assert "Type it again" in capsys.readouterr().out


def test_passphrase_mistyped_three_times_is_refused(record, monkeypatch):
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("getpass.getpass", lambda prompt: "mistyped")
    with pytest.raises(CommandError, match="wrong_passphrase"):
        record(first_lines(2), passphrase_file=None)


def test_key_file_under_another_name_is_refused(record, folder):
    (folder.keys / "p-ruvi.key.json").unlink()
    (folder.keys / "p-dara.key.json").rename(folder.keys / "p-ruvi.key.json")
    with pytest.raises(CommandError, match="key_of_another"):
        record(first_lines())


def test_database_without_tables_is_told_to_be_migrated(folder, tmp_path, db):
    with (
        working_on(tmp_path / "new.sqlite3"),
        pytest.raises(CommandError, match=r"run manage\.py migrate first"),
    ):
        call_command("record", write_lines(tmp_path / "x", []), keys=folder.keys)


def test_signer_nobody_knows_is_told_before_a_missing_key(record):
    lines = first_lines()
    lines[3]["signers"][1]["person"] = "p-nobody"
    with pytest.raises(CommandError, match=r"line 4, .*nobody is enrolled"):
        record(lines)
