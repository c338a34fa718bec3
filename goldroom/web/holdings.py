"""Holdings: what is in the room's care, now or as of an entry, by step and place."""

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from goldroom.errors import OutOfRange
from goldroom.faces import reading
from goldroom.faces.clock import now_text
from goldroom.faces.reader import Reader
from goldroom.reports.holdings import Holding
from goldroom.reports.metal import site_clock
from goldroom.reports.people import names
from goldroom.web.page import REFUSALS, page, reader_in, signed_in
from goldroom.web.problems import Problem, problem_of

STEP_NAMES = {
    "hopper": gettext_noop("Hopper"),
    "table": gettext_noop("Table"),
    "leach": gettext_noop("Intensive leach"),
    "electrowinning": gettext_noop("Solutions and cells"),
    "smelt": gettext_noop("Smelt"),
    "vault": gettext_noop("Vault and bars on their way"),
}
"""The steps that hold metal, as people call them."""
HOW_WORDS = {
    "assay": gettext_noop("weighing and assay"),
    "estimate": gettext_noop("an estimate"),
    "prior": gettext_noop("a typical figure"),
    "lineage": gettext_noop("what it was made of"),
    "book": gettext_noop("what was put in, less what was drawn off"),
    "unknown": gettext_noop("nothing yet"),
}
"""What a figure rests on, by how it was come by."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """A holding as a page shows it: place and vessel by name, its age in words."""

    holding: Holding
    where: str
    age: str
    how: str


@signed_in
def holdings(request: HttpRequest) -> HttpResponse:
    """Show what is held now, or what was held when an entry was taken down."""
    reader = reader_in(request)
    asked = request.GET.get("at", "").strip()
    seen, problems = _seen(reader, asked)
    known_at = seen.holdings.known_at
    is_then = bool(asked) and not problems
    then = known_at if is_then else max(known_at, _now(reader))
    values = {
        "title": _("Holdings"),
        "asked": asked,
        "as_of": asked if is_then else "",
        "known_wall": site_clock(reader.ledger_id).wall_text(known_at),
        "steps": [
            (_(STEP_NAMES[each.step]), each, _held(reader, each.holdings, then))
            for each in seen.holdings.steps
        ],
        "withheld": [_(STEP_NAMES[each]) for each in seen.withheld],
        "waiting": seen.holdings.waiting_flushes,
        "charges": seen.holdings.charges,
        "problems": problems,
    }
    return page(request, "holdings", values, status=422 if problems else 200)


def _seen(
    reader: Reader, asked: str
) -> tuple[reading.SeenHoldings, tuple[Problem, ...]]:
    """Return what is held as of the entry asked for; now, if there is none such."""
    try:
        return reading.holdings(reader, at_entry=_entry_number(asked)), ()
    except REFUSALS as refusal:
        return reading.holdings(reader), (problem_of(refusal),)


def _entry_number(text: str) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        raise OutOfRange(
            f"at: found {text[:40]!r}, expected the number of an entry. Read it in the"
            " journal.",
            field="at",
        )
    return int(text)


def _now(reader: Reader) -> str:
    return now_text(reader.ledger_id)


def _held(reader: Reader, found: tuple[Holding, ...], then: str) -> list[Held]:
    known = names(reader.ledger_id)
    ordered = sorted(found, key=lambda each: (each.place, each.held_from, each.item))
    return [
        Held(
            holding=each,
            where=", ".join(
                part
                for part in (
                    known.vessel(each.vessel) if each.vessel else "",
                    known.place(each.place) if each.place else "",
                )
                if part
            ),
            age=_age(each.held_from, then),
            how=_(HOW_WORDS[each.how]),
        )
        for each in ordered
    ]


def _age(since: str, until: str) -> str:
    """Return how long something has been held, in days, or hours in the first two."""
    held = datetime.fromisoformat(until) - datetime.fromisoformat(since)
    hours = max(0, int(held.total_seconds() // 3600))
    return _("%d h") % hours if hours < 48 else _("%d days") % (hours // 24)
