"""Import flush cycles from a table that the plant's historian exported (CSV).

The file is taken whole or not at all. Its cycles become statements of up to 300,
signed by the plant's gateway. A flush counted before with the same values is passed
over, so a file given twice changes nothing; with other values it is refused. Local
times need their zone stated: nobody can guess it from a file.
"""

import json
import re
from argparse import ArgumentParser
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError

from goldroom import commands
from goldroom.commands import FileRefused, Refused
from goldroom.errors import Refusal
from goldroom.management.reporting import refusals_told
from goldroom.management.terminal import WhichLedger, only_ledger, unlocked
from goldroom.management.wrong_lines import WrongLine, report
from goldroom.plant.cycles_file import (
    Columns,
    Cycle,
    Reader,
    WrongCell,
    grouped,
    read_cycles,
)
from goldroom.reports.flushes import counted_flushes
from goldroom.sayings import Saying, Signer, line_entry_id
from ledger import read
from ledger.core.keyring import Keyring
from ledger.models import Ledger

COLUMNS = ("unit", "flush", "start", "end", "feed", "status", "reason")
ROW_OF_FIELD = re.compile(r"cycles\[(\d+)\]\.(\w+)")


class BadOption(Refusal):
    """An option of the command cannot be read."""

    code = "bad_option"


class Command(BaseCommand):
    """Takes a historian's table of cycles through the front door."""

    help = "Import flush cycles from a CSV table of the plant, whole or not at all."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the file, how it is read, and who signs."""
        parser.add_argument("file", type=Path, help="a table with a line of headings")
        parser.add_argument(
            "--zone", required=True, help="IANA zone of the times, such as UTC"
        )
        parser.add_argument("--keys", type=Path, required=True, help="sealed keys")
        parser.add_argument(
            "--passphrase-file", type=Path, help="demonstration ledgers only"
        )
        parser.add_argument("--ledger", help="short name, if there are several")
        parser.add_argument("--gateway", help="who signs, if several gateways could")
        for name, usual in zip(COLUMNS, _usual_columns(), strict=True):
            parser.add_argument(
                f"--{name}-column", default=usual, help=f"heading; {usual} if left out"
            )
        parser.add_argument(
            "--status-map",
            action="append",
            default=[],
            metavar="WORD=STATUS",
            help="the plant's word for complete, short or aborted; may be repeated",
        )
        parser.add_argument(
            "--epoch",
            action="append",
            default=[],
            metavar="UNIT=N",
            help="a unit's counter epoch; 1 if left out; may be repeated",
        )
        parser.add_argument("--time-format", default="", help="such as %%d.%%m.%%Y")
        parser.add_argument("--delimiter", default=",", help="comma if left out")
        parser.add_argument(
            "--encoding", default="utf-8-sig", help="such as cp1252; UTF-8 if left out"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Import the table and say what came of it."""
        with refusals_told():
            self.stdout.write(_import(options))


def _usual_columns() -> tuple[str, ...]:
    usual = Columns()
    return (
        usual.unit,
        usual.flush,
        usual.start,
        usual.end,
        usual.feed_t,
        usual.status,
        usual.reason,
    )


def _import(options: dict[str, Any]) -> str:
    """Import a file of cycles; return what came of it, in words."""
    file = options["file"]
    ledger = _chosen(options["ledger"])
    reader = _reader(options)
    cycles, wrong_cells = _read(file, options["encoding"], reader)
    new = _new_cycles(file, ledger, reader, cycles, wrong_cells)
    if not new:
        return f"Nothing changed: all {len(cycles)} cycles were counted before."
    gateway = _gateway(read.keyring(ledger.pk), options["gateway"])
    opening = read.keyring(ledger.pk).opening
    keys = unlocked(
        options["keys"],
        [gateway],
        passphrase_file=options["passphrase_file"],
        is_demo=opening is not None and opening.demo,
    )
    portions = grouped(new)
    sayings = [_saying(ledger.origin, gateway, portion) for portion in portions]
    try:
        commands.say_many(ledger.pk, sayings, keys)
    except FileRefused as refused:
        wrong = [
            _refused_row(portions[each.n], each, reader.columns)
            for each in refused.refused
        ]
        raise CommandError(report(file, wrong), returncode=1) from None
    known = len(cycles) - len(new)
    passed = f"; {known} were counted before" if known else ""
    many = "1 statement" if len(sayings) == 1 else f"{len(sayings)} statements"
    count = "1 cycle was" if len(new) == 1 else f"{len(new)} cycles were"
    return f"{count} recorded in {many}{passed}."


def _gateway(ring: Keyring, named: str | None) -> str:
    """Return who signs for the plant: the one named, or the only gateway."""
    enrolled = {person: ring.person(person) for person in ring.persons}
    gateways = sorted(
        person for person, it in enrolled.items() if it and it.sort == "gateway"
    )
    found = gateways if named is None else [each for each in gateways if each == named]
    if len(found) != 1:
        raise BadOption(
            f"--gateway: found {named or 'none named'}, expected one of"
            f" {', '.join(gateways) or 'no gateway is enrolled'}.",
            field="--gateway",
        )
    return found[0]


def _chosen(slug: str | None) -> Ledger:
    found = only_ledger(slug)
    if found is None:
        raise WhichLedger("There is no ledger here yet; open one first, with record.")
    return found


