"""The program that an auditor runs, with nothing of ours but `ledger.core`."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from ledger.core.base64text import to_base64
from ledger.core.bundle import write_bundle
from ledger.core.merkle import leaf_hash
from ledger.core.note import VerifierKey, format_vkey
from ledger.core.verify import main
from tests.ledger.core.builder import (
    LOG_KEY,
    ORIGIN,
    SCAN,
    Book,
    attachment,
    key_of,
    opened_book,
    twelve_entries,
)

ROOT = Path(__file__).parents[3]
BOOK = twelve_entries()
WALL = """
import runpy, sys
for name in ("django", "goldroom", "numpy", "scipy", "sqlite3", "rfc8785"):
    sys.modules[name] = None
sys.argv = ["verify", *sys.argv[1:]]
runpy.run_module("ledger.core.verify", run_name="__main__")
"""


def write(path: Path, book: Book = BOOK, leaves=None) -> Path:
    files = [(attachment(SCAN)["sha256"], SCAN)] if book.size > 2 else []
    write_bundle(
        path,
        book.leaves if leaves is None else leaves,
        origin=book.origin,
        attachments=files,
    )
    return path


@pytest.fixture
def bundle(tmp_path) -> Path:
    return write(tmp_path / "ledger.zip")


@pytest.fixture
def anchor(tmp_path) -> Path:
    path = tmp_path / "checkpoint.txt"
    path.write_bytes(BOOK.note())
    return path


@pytest.fixture
def policy(tmp_path) -> Path:
    path = tmp_path / "policy.txt"
    vkey = format_vkey(VerifierKey(ORIGIN, LOG_KEY.spki))
    genesis = to_base64(leaf_hash(BOOK.leaves[0]))
    path.write_text(f"log {vkey}\ngenesis {genesis}\nquorum none\n")
    return path


def run(*arguments) -> subprocess.CompletedProcess:
    """Run the program in a process that can import neither Django nor goldroom."""
    return subprocess.run(
        [sys.executable, "-c", WALL, *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_0_verified_and_pinned(bundle, policy, anchor):
    done = run(bundle, "--policy", policy, "--anchor", anchor)
    assert done.returncode == 0, done.stderr
    assert "verified and pinned" in done.stdout
    assert "tail pinned: size 12" in done.stdout
    assert "What this cannot prove" in done.stdout


def test_3_verified_and_not_pinned(bundle):
    done = run(bundle, "--json")
    assert done.returncode == 3, done.stderr
    said = json.loads(done.stdout)
    assert (said["size"], said["pinned_size"]) == (12, None)
    assert said["findings"] == []


def test_2_evidence_of_tampering(bundle, anchor):
    write(bundle, leaves=BOOK.leaves[:-1])
    done = run(bundle, "--anchor", anchor)
    assert done.returncode == 2, done.stderr
    assert "shorter_than_anchor" in done.stdout


def test_1_could_not_check(tmp_path):
    done = run(tmp_path / "nowhere.zip")
    assert done.returncode == 1
    assert "Could not check" in done.stdout
    assert "Traceback" not in done.stderr


def test_the_module_itself_runs_as_a_program(bundle):
    done = subprocess.run(
        [sys.executable, "-m", "ledger.core.verify", str(bundle)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 3, done.stderr
    assert "tail not pinned" in done.stdout


def test_an_accent_on_a_screen_without_accents_does_not_change_the_code(bundle):
    """Python refuses to print what the console's encoding lacks."""
    leaves = [*BOOK.leaves, '{"é":1}'.encode()]
    write(bundle, leaves=leaves)
    done = subprocess.run(
        [sys.executable, "-m", "ledger.core.verify", str(bundle)],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2, done.stderr
    assert "\\xe9" in done.stdout


def exit_code(*arguments) -> int:
    """Return the code of a run in this process."""
    try:
        return main([str(argument) for argument in arguments])
    except SystemExit as end:
        return int(end.code)


def test_wrong_usage_is_never_the_code_of_tampering(bundle, capsys):
    assert exit_code() == 1
    assert exit_code(bundle, "--nonsense") == 1
    assert exit_code(bundle, "--anchor") == 1
    assert exit_code(bundle, "--policy", "nowhere.txt") == 1
    assert exit_code(bundle, "--anchor", bundle) == 1
    assert exit_code(bundle.parent) == 1
    assert exit_code("--help") == 0
    assert "usage" in capsys.readouterr().err


def test_what_could_not_be_checked_is_said_to_machines_too(tmp_path, capsys):
    assert exit_code(tmp_path / "nowhere.zip", "--json") == 1
    assert json.loads(capsys.readouterr().out)["verdict"] == "could not check"


def test_a_policy_that_is_not_understood_judges_nothing(bundle, policy):
    policy.write_text(policy.read_text() + "witness x y\n")
    assert exit_code(bundle, "--policy", policy) == 1


def test_an_unknown_format_of_an_entry_is_code_1(bundle):
    leaf = BOOK.leaves[-1].replace(b'"format":1', b'"format":2')
    write(bundle, leaves=[*BOOK.leaves[:-1], leaf])
    assert exit_code(bundle) == 1


@pytest.mark.parametrize("size", range(1, 12))
def test_a_bundle_cut_at_any_size_is_3_alone_and_2_with_the_anchor(
    tmp_path, anchor, size
):
    path = tmp_path / "cut.zip"
    files = [(attachment(SCAN)["sha256"], SCAN)] if size > 2 else []
    write_bundle(path, BOOK.leaves[:size], origin=ORIGIN, attachments=files)
    assert exit_code(path) == 3
    assert exit_code(path, "--anchor", anchor) == 2


def test_a_bundle_forged_whole_is_3_alone_and_2_with_any_pin(tmp_path, policy, anchor):
    """All keys are the forger's, the log's too; only outside knowledge tells."""
    own = key_of("somebody's own log")
    forged = opened_book(log_key=to_base64(own.spki), site="Forged (invented)")
    forged.say()
    path = tmp_path / "forged.zip"
    write_bundle(
        path, forged.leaves, origin=ORIGIN, checkpoints=[(2, forged.note(2, own))]
    )
    assert exit_code(path) == 3
    assert exit_code(path, "--policy", policy) == 2
    assert exit_code(path, "--anchor", anchor) == 2


def test_an_anchor_whose_signature_is_not_the_logs_is_2(bundle, policy, tmp_path):
    path = tmp_path / "other.txt"
    path.write_bytes(BOOK.note(12, key_of("another log")))
    assert exit_code(bundle, "--policy", policy, "--anchor", path) == 2


def test_the_report_is_plain_ascii_json_and_readable_text(bundle, capsys):
    exit_code(bundle, "--json")
    assert capsys.readouterr().out.isascii()
    exit_code(bundle)
    assert "Entries:      12" in capsys.readouterr().out
