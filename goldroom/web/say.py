"""Saying what happened: the list of what can be said, and the form of each kind."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces import acts, drafts, files, reading
from goldroom.faces.drafts import Kept
from goldroom.faces.offered import hands_for, may_say
from goldroom.faces.reader import Reader
from goldroom.reports.entry import EntryTold
from goldroom.reports.journal import lines_of
from goldroom.reports.known import Choice, known
from goldroom.statements.cautions import RESCUE_FIRST, RULES_OVER_US, cautions_of
from goldroom.statements.kind import Statement
from goldroom.statements.registry import FAMILIES, kind_named, kinds
from goldroom.web import correcting, drafting
from goldroom.web.boxes import Box, Filling, boxes, tables_of
from goldroom.web.page import REFUSALS, page, reader_in, signed_in
from goldroom.web.prefilled import WHOLE_BOX
from goldroom.web.problems import Problem, problem_of
from goldroom.web.values import ROW, without_row

READ_BY_ROLE = {
    "shipment": "shipments",
    "incident": "findings",
    "closed_period": "month",
}
"""Tables whose things only some may read of, with the subject they fall under."""
SENT = "d."
"""How the names of a statement's own boxes begin in a form."""


@dataclass(frozen=True, kw_only=True)
class Offer:
    """A kind that the reader may say, and what it is for."""

    kind: str
    title: str
    meaning: str


@signed_in
def say(request: HttpRequest) -> HttpResponse:
    """List what the reader may say, in the order of the work."""
    mine = may_say(reader_in(request))
    order = {name: n for n, name in enumerate(FAMILIES)}
    chosen = sorted(
        (each for name, each in kinds().items() if name in mine),
        key=lambda cls: order[cls.__module__.rpartition(".")[2]],
    )
    offers = [_offer(each) for each in chosen]
    return page(request, "say", {"title": _("Record something"), "offers": offers})


@signed_in
def new(request: HttpRequest, kind: str) -> HttpResponse:
    """Begin a form of a kind, with what may be carried over, at its own address."""
    reader = reader_in(request)
    kind_named(kind)
    begun = drafting.fresh(reader, kind, request.GET.dict())
    drafts.begin(reader, begun)
    return HttpResponseRedirect(reverse("say_form", args=[kind, begun.entry_id]))


@signed_in
def form(request: HttpRequest, kind: str, entry_id: str) -> HttpResponse:
    """Show a form, keep what is typed, or check it and go on to sign."""
    reader, entry_id = reader_in(request), str(entry_id)
    kind_named(kind)
    kept = drafts.kept(reader, entry_id) or Kept(entry_id=entry_id, kind=kind)
    if request.method != "POST":
        return _shown(request, kept)
    asked = request.POST.get("do", "check")
    kept = _typed(request, kept)
    try:
        kept = _with_files(request, reader, kept)
    except REFUSALS as refusal:
        return _shown(request, kept, problems=(problem_of(refusal),))
    drafts.keep(reader, kept)
    if asked == "keep":
        return HttpResponse(status=204)
    if asked == "forget":
        drafts.forget(reader, entry_id)
        return HttpResponseRedirect(reverse("today"))
    if asked != "check":
        return _changed(request, kept, asked)
    if acts.is_known(reader, entry_id):
        return _shown(request, kept, problems=(_signed_meanwhile(),))
    found = drafting.checked(reader, kept)
    if found.problems:
        return _shown(request, kept, problems=found.problems)
    return HttpResponseRedirect(reverse("sign", args=[entry_id]))


def _signed_meanwhile() -> Problem:
    return Problem(
        code="signed_meanwhile",
        field="",
        message=_(
            "This form was signed already, on another page, and stands as it was then."
            " Look under Today or in the journal. What you typed since is kept here"
            " only: begin a new form for it, or correct the entry."
        ),
    )


def _changed(request: HttpRequest, kept: Kept, asked: str) -> HttpResponse:
    """Show the form with a row more, a row less, or a file less."""
    what, _colon, path = asked.partition(":")
    if what == "add":
        return _shown(request, kept, extra_rows={path: 1})
    if what == "drop":
        listed, _bracket, number = path.rpartition("[")
        row = number.rstrip("]")
        if ROW.fullmatch(row):
            typed = without_row(kept.boxes, listed, int(row))
            kept = replace(kept, boxes=typed)
    if what == "leave":
        left = tuple(each for each in kept.attachments if each["sha256"] != path)
        kept = replace(kept, attachments=left)
    drafts.keep(reader_in(request), kept)
    return _shown(request, kept)


def _typed(request: HttpRequest, kept: Kept) -> Kept:
    """Return the draft with the boxes as they were sent."""
    boxes_sent = {
        name.removeprefix(SENT): text
        for name, text in request.POST.items()
        if name.startswith((SENT, "@")) and isinstance(text, str)
    }
    if WHOLE_BOX in kept.boxes:
        boxes_sent[WHOLE_BOX] = kept.boxes[WHOLE_BOX]
    else:
        boxes_sent.pop(WHOLE_BOX, None)
    return replace(kept, boxes=boxes_sent)


