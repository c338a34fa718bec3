"""What is written down of requests and failures, and what never is.

One line of JSON for each request (logger `goldroom.requests`, to standard output):

    at        the machine's time, UTC
    id        the request's id, also in the answer's header X-Request-ID
    method, path (never the query), route (the address's name), status, ms
    person    who asked, by their id, or "-"
    entry     the number of the entry that the act made, or "-"

Failures come with their traceback to standard error. An exception's own words may
hold what somebody typed: of an exception only its class and the lines of the
program are written.
"""

import json
import logging
import uuid
from collections.abc import Iterator, Mapping
from traceback import format_tb
from types import TracebackType
from typing import Any

from django.http import HttpRequest

REQUESTS = logging.getLogger("goldroom.requests")
NONE = "-"
_ID, _ENTRY = "goldroom.request_id", "goldroom.entry"


def id_of(request: HttpRequest) -> str:
    """Return the id of a request, made when it is first asked for."""
    found: str = request.META.setdefault(_ID, uuid.uuid4().hex)
    return found


def note_entry(request: HttpRequest, seq: int) -> None:
    """Keep with a request the number of the entry that it made."""
    request.META[_ENTRY] = seq


def entry_of(request: HttpRequest) -> int | str:
    """Return the number of the entry that a request made, or "-"."""
    found = request.META.get(_ENTRY, NONE)
    assert isinstance(found, int | str)
    return found


def write_request(values: Mapping[str, Any]) -> None:
    """Write a request's line."""
    REQUESTS.info(json.dumps(dict(values)))


class FailureFormatter(logging.Formatter):
    """Writes a failure with its request's id and traceback, without anybody's words."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the record as text, the request's id before it."""
        request = getattr(record, "request", None)
        known = id_of(request) if isinstance(request, HttpRequest) else NONE
        return f"{record.levelname} {record.name} {known} {super().format(record)}"

    def formatException(self, ei: Any) -> str:
        """Return the traceback, each exception told by its class alone."""
        _, raised, _ = ei
        return "".join(_told(raised)).rstrip()


def _told(raised: BaseException | None) -> Iterator[str]:
    if raised is None:
        return
    before = raised.__cause__ or raised.__context__
    if before is not None:
        yield from _told(before)
        yield "and then\n"
    yield from _lines(raised, raised.__traceback__)


def _lines(raised: BaseException, where: TracebackType | None) -> Iterator[str]:
    yield from format_tb(where)
    yield f"{type(raised).__module__}.{type(raised).__qualname__}\n"
