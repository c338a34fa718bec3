"""Whole copies of the record: each is an entry, each with its bundle to hand out."""

from contextlib import ExitStack
from tempfile import TemporaryFile
from typing import BinaryIO, cast
from urllib.parse import urlencode

from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces.exporting import MADE, exports, write_bundle_of
from goldroom.faces.offered import may_say
from goldroom.reports.entry import mark
from goldroom.reports.trusted import policy_text
from goldroom.web.page import needs, page, reader_in


@needs("exports")
def made(request: HttpRequest) -> HttpResponse:
    """List the exports that were made, and offer to make one."""
    reader = reader_in(request)
    here = mark(reader.ledger_id)
    asked = urlencode({"size": here.size, "root": here.root})
    values = {
        "title": _("Whole copies"),
        "exports": exports(reader),
        "mark": here,
        "may_make": MADE in may_say(reader),
        "form": f"{reverse('say_kind', args=[MADE])}?{asked}",
        "policy": policy_text(reader.ledger_id),
    }
    return page(request, "exports", values)


@needs("exports")
def bundle(request: HttpRequest, seq: int) -> HttpResponseBase:
    """Hand out the bundle of an export: just the entries that it names."""
    with ExitStack() as closed_if_it_fails:
        file = cast(BinaryIO, closed_if_it_fails.enter_context(TemporaryFile()))
        write_bundle_of(reader_in(request), seq, file)
        closed_if_it_fails.pop_all()
    return FileResponse(
        file,
        as_attachment=True,
        filename=f"record-{seq}.zip",
        content_type="application/zip",
    )
