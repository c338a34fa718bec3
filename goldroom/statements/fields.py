"""The fields of a statement: what each is called, how it is read, what it may be.

A kind's values are a frozen dataclass whose fields are made by the functions here
(`text`, `code`, `number`, `reading` ...). One description serves every face: forms,
the API, tables and papers take label, unit, range and help from it. `parse` reads
values as they come from canonical JSON (text, whole numbers, flags, lists,
objects), refuses what does not fit by the field's path (`products[1].mass`), and
`dump` gives back the one canonical form: what is absent or empty is left out.
"""

import dataclasses
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any, TypeVar

from goldroom.custody.codec import digest_of
from goldroom.custody.reading import Reading
from goldroom.errors import Refusal
from goldroom.guess import meant
from goldroom.metal.units import grams_per, parse_decimal

T = TypeVar("T")
CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
SOURCES = ("typed", "instrument", "paper")


class BadField(Refusal):
    """A value is missing, of another sort than its field, or out of its range."""

    code = "bad_field"


@dataclass(frozen=True)
class Spec:
    """What a field is: label and help for people, sort and bounds for the reader."""

    label: str
    sort: str
    help: str = ""
    unit: str = ""
    optional: bool = False
    choices: tuple[str, ...] = ()
    low: Decimal | None = None
    high: Decimal | None = None
    above_high: type[Refusal] = BadField
    table: str = ""
    rows: type | None = None
    most: int = 300
    is_figure: bool = False


def _made(spec: Spec) -> Any:
    if spec.optional:
        empty: Any = () if spec.sort in ("rows", "codes") else None
        return field(default=empty, metadata={"spec": spec})
    return field(metadata={"spec": spec})


def text(label: str, *, optional: bool = False, **more: Any) -> Any:
    """Describe a short text in the signers' own words."""
    return _made(Spec(label, "text", optional=optional, **more))


def code(label: str, *, table: str = "", optional: bool = False, **more: Any) -> Any:
    """Describe an id: of a record in `table`, or a new one if `table` is empty."""
    return _made(Spec(label, "code", table=table, optional=optional, **more))


def codes(label: str, *, table: str = "", optional: bool = False, **more: Any) -> Any:
    """Describe a list of ids, none twice."""
    return _made(Spec(label, "codes", table=table, optional=optional, **more))


def choice(label: str, choices: tuple[str, ...], **more: Any) -> Any:
    """Describe one word out of a fixed list."""
    return _made(Spec(label, "choice", choices=choices, **more))


def flag(label: str, **more: Any) -> Any:
    """Describe a yes or no."""
    return _made(Spec(label, "flag", **more))


def whole(label: str, *, low: int = 0, high: int = 10**9, **more: Any) -> Any:
    """Describe a whole number between two bounds."""
    more |= {"low": Decimal(low), "high": Decimal(high)}
    return _made(Spec(label, "whole", **more))


def number(
    label: str, unit: str, *, low: str = "0", high: str = "1000000000", **more: Any
) -> Any:
    """Describe an exact decimal figure, given as text, between two bounds."""
    more |= {"low": Decimal(low), "high": Decimal(high)}
    more.setdefault("is_figure", True)
    return _made(Spec(label, "number", unit=unit, **more))


def moment(label: str, **more: Any) -> Any:
    """Describe a time: RFC 3339 to the second with a numeric offset."""
    return _made(Spec(label, "moment", **more))


def day(label: str, **more: Any) -> Any:
    """Describe a calendar day, YYYY-MM-DD."""
    return _made(Spec(label, "day", **more))


def reading(label: str, **more: Any) -> Any:
    """Describe digits read off an instrument."""
    return _made(Spec(label, "reading", is_figure=True, **more))


def rows(label: str, row: type, *, optional: bool = False, **more: Any) -> Any:
    """Describe a list of rows, each with the fields of `row`."""
    return _made(Spec(label, "rows", rows=row, optional=optional, **more))


def one(label: str, row: type, *, optional: bool = False, **more: Any) -> Any:
    """Describe a single group of fields, those of `row`."""
    return _made(Spec(label, "one", rows=row, optional=optional, **more))


def opaque(label: str, **more: Any) -> Any:
    """Describe an object that another layer reads (keys, policies)."""
    return _made(Spec(label, "opaque", **more))


def specs(cls: type) -> dict[str, Spec]:
    """Return the descriptions of a class's fields, by name, in order."""
    if cls not in _SPECS:
        _SPECS[cls] = _specs_of(cls)
    return _SPECS[cls]


_SPECS: dict[type, dict[str, Spec]] = {}


def _specs_of(cls: Any) -> dict[str, Spec]:
    return {each.name: each.metadata["spec"] for each in dataclasses.fields(cls)}


