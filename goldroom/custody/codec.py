"""Records to plain JSON values and back, exactly.

A record is a frozen dataclass whose fields are text, whole numbers, flags,
`Decimal` (kept as its own text), `None`, other records, and tuples of these.
`to_plain` gives dictionaries, lists, strings, integers, booleans and `None`;
`from_plain` gives the record back, equal to what was taken. No binary float can
pass: metal is exact. `text_of` is a record's one canonical text, `digest_of` stands
for a text.
"""

import dataclasses
import functools
import hashlib
import json
import types
import typing
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, TypeVar

T = TypeVar("T")
PLAIN = (str, int, bool)
ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def to_plain(value: Any) -> Any:
    """Return the record as plain values that canonical JSON can hold."""
    if value is None or type(value) in PLAIN:
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: to_plain(getattr(value, name)) for name in _names(type(value))}
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, tuple):
        return [to_plain(part) for part in value]
    raise AssertionError(type(value))


def from_plain(record_type: type[T], plain: Mapping[str, Any]) -> T:
    """Return the record of this type that `to_plain` made `plain` from."""
    hints = _hints(record_type)
    return record_type(**{name: _build(hints[name], plain[name]) for name in hints})


def text_of(record: Any) -> str:
    """Return a record's canonical text: sorted keys, no spaces."""
    return ENCODER.encode(to_plain(record))


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text, in hexadecimal ("" for no text)."""
    return hashlib.sha256(text.encode()).hexdigest() if text else ""


@functools.cache
def _names(record_type: Any) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(record_type))


_HINTS: dict[type, dict[str, Any]] = {}


def _hints(record_type: type) -> dict[str, Any]:
    if record_type not in _HINTS:
        _HINTS[record_type] = _hints_of(record_type)
    return _HINTS[record_type]


def _hints_of(record_type: Any) -> dict[str, Any]:
    hints = typing.get_type_hints(record_type)
    return {name: hints[name] for name in _names(record_type)}


def _build(hint: Any, plain: Any) -> Any:
    if plain is None:
        return None
    origin = typing.get_origin(hint)
    if origin in (types.UnionType, typing.Union):
        inner = [part for part in typing.get_args(hint) if part is not type(None)]
        return _build(inner[0], plain)
    if origin is tuple:
        return tuple(_build(typing.get_args(hint)[0], part) for part in plain)
    if hint is Decimal:
        return Decimal(plain)
    if dataclasses.is_dataclass(hint):
        return from_plain(typing.cast(type, hint), plain)
    return plain
