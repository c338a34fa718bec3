"""Headers of every answer, and that a page asks nothing of another host."""

import re
import socket

import pytest
from django.test import Client

PLACES = [
    pytest.param("/", 302, id="sent to sign in"),
    pytest.param("/sign-in/", 200, id="a page"),
    pytest.param("/no/such/page", 404, id="no page"),
    pytest.param("/static/web/goldroom.css", 200, id="a style sheet"),
    pytest.param("/static/web/none.css", 404, id="no style sheet"),
    pytest.param("/health/live", 200, id="health"),
]
SIGNED_IN = ["/", "/say/", "/journal/", "/holdings/", "/steps/"]

OWASP = "OWASP Secure Headers Project, HTTP security response headers; from memory"


@pytest.mark.source(OWASP)
@pytest.mark.parametrize(("place", "status"), PLACES)
def test_every_answer_has_the_headers(told_once, place, status):
    answer = Client().get(place)
    assert answer.status_code == status
    check_headers(answer)


def check_headers(answer):
    policy = answer["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert re.fullmatch("[0-9a-f]{32}", answer["X-Request-ID"])
    assert "Access-Control-Allow-Origin" not in answer


def test_a_name_that_is_not_served_gets_them_too(told_once):
    answer = Client(headers={"host": "elsewhere.example"}).get("/")
    assert answer.status_code == 400
    check_headers(answer)


def test_a_form_from_elsewhere_gets_them_too(told_once):
    answer = Client(enforce_csrf_checks=True).post("/sign-in/", {"who": "x"})
    assert answer.status_code == 403
    check_headers(answer)


def test_a_failure_gets_them_too(told_once, monkeypatch):
    def broken(request):
        raise RuntimeError("broken for a test")

    monkeypatch.setattr("goldroom.faces.health.read.ledgers", lambda: broken(None))
    answer = Client(raise_request_exception=False).get("/health/ready")
    assert answer.status_code == 500
    check_headers(answer)


@pytest.mark.source("RFC 9111, section 5.2.2.5: no-store")
def test_no_cache_keeps_a_page_but_it_may_keep_a_style_sheet(told_once, signed_in_as):
    assert signed_in_as("p-amara").get("/")["Cache-Control"] == "no-store"
    assert "no-store" not in Client().get("/static/web/goldroom.css")["Cache-Control"]


@pytest.mark.parametrize("place", SIGNED_IN)
def test_a_page_loads_and_asks_only_what_is_of_this_host(
    told_once, signed_in_as, monkeypatch, place
):
    def refuse(self, address):
        raise AssertionError(f"a connection to {address}")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    answer = signed_in_as("p-amara").get(place)
    assert answer.status_code == 200
    named = re.findall(
        r"""(?:src|href|action|poster|srcset)\s*=\s*["']([^"']*)""",
        answer.content.decode(),
    )
    assert named
    for each in named:
        assert not re.match(r"[a-z]+:|//", each, re.IGNORECASE), each
