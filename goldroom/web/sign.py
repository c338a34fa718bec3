"""Signing: the statement in words, and a place for each signature.

The first person's session stays; the second chooses their name, reads the whole and
opens their own key on the same screen. Nothing is recorded before all have signed.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from goldroom.errors import Refusal
from goldroom.faces import acts, drafts, files, logs
from goldroom.faces.acts import Opening
from goldroom.faces.backend import has_kept_key
from goldroom.faces.drafts import Kept
from goldroom.faces.reader import Reader
from goldroom.reports.aloud import rows_aloud
from goldroom.reports.told import ToldRow, told_rows
from goldroom.reports.usual import Usual, usual_ranges
from goldroom.statements.cautions import RESCUE_FIRST, RULES_OVER_US, cautions_of
from goldroom.statements.registry import kind_named
from goldroom.web import drafting
from goldroom.web.page import REFUSALS, page, reader_in, signed_in
from goldroom.web.problems import Problem, problem_of
from goldroom.web.session import key_file_in
from goldroom.web.signplaces import Place, places
from ledger.errors import NoSuchProposal

FIRST_READINGS = "first-readings.json"


class NotAsRead(Refusal):
    """A form was changed on another page after its statement was read here."""

    code = "not_as_read"


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A statement to be signed, and how far it is: `draft` before any signature."""

    statement: Mapping[str, Any]
    places: tuple[Place, ...]
    draft: Kept | None = None


@dataclass(frozen=True, kw_only=True)
class WordRow:
    """A line of the statement in words, with the usual range of its figure."""

    told: ToldRow
    usual: Usual | None


@sensitive_post_parameters("passphrase")
@signed_in
def sign(request: HttpRequest, entry_id: str) -> HttpResponse:
    """Show a statement in words, or take a signature for it."""
    reader, entry_id = reader_in(request), str(entry_id)
    if request.method == "POST":
        return _signed(request, reader, entry_id)
    return _stage(request, reader, entry_id)


@require_POST
@signed_in
def take_back(request: HttpRequest, entry_id: str) -> HttpResponse:
    """Take back a waiting statement, or refuse to sign it, with the reason."""
    reader, entry_id = reader_in(request), str(entry_id)
    detail = request.POST.get("detail", "").strip()
    if not detail:
        wrong = Problem(code="bad_field", field="detail", message=_("Say why."))
        return _stage(request, reader, entry_id, problems=(wrong,))
    seq = acts.take_back(reader, entry_id, detail=detail)
    logs.note_entry(request, seq)
    return HttpResponseRedirect(reverse("entry", args=[seq]))


def _signed(request: HttpRequest, reader: Reader, entry_id: str) -> HttpResponse:
    try:
        opening = _opening(request)
        done = _take_signature(request, reader, entry_id, opening)
    except REFUSALS as refusal:
        problem = problem_of(refusal)
        if problem.field not in ("passphrase", "key_file", "person"):
            problem = replace(problem, field="")
        return _stage(request, reader, entry_id, problems=(problem,))
    if done is not None:
        drafts.forget(reader, entry_id)
        return HttpResponseRedirect(f"{reverse('entry', args=[done])}?signed=1")
    return HttpResponseRedirect(reverse("sign", args=[entry_id]))


def _take_signature(
    request: HttpRequest, reader: Reader, entry_id: str, opening: Opening
) -> int | None:
    """Take a signature; return the entry's number once all have signed."""
    try:
        acts.waiting_or_entry(reader, entry_id)
    except NoSuchProposal:
        kept = _kept(reader, entry_id)
        _check_is_as_read(kept, request.POST.get("as_read", ""))
        saying = drafting.checked(reader, _with_first_readings(reader, kept)).saying
        done = acts.sign_first(request, reader, saying, opening)
        drafts.forget(reader, entry_id)
    else:
        done = acts.sign_next(request, reader, entry_id, opening)
    return None if done.appended is None else done.appended.seq


def _check_is_as_read(kept: Kept, read: str) -> None:
    """Refuse a form that is not what the signer's page showed. Raises NotAsRead."""
    if read != as_read(kept):
        raise NotAsRead(
            _(
                "The form was changed since this page was shown, on another page or by"
                " another browser. It is shown here as it is now; read it again, then"
                " sign."
            )
        )


