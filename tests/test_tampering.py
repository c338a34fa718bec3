"""An administrator edits the SQLite file, and the record says where.

Each attack opens the file itself, drops the triggers, changes something, puts the
triggers back, and asks `verify_ledger`. One test for each idea: a new idea for
cheating the book is a welcome contribution. `work_*` tables are not the record.
"""

import io
import json
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.conftest import another_database
from tests.front_door import told

SEED = 20260302


@pytest.fixture(scope="module")
def honest(template_db, tmp_path_factory, django_db_blocker) -> Path:
    """Return the file of a ledger in which the whole story has been told."""
    path = tmp_path_factory.mktemp("honest") / "ledger.sqlite3"
    shutil.copyfile(template_db, path)
    with django_db_blocker.unblock(), another_database(str(path)):
        told()
    with closing(sqlite3.connect(path)) as direct:
        direct.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture
def copied(honest, tmp_path) -> Path:
    """Return a copy of the honest file, to be spoiled."""
    return Path(shutil.copyfile(honest, tmp_path / "spoiled.sqlite3"))


@contextmanager
def fence_down(path: Path) -> Iterator[sqlite3.Connection]:
    """Open the file with its triggers dropped; put them back afterwards."""
    with closing(sqlite3.connect(path)) as direct:
        triggers = direct.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            direct.execute(f'DROP TRIGGER "{name}"')
        yield direct
        for _, sql in triggers:
            direct.execute(sql)
        direct.commit()
        direct.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def verdict(path: Path) -> tuple[int, str]:
    """Return the exit code and words of `verify_ledger` on a file."""
    printed = io.StringIO()
    with another_database(str(path)):
        try:
            call_command("verify_ledger", stdout=printed, stderr=printed)
        except SystemExit as done:
            return int(done.code or 0), printed.getvalue()
    return 0, printed.getvalue()


def table_columns(path: Path) -> list[tuple[str, str]]:
    """Return every (table, column) of the record and what is derived from it."""
    with closing(sqlite3.connect(path)) as direct:
        tables = [
            name
            for (name,) in direct.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
            )
            if name.startswith(("ledger_", "goldroom_"))
        ]
        return [
            (table, column[1])
            for table in tables
            for column in direct.execute(f'PRAGMA table_info("{table}")')
        ]


def spoiled(value: Any) -> Any:
    """Return a value a little different from this one."""
    if isinstance(value, int):
        return value + 1000
    if isinstance(value, bytes):
        return bytes([value[0] ^ 1, *value[1:]]) if value else b"\0"
    text = str(value)
    return f"{text[:-1]}{'x' if text[-1:] != 'x' else 'y'}" if text else "x"


CALLED = {
    "ledger_entry": r"entry \d+|ledger_entry",
    "ledger_head": r"\bhead\b",
    "ledger_ledger": r"ledger_ledger|belong to no ledger|no head|of no ledger",
}
"""What findings call the record's own tables; derived ones go by their name."""


def findings_in(words: str) -> str:
    """Return the lines that tell of findings, without what every report says."""
    return "\n".join(
        line for line in words.splitlines() if re.match(r"\s*(?:Database: )?\[", line)
    )


def test_honest_ledger_holds_and_says_that_its_tail_is_not_pinned(
    honest, django_db_blocker
):
    with django_db_blocker.unblock():
        code, words = verdict(honest)
    assert code == 0, words
    assert "tail not pinned" in words


def test_every_column_of_every_table_edited_is_found_and_named(
    honest, tmp_path, django_db_blocker
):
    random.seed(SEED)
    tried = 0
    for table, column in table_columns(honest):
        with closing(sqlite3.connect(honest)) as direct:
            rowids = [row for (row,) in direct.execute(f'SELECT rowid FROM "{table}"')]
        for rowid in random.sample(rowids, min(4, len(rowids))):
            path = tmp_path / f"{tried}.sqlite3"
            shutil.copyfile(honest, path)
            with fence_down(path) as direct:
                (old,) = direct.execute(
                    f'SELECT "{column}" FROM "{table}" WHERE rowid = ?', [rowid]
                ).fetchone()
                direct.execute(
                    f'UPDATE "{table}" SET "{column}" = ? WHERE rowid = ?',
                    [spoiled(old), rowid],
                )
            with django_db_blocker.unblock():
                code, words = verdict(path)
            assert code == 2, (table, column, rowid, words)
            told_of = findings_in(words)
            named = re.search(CALLED.get(table, table), told_of)
            assert named, (table, column, words)
            path.unlink()
            tried += 1
    assert tried > 60


