"""Headers of every answer, a line for every request, and sessions that end when idle.

Nothing is loaded from elsewhere, no script or style stands in a page, no page stands
in a frame. What a signed-in person sees is never kept by a cache.
"""

import time
from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponseBase

from goldroom.faces import logs
from goldroom.faces.clock import real_now
from goldroom.faces.models import Account
from goldroom.faces.reader import note_who_asks, reader_of, who_asks

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Permissions-Policy": (
        "camera=(), geolocation=(), microphone=(), payment=(), usb=()"
    ),
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}
NOTED_EVERY_SECONDS = 20
"""How often a session's last request is written down, to spare the database."""

UTF8 = ("utf-8", "utf8", "us-ascii", "ascii")
ASKS_NO_DATABASE = "/health/"
"""Where nobody is signed in, so that a broken database is no hindrance."""

Answer = Callable[[HttpRequest], HttpResponseBase]


def line_of_each(get_response: Answer) -> Answer:
    """Write a line for every request, and give its id with the answer."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        begun = time.perf_counter()
        response = get_response(request)
        response.headers["X-Request-ID"] = logs.id_of(request)
        reader, route = who_asks(request), request.resolver_match
        logs.write_request(
            {
                "at": real_now().isoformat(timespec="milliseconds"),
                "id": logs.id_of(request),
                "method": request.method,
                "path": request.path,
                "route": (route and route.view_name) or logs.NONE,
                "status": response.status_code,
                "ms": round(1000 * (time.perf_counter() - begun)),
                "person": logs.NONE if reader is None else reader.person,
                "entry": logs.entry_of(request),
            }
        )
        return response

    return answer


def headers_of_each(get_response: Answer) -> Answer:
    """Add the content policy and its like to every answer, static files' too."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if not request.path.startswith(settings.STATIC_URL):
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return answer


def readable_requests(get_response: Answer) -> Answer:
    """Refuse what no text can hold: another alphabet's encoding, and the sign NUL.

    A database may refuse NUL, and some codecs make letters that nothing can write.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
        said = request.encoding
        if said is not None and said.lower() not in UTF8:
            request.encoding = "utf-8"  # so that the refusal can be written
            raise BadRequest
        asked = (text for pair in request.GET.lists() for text in (pair[0], *pair[1]))
        if any("\0" in text for text in (request.path, *asked)):
            raise BadRequest
        if any("\0" in text for text in request.COOKIES.values()):
            request.COOKIES.clear()
        return get_response(request)

    return answer


def address_of(request: HttpRequest) -> str:
    """Return the address that failed tries are counted by.

    Behind a proxy it is the last that X-Forwarded-For names: the proxy itself wrote
    that one, while those before it are whatever the browser said.
    """
    direct = str(request.META.get("REMOTE_ADDR", ""))
    if not settings.IS_BEHIND_PROXY:
        return direct
    forwarded = str(request.META.get("HTTP_X_FORWARDED_FOR", ""))
    return forwarded.rpartition(",")[2].strip() or direct


def idle_sessions_end(get_response: Answer) -> Answer:
    """End a session whose last request is too long ago, or whose key is void.

    Whoever is asking is told by `goldroom.faces.reader.who_asks`.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
        if request.path.startswith(ASKS_NO_DATABASE):
            return get_response(request)
        account = request.user
        if isinstance(account, Account):
            now = int(real_now().timestamp())
            seen = int(request.session.get("seen", now))
            reader = reader_of(account)
            if reader is None or now - seen > settings.IDLE_SECONDS:
                logout(request)
            else:
                note_who_asks(request, reader)
                if now - seen >= NOTED_EVERY_SECONDS or "seen" not in request.session:
                    request.session["seen"] = now
        return get_response(request)

    return answer
