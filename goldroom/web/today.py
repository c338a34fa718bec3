"""Today: what needs the reader's hand."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from goldroom.web.page import page, signed_in


@signed_in
def today(request: HttpRequest) -> HttpResponse:
    """Show what needs the reader's hand."""
    return page(request, "today", {"title": _("Today")})