def test_any_byte_of_any_entry_changed_is_found_at_its_place(
    honest, tmp_path, django_db_blocker
):
    random.seed(SEED)
    with closing(sqlite3.connect(honest)) as direct:
        leaves = direct.execute("SELECT seq, leaf FROM ledger_entry").fetchall()
    for seq, leaf in leaves:
        for position in random.sample(range(len(leaf)), 2):
            changed = bytearray(leaf)
            changed[position] ^= 1 << random.randrange(8)
            path = tmp_path / "byte.sqlite3"
            shutil.copyfile(honest, path)
            with fence_down(path) as direct:
                direct.execute(
                    "UPDATE ledger_entry SET leaf = ? WHERE seq = ?",
                    [bytes(changed), seq],
                )
            with django_db_blocker.unblock():
                code, words = verdict(path)
            assert code == 2, (seq, position, words)
            assert re.search(rf"\bentry {seq}\b", findings_in(words)), (seq, words)


def row_count(path: Path) -> int:
    """Return the number of entries in a file."""
    with closing(sqlite3.connect(path)) as direct:
        return int(direct.execute("SELECT count(*) FROM ledger_entry").fetchone()[0])


ATTACKS = {
    "an entry deleted in the middle": "DELETE FROM ledger_entry WHERE seq = 20",
    "the last entry deleted": (
        "DELETE FROM ledger_entry WHERE seq = (SELECT max(seq) FROM ledger_entry)"
    ),
    "two entries swapped": (
        "UPDATE ledger_entry SET seq = -1 WHERE seq = 20;"
        "UPDATE ledger_entry SET seq = 20 WHERE seq = 21;"
        "UPDATE ledger_entry SET seq = 21 WHERE seq = -1"
    ),
    "an entry repeated at the end": (
        "INSERT INTO ledger_entry (ledger_id, seq, entry_id, leaf, leaf_hash)"
        " SELECT ledger_id, (SELECT max(seq) + 1 FROM ledger_entry), 'again', leaf,"
        " leaf_hash FROM ledger_entry WHERE seq = 20"
    ),
    "the head set back": "UPDATE ledger_head SET size = size - 1",
    "the head deleted": "DELETE FROM ledger_head",
    "the ledger's row deleted": "DELETE FROM ledger_ledger",
    "a leaf made null, schema aside": "UPDATE ledger_entry SET leaf = x'' WHERE seq=9",
    "a leaf turned into text": (
        "UPDATE ledger_entry SET leaf = CAST(leaf AS TEXT) WHERE seq = 9"
    ),
    "a row of the read tables deleted": (
        "DELETE FROM goldroom_row WHERE record = 'item' AND key = 'BAR-1'"
    ),
    "a row of the read tables made up": (
        "INSERT INTO goldroom_row (ledger_id, record, key, status, place, at, seq,"
        " value) VALUES (1, 'item', 'BAR-9', 'held', 'vault', '', 3, '{}')"
    ),
    "a bar's mass in the read tables": (
        "UPDATE goldroom_row SET value = replace(value, '167.8', '161.8')"
        " WHERE record = 'mass' AND key LIKE 'BAR-1/%'"
    ),
    "text that is not UTF-8": (
        "UPDATE goldroom_journal SET sentence = CAST(x'fffe' AS TEXT) WHERE seq = 4"
    ),
    "the journal emptied": "DELETE FROM goldroom_journal",
    "a person's mention deleted": (
        "DELETE FROM goldroom_mention WHERE record = 'person' AND key = 'p-leith'"
    ),
    "everything but the read tables emptied": (
        "DELETE FROM ledger_entry; DELETE FROM ledger_head;"
        "DELETE FROM ledger_attachment; DELETE FROM ledger_ledger"
    ),
    "a head that counts to the end of numbers": (
        "UPDATE ledger_head SET size = 9223372036854775807"
    ),
    "a read table replaced by a view": (
        "ALTER TABLE goldroom_row RENAME TO hidden;"
        "CREATE VIEW goldroom_row AS SELECT * FROM hidden"
    ),
    "a read table without its keys": (
        "CREATE TABLE plain AS SELECT * FROM goldroom_row; DROP TABLE goldroom_row;"
        "ALTER TABLE plain RENAME TO goldroom_row"
    ),
    "a trigger laid for the next act": (
        "CREATE TRIGGER laid AFTER INSERT ON goldroom_row BEGIN"
        " UPDATE goldroom_row SET place = 'elsewhere' WHERE key = NEW.key; END"
    ),
    "rows of a ledger that is not there": (
        "UPDATE goldroom_mention SET ledger_id = 77 WHERE seq = 5"
    ),
}


