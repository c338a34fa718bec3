"""The journal: entries in words, the newest first, by what is asked of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from goldroom.errors import Refusal
from goldroom.faces import reading
from goldroom.faces.reader import Reader
from goldroom.reports.journal import JournalPage, Wanted, lines_at
from goldroom.reports.journal_told import lines_told
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.reports.steps import STEPS_OF_WORK
from goldroom.roles import hidden_kinds
from goldroom.statements.registry import kinds
from goldroom.web.page import page, reader_in, signed_in
from goldroom.web.problems import Problem, problem_of

LINES = 40
NO_LINES = JournalPage(lines=(), before=None)
SORTS = {
    "item": gettext_noop("item, sample or flush"),
    "vessel": gettext_noop("hopper, drum, safe or other vessel"),
    "seal": gettext_noop("seal"),
    "instrument": gettext_noop("balance or other instrument"),
    "concentrator": gettext_noop("concentrator"),
    "place": gettext_noop("place"),
}
"""What an entry may speak of, in the words of the form."""
BOXES = ("work", "person", "sort", "thing", "from", "to", "about")
STEP = "step:"
"""How a choice of the form begins that means every kind of a step."""


class NotUnderstood(Refusal):
    """What was asked of the journal cannot be read."""

    code = "journal_question"


@dataclass(frozen=True, kw_only=True)
class Choice:
    """Something to choose in the form."""

    value: str
    name: str


@dataclass(frozen=True, kw_only=True)
class Group:
    """Choices under one heading."""

    name: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, kw_only=True)
class Found:
    """A page of lines with the addresses of its neighbours, or what was not read."""

    lines: JournalPage = NO_LINES
    turns: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()


@signed_in
def journal(request: HttpRequest) -> HttpResponse:
    """Show a page of the journal, or what of the question cannot be read."""
    reader = reader_in(request)
    asked = {name: request.GET.get(name, "").strip() for name in BOXES}
    found = _found(request, reader, asked)
    values = {
        "title": _("Journal"),
        "asked": asked,
        "is_asked": any(text for name, text in asked.items() if name != "sort"),
        "lines": lines_told(reader.ledger_id, found.lines.lines),
        "turns": found.turns,
        "problems": found.problems,
        "work": _work(reader),
        "people": _people(reader),
        "sorts": [Choice(value=key, name=_(name)) for key, name in SORTS.items()],
        "day_start": site_clock(reader.ledger_id).day_start,
    }
    return page(request, "journal", values, status=422 if found.problems else 200)


def _found(request: HttpRequest, reader: Reader, asked: Mapping[str, str]) -> Found:
    """Return the page that was asked for."""
    before, after = _number(request, "before"), _number(request, "after")
    try:
        wanted = wanted_of(reader, asked)
        lines = reading.journal(reader, wanted, before=before, after=after, most=LINES)
    except Refusal as refusal:
        return Found(problems=(problem_of(refusal),))
    return Found(lines=lines, turns=_turns(reader, wanted, asked, lines))


def wanted_of(reader: Reader, asked: Mapping[str, str]) -> Wanted:
    """Return what the boxes of the form ask for. Raises NotUnderstood."""
    clock = site_clock(reader.ledger_id)
    first, last = _day(asked, "from"), _day(asked, "to")
    work = asked["work"]
    step = next((s for s in STEPS_OF_WORK if f"{STEP}{s.key}" == work), None)
    return Wanted(
        kind="" if step is not None or work.startswith(STEP) else work,
        kinds=() if step is None else step.kinds,
        person=asked["person"],
        thing=asked["thing"],
        record=asked["sort"] if asked["sort"] in SORTS else "item",
        about=_about(reader, asked["about"]),
        from_at="" if first is None else clock.start_of(first),
        to_at="" if last is None else clock.start_of(last + timedelta(days=1)),
    )


def _day(asked: Mapping[str, str], box: str) -> date | None:
    if not asked[box]:
        return None
    try:
        found = date.fromisoformat(asked[box])
    except ValueError as wrong:
        raise _no_day(asked[box], box) from wrong
    if not 1900 < found.year < 9999:
        raise _no_day(asked[box], box)
    return found


def _no_day(text: str, box: str) -> NotUnderstood:
    said = _("%(text)s is no day. Write it as 2026-10-30.") % {"text": repr(text[:40])}
    return NotUnderstood(said, field=box)


def _about(reader: Reader, text: str) -> str:
    """Return the id of the entry whose number was asked for; "" for none."""
    if not text:
        return ""
    is_number = text.isascii() and text.isdecimal() and len(text) < 16
    found = lines_at(reader.ledger_id, [int(text)]) if is_number else {}
    if not found:
        said = _("There is no entry %(text)s. Write the number of an entry.")
        raise NotUnderstood(said % {"text": repr(text[:40])}, field="about")
    return found[int(text)].entry_id


def _number(request: HttpRequest, name: str) -> int | None:
    """Return a number of an entry out of the address; None if it is none."""
    text = request.GET.get(name, "")
    is_number = text.isascii() and text.isdecimal() and len(text) < 16
    return int(text) if is_number else None


def _turns(
    reader: Reader, wanted: Wanted, asked: Mapping[str, str], lines: JournalPage
) -> dict[str, str]:
    """Return the addresses of older, newer and newest entries, where there are any."""
    kept = {name: text for name, text in asked.items() if text}
    turns = {}
    if lines.before is not None:
        turns["older"] = _address({**kept, "before": str(lines.before)})
    if lines.lines:
        first = lines.lines[0].seq
        above = reading.journal(reader, wanted, after=first, most=1).lines
        if above and above[0].seq > first:
            turns["newer"] = _address({**kept, "after": str(first)})
            turns["newest"] = _address(kept)
    return turns


def _address(asked: Mapping[str, str]) -> str:
    return f"{reverse('journal')}?{urlencode(asked)}"


def _work(reader: Reader) -> list[Group]:
    """Return the kinds that the reader may read, by the steps of the work."""
    hidden = hidden_kinds(reader.roles)
    found: list[Group] = []
    at_steps: set[str] = set()
    for step in STEPS_OF_WORK:
        every = Choice(value=f"{STEP}{step.key}", name=_("All of %s") % _(step.name))
        shown = [kind for kind in step.kinds if kind not in hidden]
        at_steps.update(step.kinds)
        found.append(
            Group(name=_(step.name), choices=(every, *(_choice(k) for k in shown)))
        )
    others = sorted(set(kinds()) - at_steps - hidden, key=lambda k: kinds()[k].title)
    choices = tuple(_choice(kind) for kind in others)
    return [*found, Group(name=_("Everything else"), choices=choices)]


def _choice(kind: str) -> Choice:
    return Choice(value=kind, name=_(kinds()[kind].title))


def _people(reader: Reader) -> list[Choice]:
    known = names(reader.ledger_id).persons
    return [
        Choice(value=person, name=name)
        for person, name in sorted(known.items(), key=lambda each: each[1])
    ]
