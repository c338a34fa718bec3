"""The way in for a web server: what cannot be read is told so."""

import pytest
from django.test import RequestFactory

from goldroom.wsgi import application


def asked(content_type):
    """Ask for the sign-in page; return status, headers and body."""
    environ = RequestFactory(headers={"host": "localhost"}).get("/health/live").environ
    environ |= {"CONTENT_TYPE": content_type, "SERVER_NAME": "localhost"}
    got = {}

    def start_response(status, headers, *_):
        got["status"], got["headers"] = status, dict(headers)

    body = b"".join(application(environ, start_response))
    return got["status"], got["headers"], body


@pytest.mark.parametrize("charset", ["rot13", "utf-7", "no-such", "hex", "utf-16"])
def test_an_encoding_that_is_none_is_refused_in_words(fresh_db, charset):
    status, headers, body = asked(f"text/plain; charset={charset}")
    assert status == "400 Bad Request"
    assert b"Send it as UTF-8" in body
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    "content_type", ["", "text/plain", "application/json; charset=UTF-8"]
)
def test_any_usual_one_is_read(fresh_db, content_type):
    assert asked(content_type)[0] == "200 OK"