def parse(cls: type[T], values: Any, path: str = "") -> T:
    """Return the values as the class's own; refuse what does not fit, by path."""
    if not isinstance(values, Mapping):
        raise BadField(
            f"{path or 'the values'}: found {_seen(values)}, expected an object of"
            f" named values: {', '.join(specs(cls))}. Write each value with its name.",
            field=path,
        )
    for name in values:
        if name not in specs(cls):
            raise BadField(
                f"{path}{name}: no such field here. {meant(name, specs(cls))}Write one"
                f" of {', '.join(specs(cls))}.",
                field=f"{path}{name}",
            )
    made: dict[str, Any] = {}
    for name, spec in specs(cls).items():
        if name not in values or values[name] is None:
            if not spec.optional:
                raise _missing(spec, f"{path}{name}")
            continue
        made[name] = _READERS[spec.sort](values[name], spec, f"{path}{name}")
    return cls(**made)


def refusals(cls: type, values: Mapping[str, Any], path: str = "") -> Iterator[Refusal]:
    """Yield what `parse` would refuse, all of it and not the first alone."""
    for name, spec in specs(cls).items():
        here, value = f"{path}{name}", values.get(name)
        if value is None and not spec.optional:
            yield _missing(spec, here)
        elif value is None:
            continue
        elif spec.sort == "one" and spec.rows and isinstance(value, Mapping):
            yield from refusals(spec.rows, value, f"{here}.")
        elif spec.sort == "rows" and spec.rows and _are_rows(value):
            for n, row in enumerate(value):
                yield from refusals(spec.rows, row, f"{here}[{n}].")
        else:
            try:
                _READERS[spec.sort](value, spec, here)
            except Refusal as refusal:
                yield refusal


def _are_rows(value: Any) -> bool:
    is_list = isinstance(value, list) and bool(value)
    return is_list and all(isinstance(row, Mapping) for row in value)


def dump(said: Any) -> dict[str, Any]:
    """Return the one canonical form of the values, ready for the record."""
    plain: dict[str, Any] = {}
    for name, spec in specs(type(said)).items():
        value = getattr(said, name)
        if value is None or (spec.optional and value == ()):
            continue
        plain[name] = _dump_value(value, spec)
    return plain


def named_in(said: Any) -> Iterator[tuple[str, str]]:
    """Yield what the values name, as (table, key): items, vessels, persons ..."""
    for name, spec in specs(type(said)).items():
        value = getattr(said, name)
        if value is None:
            continue
        if spec.sort == "rows":
            for row in value:
                yield from named_in(row)
        elif spec.sort == "one":
            yield from named_in(value)
        elif spec.table:
            keys = value if spec.sort == "codes" else (value,)
            yield from ((spec.table, key) for key in keys)


def frame(said: Any) -> Any:
    """Return the values without their figures: what a correction must not change."""
    kept: dict[str, Any] = {}
    for name, spec in specs(type(said)).items():
        value = getattr(said, name)
        if spec.sort == "rows":
            kept[name] = [frame(row) for row in value]
        elif spec.sort == "one" and value is not None:
            kept[name] = frame(value)
        elif not spec.is_figure and value is not None:
            kept[name] = _dump_value(value, spec)
    return kept


def frame_digest(said: Any) -> str:
    """Return the digest of all that a correction of figures must leave alone."""
    plain = json.dumps(frame(said), sort_keys=True, separators=(",", ":"))
    return digest_of(plain)


def _dump_value(value: Any, spec: Spec) -> Any:
    if spec.sort == "rows":
        return [dump(row) for row in value]
    if spec.sort == "one":
        return dump(value)
    if spec.sort == "codes":
        return list(value)
    if spec.sort == "number":
        return format(value, "f")
    if spec.sort == "moment":
        return value.isoformat()
    if spec.sort == "day":
        return value.isoformat()
    if spec.sort == "reading":
        return _dump_reading(value)
    return value


def _dump_reading(value: Reading) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "reading": format(value.reading, "f"),
        "unit": value.unit,
        "instrument": value.instrument,
        "source": value.source,
    }
    return {**plain, "confirmed": True} if value.confirmed else plain


def _seen(value: Any) -> str:
    return repr(value) if len(repr(value)) <= 60 else repr(value)[:57] + "..."


def _choices(spec: Spec) -> str:
    return f"; expected one of {', '.join(spec.choices)}" if spec.choices else ""


def _missing(spec: Spec, path: str) -> BadField:
    return BadField(
        f"{path}: {spec.label} is missing{_choices(spec)}. Write it.", field=path
    )


def _wrong(
    value: Any, spec: Spec, path: str, expected: str, *, remedy: str = "Write it so."
) -> BadField:
    return BadField(
        f"{path}: {spec.label}: found {_seen(value)}, expected {expected}. {remedy}",
        field=path,
    )


