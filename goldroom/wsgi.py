"""The way in for a web server, gunicorn goldroom.wsgi; only if the checks pass."""

import os
import sys
from collections.abc import Callable, Iterable
from typing import Any

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]
READABLE = ("", "utf-8", "utf8", "us-ascii", "iso-8859-1")
UNREADABLE = b"This request's letters cannot be read. Send it as UTF-8.\n"


def readable(inner: Application) -> Application:
    """Refuse a request in an encoding that may be none, before anything reads it."""

    def answer(
        environ: dict[str, Any], start_response: Callable[..., Any]
    ) -> Iterable[bytes]:
        _, said = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
        if said.get("charset", "").lower() in READABLE:
            return inner(environ, start_response)
        headers = [
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Length", str(len(UNREADABLE))),
            ("X-Content-Type-Options", "nosniff"),
        ]
        start_response("400 Bad Request", headers)
        return [UNREADABLE]

    return answer


application = readable(get_wsgi_application())
# A web server, unlike runserver, asks for no checks; its output is for requests.
call_command("check", stdout=sys.stderr)
