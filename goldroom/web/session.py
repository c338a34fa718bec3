"""Signing in and out, and staying signed in while one works."""

from django.conf import settings
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from goldroom.faces.backend import account_of, read_key_file
from goldroom.faces.names import ledgers_here
from goldroom.faces.reader import note_who_asks, reader_of
from goldroom.web import unsent
from goldroom.web.page import REFUSALS, page, signed_in
from goldroom.web.problems import Problem, problem_of


@sensitive_post_parameters("passphrase")
def sign_in(request: HttpRequest) -> HttpResponse:
    """Show the sign-in page, or sign somebody in by their key's passphrase."""
    if request.method != "POST" or "again" in request.POST:
        return _asked(request, None)
    slug, _colon, person = request.POST.get("who", "").partition(":")
    uploaded = request.FILES.get("key_file")
    try:
        key_file = (
            b"" if uploaded is None else read_key_file(uploaded.size, uploaded.read())
        )
        account = account_of(
            request, slug, person, request.POST.get("passphrase", ""), key_file
        )
    except REFUSALS as refusal:
        return _asked(request, problem_of(refusal))
    login(request, account, backend="goldroom.faces.backend.KeyBackend")
    request.session.pop("seen", None)
    reader = reader_of(account)
    if reader is not None:
        note_who_asks(request, reader)
        unsent.restore(reader, request.POST.get("typed", ""))
    return HttpResponseRedirect(_wanted(request))


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    return HttpResponseRedirect(reverse("sign_in"))


@require_POST
@signed_in
def stay(request: HttpRequest) -> HttpResponse:
    """Note that somebody still works here."""
    request.session.modified = True
    return JsonResponse({"idle_seconds": settings.IDLE_SECONDS})


def _asked(request: HttpRequest, problem: Problem | None) -> HttpResponse:
    problems = [] if problem is None else [problem]
    values = {
        "ledgers": ledgers_here(),
        "who": request.POST.get("who", ""),
        "next": request.POST.get("next", request.GET.get("next", "")),
        "typed": request.POST.get("typed", ""),
        "idle_minutes": settings.IDLE_SECONDS // 60,
        "problems": problems,
        "title": _("Sign in"),
    }
    return page(request, "sign_in", values, status=422 if problems else 200)


def _wanted(request: HttpRequest) -> str:
    """Return where to go after signing in: only to a page of this site."""
    asked = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(
        asked, {request.get_host()}, require_https=request.is_secure()
    )
    return asked if asked and is_ours else reverse("today")