def _read_text(value: Any, spec: Spec, path: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _wrong(value, spec, path, "some words")
    if len(value) > 2000:
        shorten = "Shorten it, and attach the rest as a file."
        raise _wrong(value, spec, path, "at most 2000 characters", remedy=shorten)
    return value


def _read_code(value: Any, spec: Spec, path: str) -> str:
    if not isinstance(value, str) or not CODE.fullmatch(value):
        raise _wrong(
            value,
            spec,
            path,
            "an id: letters, digits, dot, dash and underscore, at most 64",
        )
    return value


def _read_codes(value: Any, spec: Spec, path: str) -> tuple[str, ...]:
    if not isinstance(value, list | tuple) or (not value and not spec.optional):
        raise _wrong(value, spec, path, "a list of ids")
    found = tuple(
        _read_code(each, spec, f"{path}[{n}]") for n, each in enumerate(value)
    )
    for n, each in enumerate(found):
        if each in found[:n]:
            raise BadField(
                f"{path}[{n}]: {each} is listed twice. Write each id once.",
                field=f"{path}[{n}]",
            )
    return found


def _read_choice(value: Any, spec: Spec, path: str) -> str:
    if value not in spec.choices:
        one_of = f"one of {', '.join(spec.choices)}"
        raise _wrong(value, spec, path, one_of, remedy="Write one of these.")
    assert isinstance(value, str)
    return value


def _read_flag(value: Any, spec: Spec, path: str) -> bool:
    if not isinstance(value, bool):
        raise _wrong(value, spec, path, "true or false")
    return value


def _check_range(value: Decimal, spec: Spec, path: str) -> None:
    assert spec.low is not None
    assert spec.high is not None
    if value > spec.high:
        raise spec.above_high(
            f"{path}: {spec.label}: found {value}, expected at most {spec.high}"
            f" {spec.unit}. Read it again.".replace(" .", "."),
            field=path,
        )
    if value < spec.low:
        least = f"at least {spec.low} {spec.unit}".strip()
        raise _wrong(str(value), spec, path, least, remedy="Read it again.")


def _read_whole(value: Any, spec: Spec, path: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _wrong(value, spec, path, "a whole number, without quotation marks")
    _check_range(Decimal(value), spec, path)
    return value


def _read_number(value: Any, spec: Spec, path: str) -> Decimal:
    found = parse_decimal(value, field=path)
    _check_range(found, spec, path)
    return found


def _read_moment(value: Any, spec: Spec, path: str) -> datetime:
    expected = "a time with its offset, such as 2026-01-31T06:00:00+02:00"
    if not isinstance(value, str) or len(value) != 25:
        raise _wrong(value, spec, path, expected)
    try:
        found = datetime.fromisoformat(value)
    except ValueError:
        raise _wrong(value, spec, path, expected) from None
    if found.tzinfo is None or found.isoformat() != value:
        raise _wrong(value, spec, path, expected)
    return found


def _read_day(value: Any, spec: Spec, path: str) -> date:
    try:
        found = date.fromisoformat(value)
    except (ValueError, TypeError):
        raise _wrong(value, spec, path, "a day, such as 2026-01-31") from None
    if found.isoformat() != value:
        raise _wrong(value, spec, path, "a day, such as 2026-01-31")
    return found


def _read_reading(value: Any, spec: Spec, path: str) -> Reading:
    if not isinstance(value, Mapping):
        raise _wrong(
            value, spec, path, "an object with reading, unit, instrument and source"
        )
    wanted = {"reading", "unit", "instrument", "source", "confirmed"}
    if not set(value) <= wanted or not {"reading", "unit", "instrument"} <= set(value):
        raise _wrong(value, spec, path, "reading, unit, instrument and source, only")
    if not isinstance(value["unit"], str):
        raise _wrong(value["unit"], spec, f"{path}.unit", "g, kg or ozt")
    grams_per(value["unit"], field=f"{path}.unit")
    plain = Spec(spec.label, "code", choices=SOURCES)
    confirmed = _read_flag(value.get("confirmed", False), spec, f"{path}.confirmed")
    return Reading(
        reading=parse_decimal(value["reading"], field=f"{path}.reading"),
        unit=value["unit"],
        instrument=_read_code(value["instrument"], plain, f"{path}.instrument"),
        source=_read_choice(value.get("source", "typed"), plain, f"{path}.source"),
        confirmed=confirmed,
    )


def _read_rows(value: Any, spec: Spec, path: str) -> tuple[Any, ...]:
    assert spec.rows is not None
    if not isinstance(value, list | tuple) or (not value and not spec.optional):
        raise _wrong(value, spec, path, "a list of rows, at least one")
    if len(value) > spec.most:
        rest = "Say the rest in another statement."
        raise _wrong(
            f"{len(value)} rows", spec, path, f"at most {spec.most} rows", remedy=rest
        )
    return tuple(parse(spec.rows, row, f"{path}[{n}].") for n, row in enumerate(value))


def _read_one(value: Any, spec: Spec, path: str) -> Any:
    assert spec.rows is not None
    return parse(spec.rows, value, f"{path}.")


def _read_opaque(value: Any, spec: Spec, path: str) -> Any:
    return value


_READERS = {
    "text": _read_text,
    "code": _read_code,
    "codes": _read_codes,
    "choice": _read_choice,
    "flag": _read_flag,
    "whole": _read_whole,
    "number": _read_number,
    "moment": _read_moment,
    "day": _read_day,
    "reading": _read_reading,
    "rows": _read_rows,
    "one": _read_one,
    "opaque": _read_opaque,
}
