"""Signing in and out, and staying signed in while one works."""

from django.conf import settings
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from goldroom.errors import Refusal
from goldroom.faces.backend import KEY_FILE_BYTES_MAX, account_of, read_key_file
from goldroom.faces.names import ledgers_here
from goldroom.faces.reader import note_who_asks, reader_of
from goldroom.web import unsent
from goldroom.web.page import REFUSALS, page, signed_in
from goldroom.web.problems import Problem, problem_of


class NotInTheList(Refusal):
    """Somebody would sign in who is no person with a valid key of a ledger here."""

    code = "not_in_the_list"


@sensitive_post_parameters("passphrase")
def sign_in(request: HttpRequest) -> HttpResponse:
    """Show the sign-in page, or sign somebody in by their key's passphrase."""
    if request.method != "POST" or "again" in request.POST:
        return _asked(request, None)
    try:
        slug, person = _who(request)
        account = account_of(
            request,
            slug,
            person,
            request.POST.get("passphrase", ""),
            key_file_in(request),
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


def key_file_in(request: HttpRequest) -> bytes:
    """Return the key file that was sent; b"" if none. Raises KeyFileRefused."""
    sent = request.FILES.get("key_file")
    if sent is None:
        return b""
    return read_key_file(sent.size, sent.read(KEY_FILE_BYTES_MAX))


def _who(request: HttpRequest) -> tuple[str, str]:
    """Return slug and person of the name chosen. Raises NotInTheList."""
    who = request.POST.get("who", "")
    if not any(who == name.value for here in ledgers_here() for name in here.names):
        raise NotInTheList(
            "Nobody of this name signs in here. Choose your name from the list.",
            field="who",
        )
    slug, _colon, person = who.partition(":")
    return slug, person


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