def as_read(kept: Kept) -> str:
    """Return a mark of what a form says, to know it again."""
    said = [sorted(kept.boxes.items()), [each["sha256"] for each in kept.attachments]]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _opening(request: HttpRequest) -> Opening:
    return Opening(
        person=request.POST.get("person", ""),
        passphrase=request.POST.get("passphrase", ""),
        key_file=key_file_in(request),
    )


def _stage(
    request: HttpRequest,
    reader: Reader,
    entry_id: str,
    *,
    problems: tuple[Problem, ...] = (),
) -> HttpResponse:
    try:
        waiting = acts.waiting_or_entry(reader, entry_id)
    except NoSuchProposal:
        return _before_any(request, reader, _kept(reader, entry_id), problems)
    if waiting.appended is not None:
        return HttpResponseRedirect(reverse("entry", args=[waiting.appended.seq]))
    shown = Shown(
        statement=waiting.statement,
        places=places(reader.ledger_id, waiting.statement, waiting.signed),
    )
    return _shown(request, shown, problems)


def _before_any(
    request: HttpRequest, reader: Reader, kept: Kept, problems: tuple[Problem, ...]
) -> HttpResponse:
    """Show what would be signed; back to the form if it cannot be."""
    found = drafting.checked(reader, kept)
    if found.statement is None:
        return HttpResponseRedirect(
            reverse("say_form", args=[kept.kind, kept.entry_id])
        )
    if not kept.first:
        drafts.keep(reader, replace(kept, first=_readings(kept)))
    shown = Shown(
        statement=found.statement,
        places=places(reader.ledger_id, found.statement, ()),
        draft=kept,
    )
    return _shown(request, shown, problems)


def _shown(
    request: HttpRequest, shown: Shown, problems: tuple[Problem, ...]
) -> HttpResponse:
    reader, statement = reader_in(request), shown.statement
    kind = str(statement["kind"])
    usual = usual_ranges(reader.ledger_id, kind, statement["data"])
    rows = [
        WordRow(told=row, usual=usual.get(row.path))
        for row in rows_aloud(
            reader.ledger_id, told_rows(kind, statement["v"], statement["data"])
        )
    ]
    following = next((each for each in shown.places if not each.is_signed), None)
    values = {
        "title": _(kind_named(kind, statement["v"]).title),
        "statement": statement,
        "rows": rows,
        "outside": [row for row in rows if row.usual and row.usual.is_outside],
        "places": shown.places,
        "following": following,
        "has_kept_key": following and has_kept_key(reader.slug, following.person),
        "draft": shown.draft,
        "as_read": shown.draft and as_read(shown.draft),
        "cautions": cautions_of(kind),
        "rules_over_us": RULES_OVER_US,
        "rescue_first": RESCUE_FIRST,
        "may_take_back": any(each.person == reader.person for each in shown.places),
        "is_writer": shown.places and shown.places[0].person == reader.person,
        "problems": problems,
    }
    return page(request, "sign", values, status=422 if problems else 200)


def _kept(reader: Reader, entry_id: str) -> Kept:
    kept = drafts.kept(reader, entry_id)
    if kept is None:
        raise NoSuchProposal(
            "No statement of this address waits here. Look under Today for what waits,"
            " and in the journal for what was recorded.",
            field="entry_id",
        )
    return kept


def _readings(kept: Kept) -> dict[str, str]:
    """Return the figures as typed when the usual range was first shown, by path."""
    return {
        path: text
        for path, text in kept.boxes.items()
        if any(sign.isdigit() for sign in text)
        and (path.endswith(".reading") or not path.startswith("@"))
        and text.replace(".", "", 1).replace(",", "", 1).strip().isdigit()
    }


def _with_first_readings(reader: Reader, kept: Kept) -> Kept:
    """Return the draft with a file of the first readings, if any was changed since.

    Whoever changes a figure after seeing its usual range keeps the first one beside
    it: both signers sign the file with the statement.
    """
    changed = [
        {"box": path, "first": text, "now": kept.boxes.get(path, "")}
        for path, text in sorted(kept.first.items())
        if kept.boxes.get(path, "") != text
    ]
    if not changed:
        return kept
    text = json.dumps({"first readings": changed}, indent=1, ensure_ascii=False)
    cited = files.keep(reader, FIRST_READINGS, "application/json", text.encode())
    others = [each for each in kept.attachments if each["name"] != FIRST_READINGS]
    return replace(kept, attachments=(*others, cited))
