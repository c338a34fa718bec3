"""Problem documents for what fails before or beside a view: as the views tell it."""

from typing import Any

from django.http import HttpRequest, JsonResponse

from goldroom.api.problems import (
    MEDIA,
    AnyRefusal,
    Broken,
    NoSuchAddress,
    NotFromOurPage,
    NotReadable,
    document,
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
    refusal = NoSuchAddress(
        "Nothing is at this address. Take the addresses from /api/v1/openapi.json."
    )
    return _told(request, refusal, 404)


def broken(request: HttpRequest) -> JsonResponse:
    """Answer when the program itself fails."""
    refusal = Broken(
        "The program failed at this. What was recorded is safe. Ask with the same"
        " entry_id again, and tell whoever runs this server the request's id."
    )
    return _told(request, refusal, 500)


def _told(request: HttpRequest, refusal: AnyRefusal, status: int) -> JsonResponse:
    plain = document(refusal, request, status=status)
    return JsonResponse(plain, status=status, content_type=MEDIA)
