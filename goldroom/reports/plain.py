"""Report objects as plain values for JSON: figures as text, never binary floats."""

import dataclasses
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any


def as_plain(value: Any) -> Any:
    """Return a report, or part of one, as dictionaries, lists, text and numbers."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: as_plain(getattr(value, field.name))
            for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(name): as_plain(part) for name, part in value.items()}
    if isinstance(value, tuple | list):
        return [as_plain(part) for part in value]
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, date | datetime):
        return value.isoformat()
    assert value is None or isinstance(value, str | int | bool), type(value)
    return value
