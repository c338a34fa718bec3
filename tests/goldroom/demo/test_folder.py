"""The folder of a demonstration: only a demonstration is ever replaced."""

import subprocess
from datetime import datetime

import pytest

from goldroom.demo.chance import Chance
from goldroom.demo.folder import MARKER, PASSPHRASE, DemoFolder, NotADemo, demo_keys
from goldroom.demo.mine import NEWCOMER, PEOPLE
from goldroom.settings import database_from_url
from ledger import sealed_keys


def test_folder_of_something_else_is_left_alone(tmp_path):
    (tmp_path / "ledger.sqlite3").write_text("somebody's own")
    with pytest.raises(NotADemo, match="Nothing was touched"):
        DemoFolder(tmp_path).make(seed=1, months=1)
    assert (tmp_path / "ledger.sqlite3").read_text() == "somebody's own"


def test_file_in_the_way_is_left_alone(tmp_path):
    (tmp_path / "demo").write_text("a file")
    with pytest.raises(NotADemo):
        DemoFolder(tmp_path / "demo").make(seed=1, months=1)


def test_earlier_demonstration_is_replaced(tmp_path):
    folder = DemoFolder(tmp_path / "demo")
    folder.make(seed=1, months=1)
    (folder.path / "left over").write_text("old")
    folder.make(seed=2, months=1)
    assert [each.name for each in folder.path.iterdir()] == [MARKER]
    assert '"seed": 2' in (folder.path / MARKER).read_text()


def test_empty_folder_is_used(tmp_path):
    DemoFolder(tmp_path).make(seed=1, months=1)
    assert (tmp_path / MARKER).is_file()


def test_keys_are_sealed_and_open_with_the_passphrase_beside_them(tmp_path):
    folder = DemoFolder(tmp_path)
    keys = demo_keys(Chance(1))
    folder.seal(keys)
    said = (folder.keys / "passphrase.txt").read_text().strip()
    assert said == PASSPHRASE
    opened = sealed_keys.read_folder(folder.keys, said)
    assert {name: each.signing.key_id for name, each in opened.items()} == {
        name: key.key_id for name, key in keys.items()
    }
    assert set(keys) == {each.person for each in (*PEOPLE, NEWCOMER)} | {"log"}


def test_the_environment_names_ledger_keys_and_clock_to_a_shell(tmp_path):
    folder = DemoFolder(tmp_path / "a folder of it's own")
    folder.make(seed=1, months=1)
    clock = datetime.fromisoformat("2026-11-01T15:50:00+02:00")
    made_at = datetime.fromisoformat("2026-11-25T08:00:00+00:00")
    folder.write_environment(clock=clock, made_at=made_at)
    shown = subprocess.run(
        ["sh", "-c", '. "$1"; env', "sh", str(folder.environment)],
        capture_output=True,
        text=True,
        check=True,
    )
    found = dict(line.split("=", 1) for line in shown.stdout.splitlines())
    assert found["GOLDROOM_KEYS"] == str(folder.keys)
    assert found["GOLDROOM_DEMO_CLOCK"] == (
        "2026-11-01T15:50:00+02:00@2026-11-25T08:00:00+00:00"
    )
    named = database_from_url(found["GOLDROOM_DATABASE_URL"])
    assert named["NAME"] == str(folder.database)
