"""A person's key: found where it is kept, opened by its passphrase alone."""

import pytest
from django.test import RequestFactory

from goldroom.faces.backend import (
    NoKeyFile,
    NotTheKey,
    PassphraseWrong,
    account_of,
    has_kept_key,
    kept_key,
    read_key_file,
)
from goldroom.keys import seal_into
from ledger import read, sealed_keys
from ledger.errors import KeyFileRefused
from tests.front_door import KEYS, Room, key_of

WORDS = "invented words for tests"
QUICK = 16


@pytest.fixture
def kept(fresh_db, tmp_path, settings):
    """Open a ledger whose officer's key is kept here; return its slug."""
    room = Room.opened()
    settings.KEYS_FOLDER = tmp_path / "keys"
    seal_into(settings.KEYS_FOLDER, {"p-amara": KEYS["p-amara"]}, WORDS, n=QUICK)
    return next(each.slug for each in read.ledgers() if each.pk == room.ledger_id)


def asked():
    """Return a request as a form makes it."""
    return RequestFactory().post("/sign-in/")


def test_the_right_passphrase_opens_the_key(kept):
    account = account_of(asked(), kept, "p-amara", WORDS)
    assert account.person == "p-amara"
    assert account.unlocked is not None
    assert account.unlocked.key_id == KEYS["p-amara"].key_id


@pytest.mark.parametrize("words", ["", "guess", f"{WORDS} "])
def test_any_other_does_not(kept, words):
    with pytest.raises(PassphraseWrong):
        account_of(asked(), kept, "p-amara", words)


def test_a_key_not_kept_here_is_asked_for_as_a_file(kept):
    with pytest.raises(NoKeyFile) as refused:
        account_of(asked(), kept, "p-leith", WORDS)
    assert refused.value.field == "key_file"
    own = sealed_keys.seal(KEYS["p-leith"], WORDS, person="p-leith", n=QUICK)
    assert account_of(asked(), kept, "p-leith", WORDS, own).person == "p-leith"


def test_a_key_file_of_somebody_else_or_an_old_key_is_refused(kept):
    other = sealed_keys.seal(KEYS["p-soto"], WORDS, person="p-soto", n=QUICK)
    with pytest.raises(NotTheKey):
        account_of(asked(), kept, "p-leith", WORDS, other)
    old = sealed_keys.seal(key_of("older"), WORDS, person="p-leith", n=QUICK)
    with pytest.raises(NotTheKey):
        account_of(asked(), kept, "p-leith", WORDS, old)


def test_what_is_no_key_file_is_refused(kept):
    with pytest.raises(KeyFileRefused):
        account_of(asked(), kept, "p-leith", WORDS, b"not a key")
    with pytest.raises(KeyFileRefused):
        read_key_file(10_001, b"")


def test_the_folder_of_a_ledger_comes_before_that_of_all(kept, settings):
    again = settings.KEYS_FOLDER / kept
    seal_into(again, {"p-amara": KEYS["p-amara"]}, "other words", n=QUICK)
    assert account_of(asked(), kept, "p-amara", "other words").person == "p-amara"


@pytest.mark.parametrize(
    ("slug", "person"),
    [("../keys", "p-amara"), ("x", "../p-amara"), ("x", ""), (".", "p-amara")],
)
def test_no_name_leads_out_of_the_folder(kept, slug, person):
    assert not has_kept_key(slug, person)
    with pytest.raises(NoKeyFile):
        kept_key(slug, person)
