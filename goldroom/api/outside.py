"""Problem documents for what fails before or beside a view: as the views tell it."""

from typing import Any

from django.http import HttpRequest, JsonResponse

from goldroom.api.problems import (
    MEDIA,
    AnyRefusal,
    NotFromOurPage,
    NotReadable,
    document,
    no_such_address,
    program_failed,
)

START = "/api/v1/"


def is_asked_by_program(request: HttpRequest) -> bool:
    """Tell whether a request is for the API."""
    return request.path.startswith(START)


def bad_request(request: HttpRequest, exception: Any = None) -> JsonResponse:
    """Answer a request that cannot be read."""
    refusal = NotReadable(
        "The request cannot be read: its address, host or letters are none that this"
        " server takes. Send it as UTF-8, without the sign NUL, to the server's name."
    )
    return _told(request, refusal, 400)


def forbidden(request: HttpRequest, exception: Any = None) -> JsonResponse:
    """Answer a request that is not allowed."""
    refusal = NotFromOurPage(
        "This is not open to you as you asked. Send a token that is valid, as"
        " Authorization: Bearer ...."
    )
    return _told(request, refusal, 403)


def not_found(request: HttpRequest, exception: Any = None) -> JsonResponse:
    """Answer an address that leads nowhere."""
    return _told(request, no_such_address(), 404)


def broken(request: HttpRequest) -> JsonResponse:
    """Answer when the program itself fails."""
    return _told(request, program_failed(), 500)


def _told(request: HttpRequest, refusal: AnyRefusal, status: int) -> JsonResponse:
    plain = document(refusal, request, status=status)
    return JsonResponse(plain, status=status, content_type=MEDIA)
