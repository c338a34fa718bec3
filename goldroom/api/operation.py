"""What an operation is: method, address, parameters, body, answers, and who does it.

One table of operations (goldroom.api.table) serves the addresses and the OpenAPI
document alike, so that neither can say anything else than the other.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest

from goldroom.faces.reader import Reader

Schema = Mapping[str, Any]
TEXT: Schema = {"type": "string"}
JSON = "application/json"
OCTETS = "application/octet-stream"


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A request as handlers get it: who asks, what the address and the body say."""

    request: HttpRequest
    reader: Reader
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    body: Any = None


@dataclass(frozen=True, kw_only=True)
class Answered:
    """What a handler gives back: plain values or bytes, its status, where it is."""

    value: Any
    status: int = 200
    location: str = ""


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """A value in the address: in its path, or after the question mark."""

    name: str
    said: str
    schema: Schema = field(default_factory=lambda: TEXT)
    example: str = ""
    is_in_path: bool = False
    is_required: bool = False


def within(name: str, said: str, schema: Schema = TEXT) -> Parameter:
    """Return a parameter that is part of the path."""
    return Parameter(
        name=name, said=said, schema=schema, is_in_path=True, is_required=True
    )


@dataclass(frozen=True, kw_only=True)
class Body:
    """What a request bears: its media type, and its schema if it is JSON."""

    schema: Schema
    media: str = JSON
    example: Any = None


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One thing that a program can ask. `needs` is the subject its roles must read.

    `answers` are schemas by status; `refusals` the statuses of problem documents
    beside those that every operation has.
    """

    name: str
    method: str
    path: str
    summary: str
    handle: Callable[[Asked], Answered]
    answers: Mapping[int, Schema]
    tag: str
    said: str = ""
    parameters: tuple[Parameter, ...] = ()
    body: Body | None = None
    refusals: tuple[int, ...] = ()
    needs: str = ""
    media: str = JSON
    is_open: bool = False