def _read(
    file: Path, encoding: str, reader: Reader
) -> tuple[list[Cycle], list[WrongCell]]:
    """Return the file's cycles and wrong cells. Raises BadOption."""
    try:
        with file.open(encoding=encoding, newline="") as lines:
            return read_cycles(lines, reader)
    except OSError as error:
        raise BadOption(f"{file} cannot be read: {error.strerror}.") from None
    except LookupError:
        raise BadOption(
            f"--encoding: {encoding!r} is not known here. Write its usual name, such as"
            " cp1252 or utf-16.",
            field="--encoding",
        ) from None
    except UnicodeError:
        known = encoding.removesuffix("-sig").upper()
        raise BadOption(
            f"{file} is not {known} text. Export it as UTF-8, or say how it was written"
            " with --encoding, such as cp1252 or utf-16."
        ) from None


def _new_cycles(
    file: Path,
    ledger: Ledger,
    reader: Reader,
    cycles: list[Cycle],
    wrong_cells: list[WrongCell],
) -> list[Cycle]:
    """Return the cycles not counted before; stop the file if anything is wrong."""
    wrong = [
        WrongLine(each.line, each.column, each.code, each.message)
        for each in wrong_cells
    ]
    before = counted_flushes(ledger.pk, [cycle.flush_id for cycle in cycles])
    for cycle in cycles:
        known = before.get(cycle.flush_id)
        if known is not None:
            wrong += [
                _counted_otherwise(cycle, reader.columns.of(field), here, there)
                for field, here, there in cycle.differences(known)
            ]
    if wrong:
        wrong.sort(key=lambda each: each.line)
        raise CommandError(report(file, wrong), returncode=1)
    if not cycles:
        raise BadOption(f"{file} holds no cycle under its line of headings.")
    return [each for each in cycles if each.flush_id not in before]


def _counted_otherwise(cycle: Cycle, column: str, here: str, before: str) -> WrongLine:
    return WrongLine(
        cycle.line,
        column,
        "flush_already_counted",
        f"found {here}, but flush {cycle.flush_id} was counted before with {before}. If"
        " the counter started again, give the unit's new epoch; if the plant's figure"
        " was wrong, have it looked into.",
    )


def _saying(origin: str, gateway: str, portion: Sequence[Cycle]) -> Saying:
    """Return the statement of a portion; the same cycles, the same entry id."""
    values = {"cycles": [dict(each.values) for each in portion]}
    return Saying(
        kind="cycles.recorded",
        data=values,
        occurred_at=max(portion, key=lambda each: each.ended_at).values["ended_at"],
        signers=(Signer(person=gateway, role="gateway"),),
        entry_id=line_entry_id(origin, json.dumps(values, sort_keys=True)),
    )


def _refused_row(
    portion: Sequence[Cycle], refused: Refused, columns: Columns
) -> WrongLine:
    """Return a refusal of a statement as one of the line and column it speaks of."""
    found = ROW_OF_FIELD.fullmatch(refused.field)
    if refused.field == "occurred_at":
        line, column = max(portion, key=lambda each: each.ended_at).line, columns.end
    elif found is None:
        line, column = portion[0].line, refused.field
    else:
        line, column = portion[int(found[1])].line, columns.of(found[2])
    message = refused.message.removeprefix(f"{refused.field}: ")
    return WrongLine(line, column, refused.code, message)


def _reader(options: dict[str, Any]) -> Reader:
    columns = [options[f"{name}_column"] for name in COLUMNS]
    unit, flush, start, end, feed_t, status, reason = columns
    return Reader(
        zone=_zone(options["zone"]),
        columns=Columns(
            unit=unit,
            flush=flush,
            start=start,
            end=end,
            feed_t=feed_t,
            status=status,
            reason=reason,
        ),
        statuses=dict(_pair(each, "--status-map") for each in options["status_map"]),
        epochs={
            unit: _epoch(n)
            for unit, n in (_pair(each, "--epoch") for each in options["epoch"])
        },
        time_format=_time_format(options["time_format"]),
        delimiter=_delimiter(options["delimiter"]),
    )


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise BadOption(
            f"--zone: {name!r} is not a time zone known here. Write its IANA name,"
            " such as Africa/Accra or UTC.",
            field="zone",
        ) from None


def _pair(text: str, option: str) -> tuple[str, str]:
    left, equals, right = text.partition("=")
    if not (left and equals and right):
        raise BadOption(
            f"{option}: found {text!r}, expected two words with = between them.",
            field=option,
        )
    return left, right


def _epoch(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or int(text) < 1:
        raise BadOption(
            f"--epoch: found {text!r}, expected a whole number from 1 on.",
            field="--epoch",
        )
    return int(text)


def _time_format(text: str) -> str:
    if text and "%" not in text:
        raise BadOption(
            f"--time-format: found {text!r}, expected a form such as %d.%m.%Y %H:%M,"
            " with a percent sign before each letter.",
            field="--time-format",
        )
    return text


def _delimiter(text: str) -> str:
    found = "\t" if text == "\\t" else text
    if len(found) != 1:
        raise BadOption(
            f"--delimiter: found {text!r}, expected one character.", field="--delimiter"
        )
    return found
