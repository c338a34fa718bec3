"""Who asks: by the session of the pages, or by a program's token; one Reader for both.

A session's unsafe requests must bear the CSRF token of our own pages. A token is
never sent by a browser of itself, so it needs none.
"""

from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from goldroom.faces.reader import Reader, note_who_asks, who_asks
from goldroom.faces.tokens import reader_by

SCHEME = "bearer"
CHALLENGE = 'Bearer realm="goldroom"'


class ByToken(BaseAuthentication):  # type: ignore[misc]
    """Knows a program by "Authorization: Bearer ..."."""

    def authenticate(self, request: Request) -> tuple[Reader, str] | None:
        """Return who asks; None without a token. Raises AuthenticationFailed."""
        scheme, _, secret = request.META.get("HTTP_AUTHORIZATION", "").partition(" ")
        if not scheme:
            return None
        reader = reader_by(secret.strip()) if scheme.lower() == SCHEME else None
        if reader is None:
            raise AuthenticationFailed
        note_who_asks(request._request, reader)
        return reader, SCHEME

    def authenticate_header(self, request: Request) -> str:
        """Return how to say who one is."""
        return CHALLENGE


class BySession(SessionAuthentication):  # type: ignore[misc]
    """Knows a person who signed in at the pages."""

    def authenticate(self, request: Request) -> tuple[Reader, None] | None:
        """Return who asks; None if nobody is signed in. Raises PermissionDenied."""
        reader = who_asks(request._request)
        if reader is None:
            return None
        self.enforce_csrf(request._request)
        return reader, None


class SignedIn(BasePermission):  # type: ignore[misc]
    """Lets those in of whom the ledger knows who they are now."""

    def has_permission(self, request: Request, view: object) -> bool:
        """Tell whether somebody asks."""
        return isinstance(request.user, Reader)