def _with_files(request: HttpRequest, reader: Reader, kept: Kept) -> Kept:
    """Keep the files that were sent; return the draft with their citations."""
    sent = [
        files.keep(reader, each.name or "", each.content_type or "", each.read())
        for each in request.FILES.getlist("files")
    ]
    cited = {each["sha256"]: each for each in (*kept.attachments, *sent)}
    return replace(kept, attachments=tuple(cited.values()))


def _shown(
    request: HttpRequest,
    kept: Kept,
    *,
    problems: tuple[Problem, ...] = (),
    extra_rows: Mapping[str, int] | None = None,
) -> HttpResponse:
    reader = reader_in(request)
    cls = kind_named(kept.kind)
    filled_class = _class_of_boxes(reader, kept)
    offered = _known(reader, tables_of(filled_class))
    filling = Filling(
        typed=kept.boxes,
        known=offered,
        problems=problems,
        extra_rows=extra_rows or {},
    )
    shown = _boxes(reader, kept, cls, filling)
    values = {
        "title": _(cls.title),
        "meaning": (cls.__doc__ or "").partition("\n")[0],
        "kept": kept,
        "boxes": shown,
        "offered": _offered(offered),
        "hands": hands_for(reader, kept.kind),
        "at": _at(filling),
        "signers": _signers(reader, kept, filling),
        "cautions": cautions_of(kept.kind),
        "rules_over_us": RULES_OVER_US,
        "rescue_first": RESCUE_FIRST,
        "problems": problems,
        "is_whole": WHOLE_BOX in kept.boxes,
        "is_correction": kept.kind == correcting.KIND,
        "about": _about(reader, kept),
    }
    return page(request, "say_form", values, status=422 if problems else 200)


def _known(reader: Reader, tables: Collection[str]) -> dict[str, tuple[Choice, ...]]:
    """Return what boxes offer, without what the reader may not read of."""
    open_tables = [
        table
        for table in tables
        if table not in READ_BY_ROLE or reader.may_read(READ_BY_ROLE[table])
    ]
    return known(reader.ledger_id, open_tables)


def _about(reader: Reader, kept: Kept) -> EntryTold | None:
    """Return the entry that the form speaks of, for whoever may read it."""
    named = kept.corrects or kept.boxes.get("entry", "")
    line = lines_of(reader.ledger_id, [named]).get(named) if named else None
    try:
        return None if line is None else reading.entry(reader, line.seq)
    except reading.NotForYou:
        return None


def _class_of_boxes(reader: Reader, kept: Kept) -> type[Statement]:
    """Return the kind whose boxes are filled: a corrected entry's own."""
    if kept.kind == correcting.KIND and kept.corrects:
        return kind_named(correcting.original(reader, kept.corrects).kind)
    return kind_named(kept.kind)


def _boxes(
    reader: Reader, kept: Kept, cls: type[Statement], filling: Filling
) -> tuple[Box, ...]:
    if kept.kind != correcting.KIND:
        return boxes(cls, filling)
    own = [box for box in boxes(cls, filling) if box.path in ("mode", "reason")]
    inner = boxes(_class_of_boxes(reader, kept), filling, correcting.VALUES)
    group = Box(
        path="values",
        shape="group",
        label=_("What was said; put its figures right"),
        must=False,
        problems=filling.wrong("values"),
        inner=inner,
    )
    return (*own, group)


def _at(filling: Filling) -> Box:
    return Box(
        path=drafting.AT,
        shape="moment",
        label=_("When it happened"),
        help=_("By the site's clock, to the minute."),
        value=filling.of(drafting.AT),
        problems=filling.wrong(drafting.AT),
    )


def _signers(reader: Reader, kept: Kept, filling: Filling) -> list[Box]:
    """Return the boxes of who signs: the reader's role, then the others."""
    hands = hands_for(reader, kept.kind)
    found = []
    for n, place in enumerate((hands.own, *hands.places)):
        path = f"{drafting.SIGNER}{n}"
        label = _("You sign as") if n == 0 else _("Signs with you")
        found.append(
            Box(
                path=path,
                shape="choice",
                label=label,
                value=filling.of(path),
                choices=tuple(
                    (each.value, f"{each.name} – {_(each.role)}") for each in place
                ),
                problems=filling.wrong(path),
            )
        )
    return found


def _offer(cls: type[Statement]) -> Offer:
    meaning = (cls.__doc__ or "").partition("\n")[0]
    return Offer(kind=cls.kind_name, title=_(cls.title), meaning=meaning)


def _offered(
    found: Mapping[str, tuple[Choice, ...]],
) -> list[tuple[str, tuple[Choice, ...]]]:
    """Return the lists of things that boxes offer beside typing, by table."""
    return [(table, choices) for table, choices in found.items() if choices]
