"""Unlocked signing keys by person, for the length of a run.

A folder of sealed key files, one for each person (`<person>.key.json`) and one for
the log (`log.key.json`). In a site's ledger every signer unlocks at the terminal;
only a demo's folder may say its passphrase in a file.
"""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from goldroom.errors import Refusal
from ledger import sealed_keys
from ledger.core.signing import SigningKey
from ledger.errors import WrongPassphrase

Keys = Mapping[str, SigningKey]
LOG_KEY = "log"
PASSPHRASE_FILE = "passphrase.txt"


class KeyNotHere(Refusal):
    """A signer's key is not among the unlocked ones."""

    code = "key_not_here"


class KeyOfAnother(Refusal):
    """A key file bears another person's name than the person in it."""

    code = "key_of_another"


def unlock_folder(
    folder: Path,
    ask: Callable[[str], str],
    persons: Iterable[str] | None = None,
    *,
    tries: int = 1,
    say: Callable[[str], object] = str,
) -> dict[str, SigningKey]:
    """Return the keys in a folder, of `persons` only if they are given.

    `ask(person)` returns a passphrase; a wrong one is told with `say` and asked for
    again, up to `tries` times. Raises KeyFileRefused, WrongPassphrase and
    KeyOfAnother.
    """
    wanted = None if persons is None else set(persons)
    opened = {}
    for path in sorted(folder.glob(f"*{sealed_keys.SUFFIX}")):
        name = path.name.removesuffix(sealed_keys.SUFFIX)
        if wanted is None or name in wanted:
            opened[name] = _opened(path, name, ask, tries=tries, say=say)
    return opened


def _opened(
    path: Path,
    name: str,
    ask: Callable[[str], str],
    *,
    tries: int,
    say: Callable[[str], object],
) -> SigningKey:
    """Return the key in a file. Raises what `unlock_folder` does."""
    for left in reversed(range(tries)):
        try:
            key = sealed_keys.read(path, ask(name))
        except WrongPassphrase as wrong:
            if not left:
                raise
            say(wrong.message)
        else:
            break
    if key.person != name:
        raise KeyOfAnother(
            f"{path} holds the key of {key.person}. Name the file"
            f" {key.person}{sealed_keys.SUFFIX}, as it was made.",
            field="keys",
        )
    return key.signing


def seal_into(
    folder: Path, keys: Keys, passphrase: str, *, n: int = sealed_keys.SCRYPT_N
) -> None:
    """Write every key sealed into a folder; `n` is the work factor of scrypt."""
    folder.mkdir(parents=True, exist_ok=True)
    for person, key in keys.items():
        sealed = sealed_keys.seal(key, passphrase, person=person, n=n)
        sealed_keys.write(folder / f"{person}{sealed_keys.SUFFIX}", sealed)
