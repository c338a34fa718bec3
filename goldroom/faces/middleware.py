"""Headers of every answer, and sessions that end when nobody works.

Nothing is loaded from elsewhere, no script or style stands in a page, no page stands
in a frame. What a signed-in person sees is never kept by a cache.
"""

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponseBase

from goldroom.faces.clock import real_now
from goldroom.faces.models import Account
from goldroom.faces.reader import note_who_asks, reader_of

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
PERMISSIONS = "camera=(), geolocation=(), microphone=(), payment=(), usb=()"
NOTED_EVERY_SECONDS = 20
"""How often a session's last request is written down, to spare the database."""

Answer = Callable[[HttpRequest], HttpResponseBase]


def content_policy(get_response: Answer) -> Answer:
    """Add the content policy and its like to every answer."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        if not request.path.startswith(settings.STATIC_URL):
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return answer


def idle_sessions_end(get_response: Answer) -> Answer:
    """End a session whose last request is too long ago, or whose key is void.

    Whoever is asking is told by `goldroom.faces.reader.who_asks`.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
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
