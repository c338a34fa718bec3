"""Addresses: pages at the root, the API under /api/v1/, health for machines.

What fails beside every view is told to people as a page, to programs as a problem.
"""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from goldroom.api import outside
from goldroom.web import refused

urlpatterns = [
    path("api/v1/", include("goldroom.api.urls")),
    path("health/", include("goldroom.faces.health")),
    path("", include("goldroom.web.urls")),
]


def handler400(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer a request that cannot be read."""
    if outside.is_asked_by_program(request):
        return outside.bad_request(request, exception)
    return refused.bad_request(request, exception)


def handler403(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer a request that is not allowed."""
    if outside.is_asked_by_program(request):
        return outside.forbidden(request, exception)
    return refused.forbidden(request, exception)


def handler404(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Answer an address that leads nowhere."""
    if outside.is_asked_by_program(request):
        return outside.not_found(request, exception)
    return refused.not_found(request, exception)


def handler500(request: HttpRequest) -> HttpResponse:
    """Answer when the program itself fails."""
    if outside.is_asked_by_program(request):
        return outside.broken(request)
    return refused.broken(request)
