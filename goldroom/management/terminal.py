"""What commands that write to a ledger share at the terminal.

Choosing the ledger, unlocking keys, a progress bar that only a person sees, and
refusals printed by line.
"""

import getpass
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tqdm import tqdm

from goldroom.errors import Refusal
from goldroom.keys import unlock_folder
from ledger import read
from ledger.core.signing import SigningKey
from ledger.models import Ledger

TOLD_MOST = 50
"""Wrong lines told one by one; the rest are counted."""


class WhichLedger(Refusal):
    """The database holds several ledgers, or none, and one must be named."""

    code = "which_ledger"


class PassphraseFile(Refusal):
    """A passphrase was given in a file outside a demonstration."""

    code = "passphrase_file"


@dataclass(frozen=True)
class WrongLine:
    """Why a line of a file cannot be taken."""

    line: int
    field: str
    code: str
    message: str

    def __str__(self) -> str:
        """Return the line's report: where, which field, what and why."""
        where = f"line {self.line}" + (f", {self.field}" if self.field else "")
        said = self.message.removeprefix(f"{self.field}: ")
        return f"{where}: {said} [{self.code}]"


def report(file: Path, wrong: Sequence[WrongLine]) -> str:
    """Return the report of a file of which nothing was taken."""
    lines = "\n".join(f"  {each}" for each in wrong[:TOLD_MOST])
    if len(wrong) > TOLD_MOST:
        lines += f"\n  and {len(wrong) - TOLD_MOST} more"
    count = "1 thing is" if len(wrong) == 1 else f"{len(wrong)} things are"
    return (
        f"{file}: {count} wrong, and nothing of the file was taken:\n{lines}\n"
        "Mend the file and give it again."
    )


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
    Raises PassphraseFile, KeyFileRefused and WrongPassphrase.
    """
    if not folder.is_dir():
        raise PassphraseFile(
            f"{folder} is no folder. Name the folder of sealed keys with --keys.",
            field="keys",
        )
    if passphrase_file is None:
        return unlock_folder(folder, _ask, persons)
    if not is_demo:
        raise PassphraseFile(
            "--passphrase-file: a passphrase is read from a file for a demonstration"
            " only. Leave it out; each signer types their own at the terminal.",
            field="passphrase_file",
        )
    said = passphrase_file.read_text(encoding="utf-8").rstrip("\r\n")
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


def _ask(person: str) -> str:
    return getpass.getpass(f"Passphrase of {person}: ")
