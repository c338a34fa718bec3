"""Making a key: sealed at full cost, never overwritten, typed twice."""

import json
import stat

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from goldroom.management.commands.make_key import (
    PASSPHRASE_CHARACTERS_MIN,
    BadPassphrase,
    BadPersonId,
    make_key,
)
from ledger import sealed_keys
from ledger.core.signing import is_key_proved
from ledger.errors import KeyFileRefused

WORDS = "invented words for one test"


def typing(*typed):
    """Return a way of asking that types these passphrases one after another."""
    left = iter(typed)
    return lambda person, prompt: next(left)


@pytest.mark.parametrize("person", ["p-one", "log"])
def test_key_opens_with_the_passphrase_and_its_id_is_told(tmp_path, person):
    folder = tmp_path / "keys"
    said = make_key(person, folder, typing(WORDS, WORDS))
    path = folder / f"{person}.key.json"
    opened = sealed_keys.read(path, WORDS)
    assert opened.person == person
    assert f"Key of {person}: {opened.signing.key_id}\n" in said
    assert str(path) in said
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert f'"n": {sealed_keys.SCRYPT_N}' in path.read_text(encoding="utf-8")


def test_proof_for_a_ledger_stands_for_the_key_in_an_enrolment(tmp_path):
    said = make_key(
        "p-one", tmp_path, typing(WORDS, WORDS), proof_for="mine.example/room"
    )
    key = json.loads(said.splitlines()[-1])
    opened = sealed_keys.read(tmp_path / "p-one.key.json", WORDS)
    assert key["id"] == opened.signing.key_id
    assert is_key_proved(key, origin="mine.example/room", person="p-one")
    assert not is_key_proved(key, origin="mine.example/room", person="p-two")
    assert not is_key_proved(key, origin="other.example/room", person="p-one")


def test_two_keys_are_never_the_same(tmp_path):
    for person in ("p-one", "p-two"):
        make_key(person, tmp_path, typing(WORDS, WORDS))
    keys = sealed_keys.read_folder(tmp_path, WORDS)
    assert keys["p-one"].signing.key_id != keys["p-two"].signing.key_id


def test_same_letters_typed_on_another_keyboard_are_the_same_passphrase(tmp_path):
    composed, decomposed = "g\u00f6ld " * 3, "go\u0308ld " * 3
    make_key("p-one", tmp_path, typing(composed, decomposed))
    assert sealed_keys.read(tmp_path / "p-one.key.json", decomposed).person == "p-one"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ((WORDS, WORDS + "!"), "differ"),
        (("x" * (PASSPHRASE_CHARACTERS_MIN - 1),), "found 11 characters"),
        (("",), "found 0 characters"),
    ],
)
def test_passphrase_short_or_mistyped_makes_no_key(tmp_path, typed, told):
    with pytest.raises(BadPassphrase, match=told):
        make_key("p-one", tmp_path / "keys", typing(*typed))
    assert not (tmp_path / "keys").exists()


@pytest.mark.parametrize("person", ["P-One", "p one", "../p", "", "-p"])
def test_id_that_no_ledger_takes_is_refused_before_anything_is_typed(tmp_path, person):
    with pytest.raises(BadPersonId, match="expected an id"):
        make_key(person, tmp_path, typing())


def test_key_that_is_there_stays_as_it_is(tmp_path):
    path = tmp_path / "p-one.key.json"
    path.write_text("somebody's key")
    with pytest.raises(KeyFileRefused, match="never overwritten"):
        make_key("p-one", tmp_path, typing())
    assert path.read_text() == "somebody's key"


def test_folder_that_cannot_be_written_is_named(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(KeyFileRefused, match="cannot be written"):
        make_key("p-one", tmp_path / "file" / "keys", typing(WORDS, WORDS))


def test_command_asks_at_the_terminal_and_says_what_is_wrong(tmp_path, monkeypatch):
    asked = []
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("getpass.getpass", lambda prompt: asked.append(prompt) or "a")
    with pytest.raises(CommandError, match=r"\[bad_passphrase\]"):
        call_command("make_key", "p-one", into=tmp_path)
    assert asked == ["New passphrase of p-one: "]
