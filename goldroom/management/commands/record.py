"""Record a file of statements: one JSON object a line, taken whole or not at all.

    {"kind": "hopper.weighed", "occurred_at": "2026-10-01T06:10:00+02:00",
     "data": {...}, "signers": [{"person": ..., "role": ...}, ...]}

Every line is read, checked and folded in memory before the first is recorded. A
line without an entry id gets one that derives from the ledger's name (the name
asked for, if the file itself opens the ledger) and the line's own characters, so a
file given twice changes nothing, and a file that a crash cut short is finished by
giving it again.
"""

import hashlib
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from goldroom import commands
from goldroom.commands import FileRefused
from goldroom.errors import Refusal
from goldroom.keys import LOG_KEY, Keys
from goldroom.management.came_of_it import came_of_it
from goldroom.management.reporting import refusals_told
from goldroom.management.terminal import only_ledger, progress_bar, unlocked
from goldroom.management.wrong_lines import WrongLine, report, told_apart
from goldroom.reports.aloud import aloud
from goldroom.sayings import Saying, line_entry_id, read_line
from ledger import attachments, read
from ledger.core.errors import LedgerRefusal
from ledger.errors import AttachmentMismatch, NoSuchEntry
from ledger.models import Ledger

OPENED = "ledger.opened"
BYTE_ORDER_MARK = "\ufeff"
"""What some editors write before the first character of a file; it says nothing."""


class Command(BaseCommand):
    """Takes a file's statements through the front door."""

    help = "Record a JSON Lines file of statements, whole or not at all."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the file, the keys and the ledger."""
        parser.add_argument("file", type=Path, help="one statement a line")
        parser.add_argument(
            "--keys", type=Path, required=True, help="folder of sealed key files"
        )
        parser.add_argument(
            "--passphrase-file",
            type=Path,
            help="the one passphrase of all keys (demonstration ledgers only)",
        )
        parser.add_argument("--ledger", help="short name, if there are several")
        parser.add_argument(
            "--attachments", type=Path, help="folder of the files that lines cite"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Record the file and say what came of it."""
        try:
            with refusals_told():
                self.stdout.write(record(**_given(options)))
        except FileOfLinesRefused as refused:
            raise CommandError(str(refused), returncode=1) from None


class FileOfLinesRefused(Exception):
    """Some lines cannot be taken; the text says which and why."""


def _given(options: dict[str, Any]) -> dict[str, Any]:
    names = ("file", "keys", "passphrase_file", "ledger", "attachments")
    return {name: options[name] for name in names}


def record(
    *,
    file: Path,
    keys: Path,
    passphrase_file: Path | None = None,
    ledger: str | None = None,
    attachments: Path | None = None,
) -> str:
    """Record a file of statements; return what came of it, in words.

    Raises FileOfLinesRefused when any line is wrong, before anything is recorded.
    """
    chosen = only_ledger(ledger)
    lines = _lines(file)
    sayings = _sayings(file, lines, chosen)
    files = _cited_files(file, _not_recorded(lines, sayings, chosen), attachments)
    opened = unlocked(
        keys,
        _signers_of(sayings),
        passphrase_file=passphrase_file,
        is_demo=_is_demo(chosen, sayings),
    )
    before = 0 if chosen is None else read.head(chosen.pk).size
    try:
        ledger_id = _take(None if chosen is None else chosen.pk, sayings, opened, files)
    except FileRefused as refused:
        first, following = told_apart(refused.refused, sayings)
        read_out = _message_reader(chosen, [each.message for each in first])
        wrong = [
            WrongLine(lines[each.n][0], each.field, each.code, read_out(each.message))
            for each in first
        ]
        not_judged = [lines[each.n][0] for each in following]
        raise FileOfLinesRefused(report(file, wrong, not_judged)) from None
    line_of = {
        saying.entry_id: n for (n, _), saying in zip(lines, sayings, strict=True)
    }
    return came_of_it(ledger_id, line_of, before=before)


def _lines(file: Path) -> list[tuple[int, str]]:
    """Return the file's lines that are not blank, with their numbers from 1."""
    try:
        text = file.read_bytes().decode("utf-8").removeprefix(BYTE_ORDER_MARK)
    except OSError as error:
        raise FileOfLinesRefused(f"{file} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise FileOfLinesRefused(
            f"{file}: line {line} is not UTF-8 text. Save the file as UTF-8."
        ) from None
    numbered = enumerate(text.split("\n"), start=1)
    found = [(n, line.rstrip("\r")) for n, line in numbered if line.strip()]
    if not found:
        raise FileOfLinesRefused(f"{file} holds no statement. Write one a line.")
    return found


def _sayings(
    file: Path, lines: list[tuple[int, str]], ledger: Ledger | None
) -> list[Saying]:
    """Return every line's saying, each with an entry id."""
    wrong: list[WrongLine] = []
    read_so_far: list[tuple[Saying, str]] = []
    for n, line in lines:
        try:
            read_so_far.append((read_line(line), line))
        except Refusal as refusal:
            wrong.append(WrongLine(n, refusal.field, refusal.code, refusal.message))
    if ledger is None and not wrong and read_so_far[0][0].kind != OPENED:
        wrong.append(
            WrongLine(
                lines[0][0],
                "kind",
                "not_opened",
                f"found {read_so_far[0][0].kind}, but no ledger is open here. The first"
                f" statement must be {OPENED}.",
            )
        )
    if wrong:
        raise FileOfLinesRefused(report(file, wrong))
    space = _id_space(read_so_far[0][0], ledger)
    return [
        saying
        if saying.entry_id
        else replace(saying, entry_id=line_entry_id(space, line))
        for saying, line in read_so_far
    ]


