"""A form's boxes as typed, by path, turned into the values of a statement.

    "mass.reading" -> {"mass": {"reading": ...}}      "products[1].item" -> rows

What cannot be turned stays as typed, so that the statement's own reader refuses it
in its own words. A decimal comma is taken for a point, and blanks between digits
are left out; nothing else is guessed.
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from goldroom.errors import Refusal
from goldroom.statements.fields import BadField, Spec, specs

WALL = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?")
BETWEEN = re.compile(r"[,;\s]+")
BLANKS = re.compile(r"[\s\u00a0\u2009\u202f']+")
ROWS_MOST = 300
ROW = re.compile("[0-9]{1,3}")


class NoSuchTime(Refusal):
    """A clock time that the site's clock skipped or showed twice."""

    code = "no_such_time"


@dataclass(frozen=True, kw_only=True)
class Typed:
    """The boxes as typed, with the site's zone and the unit each instrument shows."""

    boxes: Mapping[str, str]
    zone: str
    units: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Turned:
    """Values for a statement, and what could not even be turned into one."""

    data: dict[str, Any]
    refusals: tuple[Refusal, ...]


def turned(cls: type, typed: Typed) -> Turned:
    """Return the values of a statement's class from its boxes."""
    refused: list[Refusal] = []
    data = _object(cls, "", typed, refused)
    return Turned(data=data, refusals=tuple(refused))


def _object(
    cls: type, path: str, typed: Typed, refused: list[Refusal]
) -> dict[str, Any]:
    found = {}
    for name, spec in specs(cls).items():
        try:
            value = _value(spec, f"{path}{name}", typed, refused)
        except Refusal as refusal:
            refused.append(refusal)
            continue
        if value not in (None, "", [], {}):
            found[name] = value
    return found


def _value(spec: Spec, path: str, typed: Typed, refused: list[Refusal]) -> Any:
    if spec.sort == "rows":
        assert spec.rows is not None
        return [
            _object(spec.rows, f"{path}[{n}].", typed, refused)
            for n in rows_filled(typed.boxes, path)
        ]
    if spec.sort == "one":
        assert spec.rows is not None
        if not any(_filled(typed.boxes, f"{path}.")):
            return None
        return _object(spec.rows, f"{path}.", typed, refused)
    if spec.sort == "reading":
        return _reading(path, typed)
    text = typed.boxes.get(path, "").strip()
    return _plain(spec, text, path, typed.zone) if text else None


def _plain(spec: Spec, text: str, path: str, zone: str) -> Any:
    if spec.sort == "whole":
        return int(text) if text.isdecimal() and len(text) < 18 else text
    if spec.sort == "number":
        return figure_text(text)
    if spec.sort == "flag":
        return {"yes": True, "no": False}.get(text, text)
    if spec.sort == "codes":
        return [each for each in BETWEEN.split(text) if each]
    if spec.sort == "moment":
        return moment_text(text, zone, path)
    if spec.sort == "opaque":
        return _json(text, path)
    return text


def _reading(path: str, typed: Typed) -> dict[str, Any] | None:
    digits = typed.boxes.get(f"{path}.reading", "").strip()
    instrument = typed.boxes.get(f"{path}.instrument", "").strip()
    if not digits:
        return None
    if not instrument:
        raise BadField(
            f"{path}.instrument: no instrument is named for this reading. Choose the"
            " one that you read it from.",
            field=f"{path}.instrument",
        )
    found: dict[str, Any] = {
        "reading": figure_text(digits),
        "unit": typed.units.get(instrument, "g"),
        "instrument": instrument,
        "source": typed.boxes.get(f"{path}.source", "") or "typed",
    }
    if typed.boxes.get(f"{path}.confirmed") == "yes":
        found["confirmed"] = True
    return found


def figure_text(text: str) -> str:
    """Return a figure with a decimal point, as the record writes it."""
    plain = BLANKS.sub("", text)
    is_comma = plain.count(",") == 1 and "." not in plain
    return plain.replace(",", ".") if is_comma else plain


def moment_text(text: str, zone: str, path: str) -> str:
    """Return a time of the site's clock with its offset. Raises NoSuchTime."""
    if not WALL.fullmatch(text):
        return text
    try:
        wall = datetime.fromisoformat(text)
    except ValueError:
        return text
    here = ZoneInfo(zone)
    earlier, later = (wall.replace(tzinfo=here, fold=fold) for fold in (0, 1))
    if earlier.utcoffset() != later.utcoffset():
        raise NoSuchTime(
            f"{path}: the clocks were changed at {text.replace('T', ' ')}, so this time"
            " came twice or never. Write it with its offset, such as"
            f" {earlier.isoformat()}.",
            field=path,
        )
    return earlier.isoformat()


def _json(text: str, path: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise BadField(
            f"{path}: found text that is not JSON. Paste the whole object, from the"
            " first brace to the last.",
            field=path,
        ) from None


def rows_filled(boxes: Mapping[str, str], path: str) -> range:
    """Return the numbers of the rows up to the last one with anything in it."""
    return range(max((n + 1 for n, _ in _numbered(boxes, path)), default=0))


def _numbered(boxes: Mapping[str, str], path: str) -> Iterator[tuple[int, str]]:
    """Yield (row number, value) of every filled box below a list of rows."""
    for rest, value in _filled(boxes, f"{path}["):
        number, bracket, _ = rest.partition("]")
        if bracket and ROW.fullmatch(number) and int(number) < ROWS_MOST:
            yield int(number), value


def _filled(boxes: Mapping[str, str], start: str) -> Iterator[tuple[str, str]]:
    """Yield what follows `start` in the paths of filled boxes, with their values.

    How a reading was taken is no value of its own: it has a choice made beforehand.
    """
    for path, value in boxes.items():
        if path.startswith(start) and value.strip() and not path.endswith(".source"):
            yield path.removeprefix(start), value


def without_row(boxes: Mapping[str, str], path: str, row: int) -> dict[str, str]:
    """Return the boxes less one row of a list; the rows below it move up."""
    kept = {}
    start = f"{path}["
    for name, value in boxes.items():
        number, bracket, rest = name.removeprefix(start).partition("]")
        is_row = name.startswith(start) and bracket and ROW.fullmatch(number)
        if not is_row or int(number) < row:
            kept[name] = value
        elif int(number) > row:
            kept[f"{start}{int(number) - 1}]{rest}"] = value
    return kept


def boxes_of(data: Any, path: str = "") -> dict[str, str]:
    """Return recorded values as boxes: what a form shows to be corrected."""
    if isinstance(data, Mapping):
        found: dict[str, str] = {}
        for name, value in data.items():
            found |= boxes_of(value, f"{path}.{name}" if path else str(name))
        return found
    if isinstance(data, list) and data and isinstance(data[0], Mapping):
        found = {}
        for n, row in enumerate(data):
            found |= boxes_of(row, f"{path}[{n}]")
        return found
    if isinstance(data, list):
        return {path: " ".join(str(each) for each in data)}
    if isinstance(data, bool):
        return {path: "yes" if data else "no"}
    return {path: str(data)}
