"""What commands that write to a ledger share at the terminal.

Choosing the ledger, unlocking keys, and a progress bar that only a person sees.
"""

import getpass
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

from tqdm import tqdm

from goldroom.errors import Refusal
from goldroom.keys import unlock_folder
from ledger import read
from ledger.core.signing import SigningKey
from ledger.models import Ledger

TRIES = 3
"""Passphrases that somebody at the terminal may type before the run is given up."""


class WhichLedger(Refusal):
    """The database holds several ledgers, or none, and one must be named."""

    code = "which_ledger"


class PassphraseFile(Refusal):
    """A passphrase file outside a demonstration, or one that cannot be read."""

    code = "passphrase_file"


class NoKeyFolder(Refusal):
    """The folder of sealed keys is not there."""

    code = "no_key_folder"


class NoTerminal(Refusal):
    """A passphrase must be typed, and there is no terminal."""

    code = "no_terminal"


def only_ledger(slug: str | None) -> Ledger | None:
    """Return the ledger named, or the only one there is; None where there is none.

    Raises WhichLedger and NoSuchLedger.
    """
    if slug is not None:
        return read.get_ledger(slug)
    found = read.ledgers()
    if len(found) > 1:
        raise WhichLedger(
            "This database holds several ledgers: "
            f"{', '.join(each.slug for each in found)}. Name one with --ledger.",
            field="ledger",
        )
    return found[0] if found else None


def unlocked(
    folder: Path, persons: Iterable[str], *, passphrase_file: Path | None, is_demo: bool
) -> dict[str, SigningKey]:
    """Return the keys of these persons, as far as the folder has them.

    Each passphrase is asked for at the terminal, unless a demo's file says it.
    Raises NoKeyFolder, PassphraseFile, NoTerminal, KeyFileRefused and WrongPassphrase.
    """
    if not folder.is_dir():
        raise NoKeyFolder(
            f"{folder} is no folder. Name the folder of sealed keys with --keys.",
            field="keys",
        )
    if passphrase_file is None:
        return unlock_folder(folder, ask, persons, tries=TRIES, say=print)
    if not is_demo:
        raise PassphraseFile(
            "--passphrase-file: a passphrase is read from a file for a demonstration"
            " only. Leave it out; each signer types their own at the terminal.",
            field="passphrase_file",
        )
    said = _passphrase_in(passphrase_file)
    return unlock_folder(folder, lambda person: said, persons)


def progress_bar(what: str) -> Callable[[int, int], None] | None:
    """Return a function that draws how far a run is; None away from a terminal."""
    if not sys.stderr.isatty():
        return None
    bar = tqdm(desc=what, unit=" entries", leave=False)

    def draw(done: int, of: int) -> None:
        bar.total = of
        bar.update(done - bar.n)
        if done == of:
            bar.close()

    return draw


def ask(person: str, prompt: str = "Passphrase of") -> str:
    """Return what somebody types unseen. Raises NoTerminal where nobody can."""
    if not sys.stdin.isatty():
        raise NoTerminal(
            f"{prompt} {person}: there is no terminal here to type it at. Run the"
            " command in a terminal.",
        )
    return getpass.getpass(f"{prompt} {person}: ")


def _passphrase_in(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8").rstrip("\r\n")
    except OSError as error:
        raise PassphraseFile(
            f"--passphrase-file: {file} cannot be read: {error.strerror}. Name the file"
            " that holds the passphrase.",
            field="passphrase_file",
        ) from None
    except UnicodeDecodeError:
        raise PassphraseFile(
            f"--passphrase-file: {file} is not UTF-8 text. Save it as UTF-8.",
            field="passphrase_file",
        ) from None
