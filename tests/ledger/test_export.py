"""From the database into other hands: checkpoints, bundles, verification offline."""

import base64
import hashlib
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import load_der_public_key
from django.core.management import CommandError, call_command
from django.db import connection, transaction

import ledger
from ledger import attachments, checkpoints, fence, marks, read, sealed_keys
from ledger.core import bundle as bundle_module
from ledger.core.checkpoint import parse_signed
from ledger.core.note import VerifierKey, format_vkey, verify_note
from ledger.errors import KeyFileRefused, MarkRefused, NotCommitted
from ledger.management import options

PASSPHRASE = "seven tired mules"
ROOT_FOLDER = Path(ledger.__file__).resolve().parent.parent

# The verifier as an auditor runs it, where Django cannot be imported at all.
OFFLINE = """
import runpy, sys
sys.modules["django"] = None
sys.argv = ["verify", *sys.argv[1:]]
runpy.run_module("ledger.core.verify", run_name="__main__")
"""


def verify_offline(*arguments):
    done = subprocess.run(
        [sys.executable, "-c", OFFLINE, *map(str, arguments), "--json"],
        cwd=ROOT_FOLDER,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    return done.returncode, json.loads(done.stdout)


@pytest.fixture
def log_key(tmp_path, given, monkeypatch):
    monkeypatch.setenv("GOLDROOM_LOG_KEY_PASSPHRASE", PASSPHRASE)
    path = tmp_path / "log.key.json"
    data = sealed_keys.seal(given.key_of("log"), PASSPHRASE, person="log", n=2**4)
    sealed_keys.write(path, data)
    return path


@pytest.fixture
def filled(site):
    cited = attachments.put(site.id, b"scan", name="sheet.pdf", media="application/pdf")
    site.append(site.signed(attachments=[cited]))
    site.append(site.enrolment("tam"))
    for _ in range(5):
        site.append()
    return site


def test_a_checkpoint_is_signed_over_the_ledger_as_it_stands(filled, log_key, given):
    size, note = checkpoints.sign(filled.id, log_key, PASSPHRASE)
    checkpoint, parsed = parse_signed(note)
    key = VerifierKey(given.origin, given.key_of("log").spki)
    assert verify_note(parsed, [key]) == {key}
    assert (checkpoint.origin, checkpoint.size) == (given.origin, size)
    assert checkpoint.root == read.head(filled.id).root
    assert marks.read_mark(log_key) == marks.Mark(given.origin, size, checkpoint.root)


def test_signing_twice_gives_the_same_bytes(filled, log_key):
    first = checkpoints.sign(filled.id, log_key, PASSPHRASE)
    assert checkpoints.sign(filled.id, log_key, PASSPHRASE) == first


def test_growth_is_signed(filled, log_key):
    size, _ = checkpoints.sign(filled.id, log_key, PASSPHRASE)
    filled.append()
    assert checkpoints.sign(filled.id, log_key, PASSPHRASE)[0] == size + 1


@pytest.mark.parametrize(
    ("size_change", "root"),
    [(+1, None), (0, b"o" * 32), (-1, b"o" * 32)],
    ids=["restored from an older copy", "another history", "restored and written on"],
)
def test_what_contradicts_an_earlier_checkpoint_is_not_signed(
    filled, log_key, given, size_change, root
):
    head = read.head(filled.id)
    mark = marks.Mark(given.origin, head.size + size_change, root or head.root)
    marks.write_mark(log_key, mark)
    with pytest.raises(MarkRefused):
        checkpoints.sign(filled.id, log_key, PASSPHRASE)
    assert marks.read_mark(log_key) == mark


def test_another_ledgers_key_does_not_sign(filled, log_key, given):
    log_key.unlink()
    other = sealed_keys.seal(given.key_of("other"), PASSPHRASE, person="log", n=2**4)
    sealed_keys.write(log_key, other)
    with pytest.raises(KeyFileRefused) as refused:
        checkpoints.sign(filled.id, log_key, PASSPHRASE)
    assert refused.value.code == "wrong_log_key"
    assert marks.read_mark(log_key) is None


def test_nothing_is_signed_inside_a_transaction(filled, log_key):
    with transaction.atomic(), pytest.raises(NotCommitted):
        checkpoints.sign(filled.id, log_key, PASSPHRASE)


def test_a_bundle_holds_offline_and_is_pinned_by_a_kept_checkpoint(
    filled, log_key, given, tmp_path
):
    bundle, kept, policy = (tmp_path / name for name in ("all.zip", "kept", "policy"))
    call_command("sign_checkpoint", log_key=log_key, out=kept)
    filled.append()
    call_command("export_bundle", str(bundle), log_key=log_key)
    vkey = format_vkey(VerifierKey(given.origin, given.key_of("log").spki))
    policy.write_text(f"log {vkey}\nquorum none\n")

    code, report = verify_offline(bundle)
    assert (code, report["findings"]) == (3, [])
    assert report["size"] == read.head(filled.id).size
    assert report["root"] == read.head(filled.id).root.hex()

    code, report = verify_offline(bundle, "--policy", policy, "--anchor", kept)
    assert (code, report["findings"]) == (0, [])
    assert report["pinned_size"] == read.head(filled.id).size - 1


def test_a_bundle_of_a_ledger_that_lost_its_tail_fails_against_the_kept_checkpoint(
    filled, log_key, given, tmp_path
):
    kept, bundle = tmp_path / "kept", tmp_path / "all.zip"
    call_command("sign_checkpoint", log_key=log_key, out=kept)
    last = read.head(filled.id).size - 1
    with connection.cursor() as cursor:
        on = "" if connection.vendor == "sqlite" else " ON ledger_entry"
        cursor.execute(f"DROP TRIGGER ledger_entry_delete{on}")
        cursor.execute("DELETE FROM ledger_entry WHERE seq = %s", [last])
    fence.install(connection)
    call_command("export_bundle", str(bundle))
    code, report = verify_offline(bundle, "--anchor", kept)
    assert code == 2
    assert [item["class"] for item in report["findings"]] == ["anchor"]


def test_a_spoiled_leaf_fails_offline_as_it_does_here(filled, tmp_path):
    leaf = bytes(read.entry(filled.id, 4).leaf)
    spoiled = leaf.replace(b"812.40", b"912.40")
    with connection.cursor() as cursor:
        on = "" if connection.vendor == "sqlite" else " ON ledger_entry"
        cursor.execute(f"DROP TRIGGER ledger_entry_update{on}")
        cursor.execute("UPDATE ledger_entry SET leaf = %s WHERE seq = 4", [spoiled])
    fence.install(connection)
    call_command("export_bundle", str(tmp_path / "all.zip"))
    code, report = verify_offline(tmp_path / "all.zip")
    assert code == 2
    assert {4, 5} == {item["seq"] for item in report["findings"]} & {3, 4, 5}


def test_the_same_ledger_gives_the_same_bundle(filled, tmp_path):
    one, other = tmp_path / "one.zip", tmp_path / "other.zip"
    call_command("export_bundle", str(one))
    call_command("export_bundle", str(other))
    assert one.read_bytes() == other.read_bytes()


def test_an_export_is_never_written_over_another(filled, tmp_path):
    path = tmp_path / "all.zip"
    path.write_bytes(b"kept")
    with pytest.raises(CommandError, match="exists"):
        call_command("export_bundle", str(path))
    assert path.read_bytes() == b"kept"


def test_with_several_ledgers_one_must_be_named(filled, new_site, given, tmp_path):
    new_site(given.origin.replace("7f3a", "0000"))
    with pytest.raises(CommandError, match="kestrel-ridge-000091c2"):
        call_command("export_bundle", str(tmp_path / "all.zip"))
    call_command("export_bundle", str(tmp_path / "all.zip"), ledger="kestrel-ridge")


def test_a_checkpoint_goes_to_the_terminal_unless_a_file_is_named(
    filled, log_key, capsys
):
    call_command("sign_checkpoint", log_key=log_key)
    printed = capsys.readouterr().out
    assert parse_signed(printed.encode())[0].size == read.head(filled.id).size


def test_both_commands_say_what_was_made_and_what_it_is_good_for(
    filled, log_key, tmp_path, capsys
):
    kept, bundle = tmp_path / "kept", tmp_path / "all.zip"
    call_command("sign_checkpoint", log_key=log_key, out=kept)
    told = capsys.readouterr()
    assert told.out == ""
    assert f"kestrel-ridge at 8 entries, in {kept}" in told.err
    assert "Keep it where nobody" in told.err
    call_command("export_bundle", str(bundle))
    told = capsys.readouterr().out
    assert f"8 entries of kestrel-ridge are in {bundle}" in told
    assert f"python -m ledger.core.verify {bundle}" in told
    assert "by another way" in told


@pytest.mark.parametrize("command", ["sign_checkpoint", "export_bundle"])
def test_nothing_is_written_over_a_file_or_into_no_folder(
    filled, log_key, tmp_path, command
):
    """A checkpoint meant for the folder of keys must not replace a key."""
    before = log_key.read_bytes()
    for path, said in ((log_key, "exists"), (tmp_path / "no" / "file", "no folder")):
        is_export = command == "export_bundle"
        with pytest.raises(CommandError, match=said):
            call_command(
                command,
                *([str(path)] if is_export else ()),
                log_key=log_key,
                **({} if is_export else {"out": path}),
            )
    assert log_key.read_bytes() == before
    assert marks.read_mark(log_key) is None


def test_an_export_that_fails_leaves_no_half_of_it(filled, tmp_path, monkeypatch):
    def full_disk(*arguments):
        raise OSError("No space left on device")

    monkeypatch.setattr(bundle_module.os, "fsync", full_disk)
    with pytest.raises(CommandError, match="No space left"):
        call_command("export_bundle", str(tmp_path / "all.zip"))
    assert list(tmp_path.glob("all*")) == []


def test_the_readme_of_a_bundle_is_enough_to_check_a_signature_by(
    filled, tmp_path, given
):
    """Nothing here is imported from the program: only what README.txt says."""
    call_command("export_bundle", str(tmp_path / "all.zip"))
    with zipfile.ZipFile(tmp_path / "all.zip") as zipped:
        readme = zipped.read("README.txt").decode()
        lines = zipped.read("data/entries.jsonl").split(b"\n")[:-1]
    for words in ("zero byte", "server.previous", ',"statement":', "data.persons"):
        assert words in readme
    hashes = [hashlib.sha256(b"\0" + line).digest() for line in lines]
    entries = [json.loads(line) for line in lines]
    assert [entry["server"]["previous"] for entry in entries[1:]] == [
        base64.b64encode(digest).decode() for digest in hashes[:-1]
    ]
    spki = {
        each["person"]: load_der_public_key(base64.b64decode(each["key"]["spki"]))
        for each in entries[0]["statement"]["data"]["persons"]
    }
    for line, entry in zip(lines, entries, strict=True):
        said = line.split(b',"statement":', 1)[1][:-1]
        statement = entry["statement"]
        for signer, signature in zip(
            statement["signers"], entry["signatures"], strict=True
        ):
            text = [
                "goldroom.ledger/sign/v1",
                statement["origin"],
                signer["role"],
                hashlib.sha256(said).hexdigest(),
                signature["nonce"],
            ]
            assert text[0] in readme
            spki[signer["person"]].verify(
                base64.b64decode(signature["signature"]),
                "".join(f"{row}\n" for row in text).encode(),
            )


def test_a_wrong_passphrase_is_said_in_words(filled, log_key, monkeypatch):
    monkeypatch.setenv("GOLDROOM_LOG_KEY_PASSPHRASE", "six tired mules")
    with pytest.raises(CommandError, match="passphrase"):
        call_command("sign_checkpoint", log_key=log_key)


def test_without_a_key_nothing_is_signed(filled):
    with pytest.raises(CommandError, match="--log-key"):
        call_command("sign_checkpoint")


def test_no_terminal_for_the_passphrase_is_said_with_what_to_do(monkeypatch):
    monkeypatch.delenv(options.PASSPHRASE_VARIABLE, raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    with pytest.raises(CommandError, match="no terminal here"):
        options.passphrase()
