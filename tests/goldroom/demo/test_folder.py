"""The folder of a demonstration: only a demonstration is ever replaced."""

import pytest

from goldroom.demo.chance import Chance
from goldroom.demo.folder import MARKER, PASSPHRASE, DemoFolder, NotADemo, demo_keys
from goldroom.demo.mine import NEWCOMER, PEOPLE
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