def _id_space(first: Saying, ledger: Ledger | None) -> str:
    """Return the name that entry ids derive from; the same at every run."""
    if first.kind == OPENED or ledger is None:
        return str(first.data.get("origin_name", ""))
    return ledger.origin


def _signers_of(sayings: list[Saying]) -> set[str]:
    """Return whose keys the sayings need."""
    wanted = {each.person for saying in sayings for each in saying.signers}
    for saying in sayings:
        if saying.kind == OPENED:
            persons = saying.data.get("persons", [])
            wanted |= {str(each["person"]) for each in persons} | {LOG_KEY}
        if saying.kind == "person.enrolled":
            wanted.add(str(saying.data.get("person", "")))
    return wanted


def _is_demo(ledger: Ledger | None, sayings: list[Saying]) -> bool:
    if ledger is None:
        return sayings[0].kind == OPENED and sayings[0].data.get("demo") is True
    opening = read.keyring(ledger.pk).opening
    return opening is not None and opening.demo


def _message_reader(
    ledger: Ledger | None, messages: Sequence[str]
) -> Callable[[str], str]:
    """Return how refusals are read: with entry numbers and the site's clock."""
    if ledger is None or not read.head(ledger.pk).size:
        return str
    return aloud(ledger.pk, messages).message


def _not_recorded(
    lines: list[tuple[int, str]], sayings: list[Saying], ledger: Ledger | None
) -> list[tuple[int, Saying]]:
    """Return the sayings that cite files and are no entries yet, with their lines."""
    return [
        (n, saying)
        for (n, _), saying in zip(lines, sayings, strict=True)
        if saying.attachments
        and (ledger is None or not _is_recorded(ledger.pk, saying.entry_id))
    ]


def _cited_files(
    file: Path, citing: list[tuple[int, Saying]], folder: Path | None
) -> dict[str, list[bytes]]:
    """Return the bytes of every cited file, by the entry id that cites it."""
    wrong: list[WrongLine] = []
    found: dict[str, list[bytes]] = {}
    for n, saying in citing:
        for k, cited in enumerate(saying.attachments):
            try:
                content = _cited_file(cited, folder, f"attachments[{k}]")
            except Refusal as refusal:
                wrong.append(WrongLine(n, refusal.field, refusal.code, refusal.message))
            except LedgerRefusal as refusal:
                wrong.append(WrongLine(n, refusal.field, refusal.code, refusal.message))
            else:
                found.setdefault(saying.entry_id, []).append(content)
    if wrong:
        raise FileOfLinesRefused(report(file, wrong))
    return found


def _cited_file(cited: Any, folder: Path | None, field: str) -> bytes:
    """Return the bytes of a file as cited. Raises AttachmentMismatch."""
    name = str(cited.get("name", ""))
    if folder is None or Path(name).name != name or not (folder / name).is_file():
        raise AttachmentMismatch(
            f"{field}: the file {name!r} is cited and not in the folder"
            f" {folder or '(none given)'}. Put it there and name the folder with"
            " --attachments.",
            field=field,
        )
    content = (folder / name).read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    said, size = str(cited.get("sha256", "")), cited.get("size")
    if not said or size is None:
        raise AttachmentMismatch(
            f"{field}: {name} is cited without its SHA-256 and size. If the file here"
            f' is the one to be signed for, write "sha256": "{digest}" and "size":'
            f" {len(content)}.",
            field=field,
        )
    if digest != said or len(content) != size:
        raise AttachmentMismatch(
            f"{field}: {name} is cited with SHA-256 {said[:16]}… and {size} bytes; the"
            f" file here has {digest[:16]}… and"
            f" {len(content)} bytes. Find the file that was signed for.",
            field=field,
        )
    return content


def _take(
    ledger_id: int | None,
    sayings: list[Saying],
    keys: Keys,
    files: dict[str, list[bytes]],
) -> int:
    """Record all sayings; return the ledger's id. Raises FileRefused before any."""
    if files:
        commands.rehearse(ledger_id, sayings, keys)
        if ledger_id is None:
            ledger_id, _ = commands.say_many(None, sayings[:1], keys)
        for saying in sayings:
            if saying.entry_id in files:
                _put(ledger_id, saying, files[saying.entry_id])
    progress = progress_bar("recording")
    ledger_id, _ = commands.say_many(ledger_id, sayings, keys, progress=progress)
    return ledger_id


def _put(ledger_id: int, saying: Saying, contents: list[bytes]) -> None:
    for cited, content in zip(saying.attachments, contents, strict=True):
        attachments.put(ledger_id, content, name=cited["name"], media=cited["media"])


def _is_recorded(ledger_id: int, entry_id: str) -> bool:
    try:
        read.entry_by_id(ledger_id, entry_id)
    except NoSuchEntry:
        return False
    return True
