"""Refusals as problem documents (RFC 9457): what went wrong, where, and what to do.

type      an address of ours that tells the code's meaning
title     the meaning, the same for every occurrence
status    the HTTP status
detail    what was found, what was expected, and what to do next
instance  the request's id, which stands in the server's log too
code      the refusal's code, which never changes
field     the path of the value it speaks of ("" for the whole)
refusals  every refusal as {code, field, detail}, where there are several
"""

import logging
from typing import Any

from django.core.exceptions import (
    BadRequest,
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
)
from django.http import Http404, HttpRequest, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from rest_framework import exceptions
from rest_framework.response import Response

from goldroom import errors
from goldroom.api.meanings import meaning_of
from goldroom.commands import NotAsPrepared
from goldroom.errors import Refusal
from goldroom.faces import backend, logs
from goldroom.faces.acts import NotYourPlace
from goldroom.faces.reading import NotForYou
from goldroom.reports.metal import NothingRecorded
from goldroom.reports.numbers import NoNumberSeries
from goldroom.sayings import BadLine
from goldroom.statements.registry import UnknownKind
from ledger import errors as kept
from ledger.core.errors import LedgerRefusal

LOG = logging.getLogger("goldroom.api")
MEDIA = "application/problem+json"
AnyRefusal = Refusal | LedgerRefusal


class NotSignedIn(Refusal):
    """Nobody is signed in, or the token is unknown, over, or its key is void."""

    code = "not_signed_in"


class NotFromOurPage(Refusal):
    """A session acts only from our own pages; the CSRF token is missing or wrong."""

    code = "not_from_our_page"


class NoSuchAddress(Refusal):
    """There is nothing at this address."""

    code = "no_such_address"


class NoSuchMethod(Refusal):
    """The address does not take this method."""

    code = "no_such_method"


class OtherMedia(Refusal):
    """The body's media type is not one that the address takes."""

    code = "other_media"


class NotReadable(Refusal):
    """The request cannot be read."""

    code = "not_readable"


class TooLarge(Refusal):
    """The body is larger than the server takes."""

    code = "too_large"


class Broken(Refusal):
    """The program itself failed; what was recorded is safe."""

    code = "program_failed"


STATUS: tuple[tuple[int, tuple[type[Exception], ...]], ...] = (
    (401, (NotSignedIn,)),
    (405, (NoSuchMethod,)),
    (413, (TooLarge,)),
    (415, (OtherMedia,)),
    (500, (Broken,)),
    (503, (errors.TableDamaged, kept.LedgerDamaged)),
    (400, (NotReadable, BadLine)),
    (
        403,
        (
            NotForYou,
            NotYourPlace,
            NotFromOurPage,
            backend.PassphraseWrong,
            backend.NotTheKey,
        ),
    ),
    (
        409,
        (
            errors.SubjectChanged,
            kept.EntryIdUsed,
            kept.NonceRefused,
            kept.BasisRefused,
            kept.ProposalLapsed,
            kept.ProposalRefused,
            NotAsPrepared,
        ),
    ),
    (
        404,
        (NoSuchAddress, kept.NoSuchEntry, kept.NoSuchLedger, kept.NoSuchProposal),
    ),
)
"""Which status tells which refusal; the first that fits counts."""

MISSING_WHERE_READ = (
    errors.UnknownThing,
    errors.WrongSort,
    errors.ItemNotHeld,
    UnknownKind,
    NothingRecorded,
    NoNumberSeries,
)
"""Refused in a statement, simply not there where something is read."""


def program_failed() -> Broken:
    """Return the refusal that tells of a failure of the program itself."""
    return Broken(
        "The program failed at this. What was recorded is safe. Ask with the same"
        " entry_id again, and tell whoever runs this server the request's id."
    )


def no_such_address() -> NoSuchAddress:
    """Return the refusal of an address that leads nowhere."""
    return NoSuchAddress(
        "Nothing is at this address. Take the addresses from /api/v1/openapi.json."
    )


def status_of(refusal: AnyRefusal, method: str) -> int:
    """Return the status that tells a refusal, asked by this method."""
    for status, classes in STATUS:
        if isinstance(refusal, classes):
            return status
    if method not in ("GET", "HEAD"):
        return 422
    return 404 if isinstance(refusal, MISSING_WHERE_READ) else 400


def document(
    refusal: AnyRefusal, request: HttpRequest, *, status: int, others: Any = ()
) -> dict[str, Any]:
    """Return a refusal as a problem document."""
    named = type(refusal).code
    found: dict[str, Any] = {
        "type": f"/api/v1/problems/{named}",
        "title": meaning_of(named),
        "status": status,
        "detail": refusal.message,
        "instance": f"urn:uuid:{logs.id_of(request)}",
        "code": refusal.code,
        "field": refusal.field,
    }
    if len(others) > 1:
        found["refusals"] = [
            {"code": each.code, "field": each.field, "detail": each.message}
            for each in others
        ]
    return found


def answer(
    refusal: AnyRefusal, request: HttpRequest, *, headers: Any = None, others: Any = ()
) -> Response:
    """Return the answer that tells a refusal."""
    status = status_of(refusal, request.method or "")
    plain = document(refusal, request, status=status, others=others)
    return Response(plain, status=status, headers=headers, content_type=MEDIA)


class Several(Exception):
    """A statement with several refusals at once."""

    def __init__(self, refusals: tuple[AnyRefusal, ...]) -> None:
        """Keep them all, the first of them for the summary."""
        super().__init__()
        self.refusals = refusals


def handler(exception: Exception, context: dict[str, Any]) -> Response:
    """Return the answer for whatever was raised in a view; never None."""
    request: HttpRequest = context["request"]._request
    if isinstance(exception, Several):
        return answer(exception.refusals[0], request, others=exception.refusals)
    if isinstance(exception, (Refusal, LedgerRefusal)):
        return answer(exception, request)
    refusal = _of_framework(exception)
    if refusal is None:
        LOG.error("a request failed", exc_info=exception, extra={"request": request})
        refusal = program_failed()
    return answer(refusal, request, headers=_headers(exception))


def _headers(exception: Exception) -> dict[str, str]:
    """Return the headers that a status asks for: who may ask, which methods."""
    found = {}
    if asked := getattr(exception, "auth_header", None):
        found["WWW-Authenticate"] = asked
    return found


def _of_framework(exception: Exception) -> Refusal | None:
    """Return what the framework raised as a refusal; None for what nobody foresaw."""
    if isinstance(
        exception, (exceptions.NotAuthenticated, exceptions.AuthenticationFailed)
    ):
        return NotSignedIn(
            "Send a token that is valid, as Authorization: Bearer ..., or sign in at"
            " the pages. The command make_token makes tokens."
        )
    if isinstance(exception, (exceptions.PermissionDenied, PermissionDenied)):
        return NotFromOurPage(
            "A session needs the CSRF token of a page of ours, in X-CSRFToken. Send it,"
            " or use a token of your own."
        )
    if isinstance(exception, (exceptions.NotFound, Http404)):
        return no_such_address()
    if isinstance(exception, exceptions.MethodNotAllowed):
        return NoSuchMethod(
            "This address does not take that method. The header Allow names those that"
            " it takes: use one of them."
        )
    if isinstance(exception, RequestDataTooBig):
        return TooLarge(
            "The body is larger than is taken here. Send less, and long texts as files."
        )
    unreadable = (
        BadRequest,
        MultiPartParserError,
        SuspiciousOperation,
        UnreadablePostError,
        exceptions.ParseError,
    )
    if isinstance(exception, unreadable):
        return NotReadable("The request cannot be read. Send it again, complete.")
    return None
