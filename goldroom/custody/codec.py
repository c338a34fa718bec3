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
from collections.abc import Callable, Hashable, Mapping
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
    builders = _builders(typing.cast(Hashable, record_type))
    return record_type(**{name: build(plain[name]) for name, build in builders})


def text_of(record: Any) -> str:
    """Return a record's canonical text: sorted keys, no spaces."""
    return ENCODER.encode(to_plain(record))


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text, in hexadecimal ("" for no text)."""
    return hashlib.sha256(text.encode()).hexdigest() if text else ""


@functools.cache
def _names(record_type: Any) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(record_type))


Builder = Callable[[Any], Any]
"""Makes a field's value from its plain one."""


@functools.cache
def _builders(record_type: Hashable) -> tuple[tuple[str, Builder], ...]:
    """Return how each field of a record is made: hints are read once a type."""
    hints = typing.get_type_hints(record_type)
    return tuple((name, _builder(hints[name])) for name in _names(record_type))


def _builder(hint: Any) -> Builder:
    """Return what makes a value of this hint; None stays None."""
    origin = typing.get_origin(hint)
    if origin in (types.UnionType, typing.Union):
        inner = [part for part in typing.get_args(hint) if part is not type(None)]
        return _builder(inner[0])
    if origin is tuple:
        part = _builder(typing.get_args(hint)[0])
        return lambda plain: None if plain is None else tuple(map(part, plain))
    if hint is Decimal:
        return lambda plain: None if plain is None else Decimal(plain)
    if dataclasses.is_dataclass(hint):
        inner_type = typing.cast(type, hint)
        return lambda plain: None if plain is None else from_plain(inner_type, plain)
    return _as_it_is


def _as_it_is(plain: Any) -> Any:
    return plain
