"""One entry: what was said, by whom, what was noticed, and how to check it."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from goldroom.errors import OutOfRange
from goldroom.faces import reading
from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.reports.aloud import aloud, rows_aloud
from goldroom.reports.entry import CORRECTION, EntryTold
from goldroom.reports.proof import proof_of
from goldroom.reports.steps import steps_from
from goldroom.statements.registry import kinds
from goldroom.web.page import page, reader_in, signed_in

BYTES = "application/octet-stream"


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A paper that can be drawn of an entry: its name and address."""

    name: str
    address: str


@dataclass(frozen=True, kw_only=True)
class Remark:
    """Something that was noticed in an entry, in words."""

    level: str
    said: str


@signed_in
def entry(request: HttpRequest, seq: int) -> HttpResponse:
    """Show an entry whole."""
    reader = reader_in(request)
    told = reading.entry(reader, seq)
    cls = kinds().get(told.kind)
    may_correct = CORRECTION in may_say(reader)
    values = {
        "title": _("Entry %(seq)s: %(what)s") % {"seq": seq, "what": _(told.title)},
        "entry": told,
        "rows": rows_aloud(reader.ledger_id, told.rows),
        "noticed": _noticed(reader, told),
        "may_put_right": may_correct and cls is not None and cls.has_figures(),
        "may_take_back": may_correct and cls is not None and cls.can_void,
        "papers": papers_of(told),
        "is_just_signed": "signed" in request.GET,
        "steps": steps_from(told.kind),
    }
    return page(request, "entry", values)


def papers_of(told: EntryTold) -> list[Paper]:
    """Return the papers that can be drawn of an entry."""
    found = _PAPERS.get(told.kind)
    if found is None:
        return []
    name, view, field = found
    of = told.data[field] if field else told.seq
    return [Paper(name=_(name), address=reverse(view, args=[of]))]


_PAPERS = {
    "charge.made_up": (gettext_noop("Smelt sheet"), "paper_smelt", "charge"),
    "charge.poured": (gettext_noop("Smelt sheet"), "paper_smelt", "charge"),
    "cleanup.recorded": (gettext_noop("Cleanup sheet"), "paper_cleanup", ""),
    "dispatch.advised": (gettext_noop("Packing list"), "paper_packing", "shipment"),
    "dispatch.handed_over": (
        gettext_noop("Dispatch note"),
        "paper_dispatch",
        "shipment",
    ),
    "leach.charged": (gettext_noop("Leach sheet"), "paper_leach", "batch"),
    "leach.discharged": (gettext_noop("Leach sheet"), "paper_leach", "batch"),
}
"""Papers of an entry by its kind: name, view, and the field that says of what."""


def _noticed(reader: Reader, told: EntryTold) -> list[Remark]:
    found = reading.noticed(reader, told)
    spoken = aloud(reader.ledger_id, (each.message for each in found))
    return [
        Remark(level=each.level, said=spoken.sentence(each.message)) for each in found
    ]


@signed_in
def leaf(request: HttpRequest, seq: int) -> HttpResponse:
    """Give the bytes that are the record, as they were hashed."""
    told = reading.entry(reader_in(request), seq)
    return _download(told.leaf, f"entry-{seq}.json", BYTES)


@signed_in
def proof(request: HttpRequest, seq: int) -> HttpResponse:
    """Give the proof that the entry is in the chain, for a mark of a size or the last.

    The size is that of a chain mark that somebody holds.
    """
    reader = reader_in(request)
    told = reading.entry(reader, seq)
    found = proof_of(reader.ledger_id, told.seq, _size(request.GET.get("size", "")))
    answer = JsonResponse(found.to_json(), json_dumps_params={"indent": 1})
    return _saved(answer, f"entry-{seq}-proof-{found.size}.json")


def _size(text: str) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        raise OutOfRange(
            f"size: found {text[:40]!r}, expected the number of entries of a chain"
            " mark. Read it off the mark's second line.",
            field="size",
        )
    return int(text)


@signed_in
def cited(request: HttpRequest, seq: int, sha256: str) -> HttpResponse:
    """Give a file that the entry cites, to be saved and never shown in the page."""
    file, content = reading.cited_file(reader_in(request), seq, sha256)
    return _download(content, file.name, BYTES)


def _download(content: bytes, name: str, media: str) -> HttpResponse:
    return _saved(HttpResponse(content, content_type=media), name)


def _saved(answer: HttpResponse, name: str) -> HttpResponse:
    """Return an answer that a browser saves under a name, and never runs."""
    answer["Content-Disposition"] = content_disposition_header(True, name) or ""
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return answer