@pytest.mark.parametrize("attack", sorted(ATTACKS))
def test_attack_with_the_fence_down_is_found(copied, attack, django_db_blocker):
    with fence_down(copied) as direct:
        direct.executescript(ATTACKS[attack])
    with django_db_blocker.unblock():
        code, words = verdict(copied)
    assert code == 2, words


def test_whole_database_emptied_is_never_said_to_hold(copied, django_db_blocker):
    with fence_down(copied) as direct:
        for table in dict(table_columns(copied)):
            direct.execute(f"DELETE FROM {table}")
    with (
        django_db_blocker.unblock(),
        another_database(str(copied)),
        pytest.raises(CommandError, match="no ledger in this database") as refused,
    ):
        call_command("verify_ledger")
    assert refused.value.returncode == 1


def test_trigger_left_out_is_found(copied, django_db_blocker):
    with closing(sqlite3.connect(copied)) as direct:
        (name,) = direct.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchone()
        direct.execute(f'DROP TRIGGER "{name}"')
        direct.commit()
    with django_db_blocker.unblock():
        code, words = verdict(copied)
    assert code == 2
    assert name in words


def test_findings_as_json_name_class_code_and_place(copied, django_db_blocker):
    with fence_down(copied) as direct:
        direct.execute("UPDATE ledger_entry SET entry_id = 'other' WHERE seq = 20")
    printed = io.StringIO()
    with (
        django_db_blocker.unblock(),
        another_database(str(copied)),
        pytest.raises(SystemExit) as done,
    ):
        call_command("verify_ledger", "--json", stdout=printed)
    assert done.value.code == 2
    assert "20" in json.dumps(json.loads(printed.getvalue()))


WALLED = (
    "import sys\n"
    "sys.modules['django'] = None\n"
    "sys.modules['goldroom'] = None\n"
    "sys.modules['ledger.models'] = None\n"
    "from ledger.core.verify import main\n"
    "sys.exit(main(sys.argv[1:]))\n"
)


def offline(*arguments: str) -> tuple[int, str]:
    """Return the offline check's exit code and words, with Django walled off."""
    done = subprocess.run(
        [sys.executable, "-c", WALLED, *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    return done.returncode, done.stdout + done.stderr


def respoiled(bundle: Path, target: Path, lines: list[bytes]) -> Path:
    """Write the bundle with other entries and a manifest that agrees with them."""
    import hashlib

    with zipfile.ZipFile(bundle) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}
    entries = next(name for name in members if name.endswith("entries.jsonl"))
    members[entries] = b"".join(line + b"\n" for line in lines)

    def manifest(names: list[str]) -> bytes:
        rows = [f"{hashlib.sha256(members[n]).hexdigest()}  {n}\n" for n in names]
        return "".join(rows).encode()

    for name in sorted(members):
        if name.startswith("manifest-"):
            listed = [row.split()[1].decode() for row in members[name].splitlines()]
            members[name] = manifest(listed)
    for name in sorted(members):
        if name.startswith("tagmanifest-"):
            listed = [row.split()[1].decode() for row in members[name].splitlines()]
            members[name] = manifest(listed)
    with zipfile.ZipFile(bundle) as zipped, zipfile.ZipFile(target, "w") as new:
        for info in zipped.infolist():
            new.writestr(info, members[info.filename])
    return target


def test_spoiled_bundle_is_found_offline_with_django_walled_off(
    honest, tmp_path, django_db_blocker
):
    bundle = tmp_path / "month.zip"
    with django_db_blocker.unblock(), another_database(str(honest)):
        call_command("export_bundle", str(bundle), stdout=io.StringIO())
    code, words = offline(str(bundle))
    assert code == 3, words
    with zipfile.ZipFile(bundle) as zipped:
        name = next(n for n in zipped.namelist() if n.endswith("entries.jsonl"))
        lines = zipped.read(name).splitlines()
    spoilings = {
        "deleted": [*lines[:20], *lines[21:]],
        "swapped": [*lines[:20], lines[21], lines[20], *lines[22:]],
        "repeated": [*lines, lines[20]],
        "person": [line.replace(b"p-leith", b"p-soto-") for line in lines],
    }
    hit = next(n for n, line in enumerate(lines) if b"1910.5" in line)
    spoilings["byte"] = [
        line.replace(b"1910.5", b"1910.0") if n == hit else line
        for n, line in enumerate(lines)
    ]
    for what, spoiled_lines in spoilings.items():
        target = respoiled(bundle, tmp_path / f"{what}.zip", spoiled_lines)
        code, words = offline(str(target))
        assert code == 2, (what, words)
