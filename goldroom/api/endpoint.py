"""The view behind every address: reads the request, asks one handler, answers.

Every answer is JSON or plain bytes and is kept by no cache.
"""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from rest_framework.exceptions import MethodNotAllowed, NotFound
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from goldroom.api.authentication import BySession, ByToken, SignedIn
from goldroom.api.operation import JSON, Answered, Asked, Operation
from goldroom.api.problems import NotReadable, OtherMedia, TooLarge
from goldroom.errors import OutOfRange
from goldroom.faces.files import BYTES_MOST
from goldroom.faces.reading import NotForYou
from goldroom.roles import READING
from goldroom.sayings import BadLine, plain_of


class OnlyJson(BaseContentNegotiation):  # type: ignore[misc]
    """Answers in the one form there is, whatever was asked for (RFC 9110, 12.1)."""

    def select_parser(self, request: Request, parsers: list[Any]) -> None:
        """Return nothing: bodies are read by the operation."""

    def select_renderer(
        self, request: Request, renderers: list[Any], format_suffix: str = ""
    ) -> tuple[Any, str]:
        """Return the only renderer."""
        return renderers[0], renderers[0].media_type


class Endpoint(APIView):  # type: ignore[misc]
    """One address with its operations by method."""

    authentication_classes = (ByToken, BySession)
    content_negotiation_class = OnlyJson
    operations: Mapping[str, Operation] = {}
    http_method_names: ClassVar[list[str]] = ["get", "head", "post"]

    @property
    def allowed_methods(self) -> list[str]:
        """Return the methods that this address takes, for the header Allow."""
        taken = sorted(self.operations)
        return ["GET", "HEAD", *taken[1:]] if "GET" in taken else taken

    def get_permissions(self) -> list[Any]:
        """Let anybody read what is open to all, and only readers the rest."""
        is_open = any(each.is_open for each in self.operations.values())
        return [AllowAny()] if is_open else [SignedIn()]

    def get(self, request: Request, **path: str) -> HttpResponseBase:
        """Answer a question."""
        return self._done(request, "GET", path)

    def post(self, request: Request, **path: str) -> HttpResponseBase:
        """Do an act."""
        return self._done(request, "POST", path)

    def _done(
        self, request: Request, method: str, path: Mapping[str, str]
    ) -> HttpResponseBase:
        operation = self.operations.get(method)
        if not self.operations:
            raise NotFound
        if operation is None:
            raise MethodNotAllowed(method)
        plain: HttpRequest = request._request
        asked = Asked(
            request=plain,
            reader=request.user,
            path=_texts(path),
            query=_query(plain, operation),
            body=_body(plain, operation),
        )
        _check_roles(asked, operation)
        return _response(operation.handle(asked), operation)


def _check_roles(asked: Asked, operation: Operation) -> None:
    """Refuse a subject that the reader's roles may not read. Raises NotForYou."""
    if operation.needs and not asked.reader.may_read(operation.needs):
        _, what = READING[operation.needs]
        raise NotForYou(
            f"Only some roles read {what}. Ask the security manager if you need it for"
            " your work."
        )


def _response(done: Answered, operation: Operation) -> HttpResponseBase:
    headers = {"Cache-Control": "no-store"}
    if done.location:
        headers["Location"] = done.location
    if isinstance(done.value, bytes):
        return HttpResponse(
            done.value,
            content_type=operation.media,
            headers={
                **headers,
                "Content-Disposition": "attachment",
                "Content-Security-Policy": "default-src 'none'; sandbox",
            },
        )
    answer: HttpResponse = Response(done.value, status=done.status, headers=headers)
    return answer


def _query(request: HttpRequest, operation: Operation) -> dict[str, str]:
    """Return what stands after the question mark. Raises NotReadable and OutOfRange."""
    known = {each.name: each for each in operation.parameters if not each.is_in_path}
    found = _texts({name: text for name, text in request.GET.items() if text})
    for name in request.GET:
        if name not in known:
            raise OutOfRange(
                f"{name[:40]}: no such parameter here. Leave it out, or use one of"
                f" {', '.join(known) or 'none'}.",
                field=name[:40],
            )
        if len(request.GET.getlist(name)) > 1:
            raise OutOfRange(f"{name}: given twice. Give it once.", field=name)
    for name, each in known.items():
        if each.is_required and name not in found:
            raise OutOfRange(f"{name}: missing. Give {each.said}.", field=name)
    return found


def _texts(values: Mapping[str, Any]) -> dict[str, str]:
    found = {name: str(text) for name, text in values.items()}
    for name, text in found.items():
        if not _is_storable(text):
            raise NotReadable(
                f"{name}: it holds a character that no text has. Leave it out.",
                field=name,
            )
    return found


def _is_storable(text: str) -> bool:
    return "\0" not in text and not any("\ud800" <= c <= "\udfff" for c in text)


def _body(request: HttpRequest, operation: Operation) -> Any:
    """Return what the body says: an object of named values, or the bytes."""
    if operation.body is None:
        return None
    if operation.body.media != JSON:
        content = request.read(BYTES_MOST + 1)
        if len(content) > BYTES_MOST:
            raise TooLarge(
                f"The file is larger than {BYTES_MOST} bytes. Send a smaller one."
            )
        return content
    if request.content_type != JSON:
        raise OtherMedia(
            f"The body must be {JSON}, in UTF-8. Say so in Content-Type, and send it"
            " so."
        )
    return _object(request.body)


def _object(octets: bytes) -> dict[str, Any]:
    """Return the one JSON object of a body. Raises NotReadable and BadLine."""
    try:
        text = octets.decode("utf-8")
    except UnicodeDecodeError:
        raise NotReadable("The body is not UTF-8. Encode it so.") from None
    try:
        plain = plain_of(text.strip())
    except BadLine as wrong:
        if wrong.field:
            raise
        raise NotReadable(
            "The body is not one JSON object, or not a complete one. Send an object of"
            " named values."
        ) from None
    _check_texts(plain, "")
    return plain


def _check_texts(value: Any, path: str) -> None:
    """Refuse texts that cannot be stored, wherever they stand."""
    if isinstance(value, str) and not _is_storable(value):
        raise NotReadable(
            f"{path}: it holds a character that no text has. Leave it out.", field=path
        )
    if isinstance(value, list):
        for n, each in enumerate(value):
            _check_texts(each, f"{path}[{n}]")
    if isinstance(value, dict):
        for name, each in value.items():
            _check_texts(name, path)
            _check_texts(each, f"{path}.{name}" if path else name)
