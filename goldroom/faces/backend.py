"""Signing in and signing with a sealed key file: what opens the key is the proof.

There is no second password: who can open the key that the ledger knows as a
person's may act as that person. Every try, for signing in and for signing, goes
through `authenticate`, so that the lock after failed tries guards both.
"""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.backends import BaseBackend
from django.http import HttpRequest

from goldroom.errors import Refusal
from goldroom.faces.models import Account
from goldroom.statements.fields import CODE
from ledger import read, sealed_keys
from ledger.core.signing import SigningKey
from ledger.errors import KeyFileRefused, WrongPassphrase
from ledger.models import Ledger

KEY_FILE_BYTES_MAX = 10_000


class PassphraseWrong(Refusal):
    """The passphrase does not open the key, or tries are locked for a while."""

    code = "passphrase_wrong"


class NoKeyFile(Refusal):
    """The person's sealed key is not kept here, and no key file was given."""

    code = "no_key_file"


class NotTheKey(Refusal):
    """A key file is not that of a valid key of the person named."""

    code = "not_the_key"


class KeyBackend(BaseBackend):
    """Knows a person by their sealed key and its passphrase."""

    def authenticate(
        self,
        request: HttpRequest | None,
        *,
        username: str = "",
        passphrase: str = "",
        key_file: bytes = b"",
        **others: Any,
    ) -> Account | None:
        """Return the account, its key unlocked, or None if the passphrase is wrong."""
        slug, _, person = username.partition(":")
        ledger = Ledger.objects.filter(slug=slug).first()
        if ledger is None or not passphrase:
            return None
        try:
            opened = sealed_keys.unseal(key_file or kept_key(slug, person), passphrase)
        except WrongPassphrase:
            return None
        check_key(ledger.pk, person, opened)
        account, _ = Account.objects.get_or_create(
            name=username, defaults={"ledger_id": ledger.pk, "person": person}
        )
        account.unlocked = opened.signing
        return account

    def get_user(self, user_id: int) -> Account | None:
        """Return the account of a session."""
        return Account.objects.filter(pk=user_id).first()


def account_of(
    request: HttpRequest, slug: str, person: str, passphrase: str, key_file: bytes = b""
) -> Account:
    """Return the person's account, its key unlocked as `unlocked`.

    Raises PassphraseWrong, NoKeyFile, NotTheKey and KeyFileRefused. The field of the
    refusal is `passphrase` or `key_file`.
    """
    if not passphrase:
        raise PassphraseWrong("Type the passphrase of your key.", field="passphrase")
    if not key_file:
        kept_key(slug, person)
    found = authenticate(
        request,
        username=f"{slug}:{person}",
        passphrase=passphrase,
        key_file=key_file,
    )
    if getattr(request, "axes_locked_out", False):
        raise PassphraseWrong(
            "Too many wrong passphrases for this name. Wait 15 minutes, or ask the"
            " security manager.",
            field="passphrase",
        )
    if not isinstance(found, Account):
        raise PassphraseWrong(
            "The passphrase does not open the key under this name. Type it again; mind"
            " capitals and the keyboard's language.",
            field="passphrase",
        )
    return found


def unlocked_key(
    request: HttpRequest, slug: str, person: str, passphrase: str, key_file: bytes = b""
) -> SigningKey:
    """Return a person's key for one signature. Raises what `account_of` does."""
    key = account_of(request, slug, person, passphrase, key_file).unlocked
    assert key is not None
    return key


def has_kept_key(slug: str, person: str) -> bool:
    """Tell whether this machine keeps the person's sealed key."""
    return _kept_path(slug, person) is not None


def kept_key(slug: str, person: str) -> bytes:
    """Return the sealed key kept for a person. Raises NoKeyFile."""
    path = _kept_path(slug, person)
    if path is None:
        raise NoKeyFile(
            f"The key of {person or 'this person'} is not kept on this machine. Choose"
            " your key file below.",
            field="key_file",
        )
    return path.read_bytes()


def check_key(ledger_id: int, person: str, opened: sealed_keys.OpenKey) -> None:
    """Refuse a key that is not the person's valid one in this ledger."""
    held = read.keyring(ledger_id).keys_of(person)
    if opened.person != person:
        raise NotTheKey(
            f"The key file is that of {opened.person}, not of {person}. Choose your"
            " own key file, or your own name.",
            field="key_file",
        )
    if not held or held[-1].key_id != opened.signing.key_id:
        raise NotTheKey(
            f"The key file of {person} does not hold the key that signs for them now."
            " Use the newest key file, or ask the security manager.",
            field="key_file",
        )


def read_key_file(size: int | None, content: bytes) -> bytes:
    """Return an uploaded key file's bytes. Raises KeyFileRefused if it is too big."""
    if size is None or size > KEY_FILE_BYTES_MAX:
        raise KeyFileRefused(
            "This file is too big for a sealed key. Choose the file whose name ends in"
            f" {sealed_keys.SUFFIX}.",
            field="key_file",
        )
    return content


def _kept_path(slug: str, person: str) -> Path | None:
    """Return where a person's sealed key is kept: by ledger first, else by person."""
    folder: Path | None = settings.KEYS_FOLDER
    if folder is None or not (CODE.fullmatch(person) and CODE.fullmatch(slug)):
        return None
    for path in (
        folder / slug / f"{person}{sealed_keys.SUFFIX}",
        folder / f"{person}{sealed_keys.SUFFIX}",
    ):
        if path.is_file():
            return path
    return None
