"""JSON Schemas (draft 2020-12) out of the dataclasses and fields themselves.

Reports give theirs by their types, as `as_plain` turns them into values; a kind's
data by its fields' specs. Figures are texts: a decimal point never becomes binary.
"""

import dataclasses
import types
import typing
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Union, get_args, get_origin, get_type_hints

from goldroom.statements.fields import SOURCES, Spec, specs
from goldroom.statements.kind import Statement

DECIMAL = r"^-?[0-9]+(\.[0-9]+)?$"
CODE = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
PLAIN: Mapping[Any, Mapping[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    bytes: {"type": "string", "contentEncoding": "base64"},
    Decimal: {"type": "string", "pattern": DECIMAL},
    date: {"type": "string", "format": "date"},
    datetime: {"type": "string", "format": "date-time"},
    type(None): {"type": "null"},
    Any: {},
    object: {},
}
READING: Mapping[str, Any] = {
    "type": "object",
    "description": "digits as the instrument showed them",
    "properties": {
        "reading": {"type": "string", "pattern": DECIMAL},
        "unit": {"enum": ["g", "kg", "ozt"]},
        "instrument": {"type": "string", "pattern": CODE},
        "source": {"enum": list(SOURCES)},
        "confirmed": {"type": "boolean"},
    },
    "required": ["reading", "unit", "instrument"],
    "additionalProperties": False,
}


class Named(dict[str, Any]):
    """Schemas by name, each with the class that it describes."""

    def __init__(self) -> None:
        """Begin without any."""
        super().__init__()
        self.owners: dict[str, Any] = {}

    def name_of(self, cls: Any) -> str:
        """Return a class's name here: with its module's where two are called so."""
        name: str = cls.__name__
        if self.owners.setdefault(name, cls) is not cls:
            name = f"{cls.__module__.rpartition('.')[2]}.{name}"
            self.owners[name] = cls
        return name


def reference(name: str) -> dict[str, Any]:
    """Return a reference to a named schema of the document."""
    return {"$ref": f"#/components/schemas/{name}"}


def listed(name: str, schema: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """Return the schema of an object that holds one list."""
    return closed({name: {"type": "array", "items": schema}, **more})


def closed(properties: Mapping[str, Any]) -> dict[str, Any]:
    """Return the schema of an object with these values, all of them, and no others."""
    return {
        "type": "object",
        "properties": dict(properties),
        "required": list(properties),
        "additionalProperties": False,
    }


def of_type(hint: Any, found: Named) -> Mapping[str, Any]:
    """Return the schema of a type as `as_plain` shows it; named ones go to `found`."""
    if hint in PLAIN:
        return PLAIN[hint]
    if dataclasses.is_dataclass(hint):
        return _of_dataclass(hint, found)
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return {"anyOf": [of_type(each, found) for each in arguments]}
    if origin is tuple and len(arguments) == 2 and arguments[1] is Ellipsis:
        return {"type": "array", "items": of_type(arguments[0], found)}
    if origin in (tuple, list):
        parts = [of_type(each, found) for each in arguments]
        return {"type": "array", "items": {"anyOf": parts}}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {
            "type": "object",
            "additionalProperties": of_type(arguments[1], found),
        }
    assert origin is typing.Literal, hint
    return {"enum": list(arguments)}


def _of_dataclass(cls: Any, found: Named) -> dict[str, Any]:
    name = found.name_of(cls)
    if name not in found:
        found[name] = {}  # holds its place while its own parts are described
        hints = get_type_hints(cls)
        parts = {
            each.name: of_type(hints[each.name], found)
            for each in dataclasses.fields(cls)
        }
        found[name] = {**closed(parts), "description": _said(cls)}
    return reference(name)


def _said(cls: Any) -> str:
    text = " ".join((cls.__doc__ or "").split())
    return text if not text.startswith(f"{cls.__name__}(") else ""


def schema_of_kind(cls: type[Statement]) -> dict[str, Any]:
    """Return the JSON Schema of a kind's data."""
    said = (cls.__doc__ or "").strip().splitlines()[0]
    return {**_of_fields(cls), "title": cls.title, "description": said}


def _of_fields(cls: type) -> dict[str, Any]:
    found = specs(cls)
    return {
        "type": "object",
        "properties": {name: _of_spec(spec) for name, spec in found.items()},
        "required": [name for name, spec in found.items() if not spec.optional],
        "additionalProperties": False,
    }


def _of_spec(spec: Spec) -> dict[str, Any]:
    unit = f", {spec.unit}" if spec.unit else ""
    bounds = ""
    if spec.sort == "number" and spec.low is not None and spec.high is not None:
        bounds = f" From {spec.low} to {spec.high}."
    rest = f" {spec.help}" if spec.help else ""
    named = {"title": f"{spec.label}{unit}"}
    if bounds or rest:
        named["description"] = f"{bounds}{rest}".strip()
    return {**named, **_of_sort(spec)}


def _of_sort(spec: Spec) -> dict[str, Any]:
    if spec.sort == "code":
        return {"type": "string", "pattern": CODE}
    if spec.sort == "codes":
        items = {"type": "string", "pattern": CODE}
        return {"type": "array", "items": items, "uniqueItems": True}
    if spec.sort == "choice":
        return {"enum": list(spec.choices)}
    if spec.sort == "flag":
        return {"type": "boolean"}
    if spec.sort == "whole":
        assert spec.low is not None
        assert spec.high is not None
        low, high = int(spec.low), int(spec.high)
        return {"type": "integer", "minimum": low, "maximum": high}
    if spec.sort == "number":
        return {"type": "string", "pattern": DECIMAL}
    if spec.sort == "moment":
        return {"type": "string", "format": "date-time"}
    if spec.sort == "day":
        return {"type": "string", "format": "date"}
    if spec.sort == "reading":
        return dict(READING)
    if spec.sort == "rows" and spec.rows is not None:
        return {
            "type": "array",
            "items": _of_fields(spec.rows),
            "maxItems": spec.most,
            "minItems": 0 if spec.optional else 1,
        }
    if spec.sort == "one" and spec.rows is not None:
        return _of_fields(spec.rows)
    if spec.sort == "opaque":
        return {"type": "object"}
    return {"type": "string", "minLength": 1, "maxLength": 2000}
