"""Findings: what was noticed, by which limit, what to look at, who reviewed it."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from goldroom.errors import OutOfRange
from goldroom.faces import reading
from goldroom.faces.clock import now
from goldroom.faces.offered import may_say
from goldroom.faces.reader import Reader
from goldroom.reports.attention import Concern
from goldroom.reports.findings_told import FindingTold, findings_told
from goldroom.reports.metal import site_clock
from goldroom.reports.noise import Noise, noise_of
from goldroom.web.page import REFUSALS, needs, page, reader_in
from goldroom.web.problems import Problem, problem_of

WEEKS = 5
REVIEW = "finding.reviewed"
LEVELS = ("exception", "notice")


@needs("findings")
def findings(request: HttpRequest) -> HttpResponse:
    """Show open findings, exceptions first, or all; and how often each rule speaks."""
    reader, asked = reader_in(request), request.GET.dict()
    at = now(reader.ledger_id)
    problems: tuple[Problem, ...] = ()
    since = ""
    try:
        since = _since(reader, asked.get("since", "").strip())
    except REFUSALS as refusal:
        problems = (problem_of(refusal),)
    known = reading.attention(reader, now=at)
    wanted = _wanted(known, asked, since)
    told = findings_told(reader.ledger_id, wanted)
    may_review = REVIEW in may_say(reader)
    values = {
        "title": _("Findings"),
        "asked": asked,
        "levels": [(each, _of_level(told, each)) for each in LEVELS],
        "rules": sorted({(each.code, each.rule) for each in known}),
        "reviews": may_review,
        "noise": _noise(reader, known, at),
        "count": len(told),
        "open_count": sum(each.is_open for each in known),
        "problems": problems,
    }
    return page(request, "findings", values, status=422 if problems else 200)


def _wanted(
    known: Iterable[Concern], asked: Mapping[str, str], since: str
) -> list[Concern]:
    rule, everything = asked.get("rule", ""), asked.get("show") == "all"
    return [
        each
        for each in known
        if (everything or each.is_open) and each.at >= since and rule in ("", each.code)
    ]


def _of_level(told: Iterable[FindingTold], level: str) -> list[tuple[FindingTold, str]]:
    """Return the findings of a level by rule, each with the address of its review."""
    found = [each for each in told if each.concern.level == level]
    found.sort(key=lambda each: each.concern.code)
    form = reverse("say_kind", args=[REVIEW])
    return [(each, f"{form}?{urlencode(each.asks)}") for each in found]


def _noise(
    reader: Reader, known: Iterable[Concern], at: datetime
) -> tuple[Noise, list[str]]:
    """Return how often each rule spoke in the last weeks, and when each week began."""
    found = noise_of(known, from_at=at - timedelta(weeks=WEEKS), to_at=at)
    wall = site_clock(reader.ledger_id).wall_text
    return found, [wall(each)[:10] for each in found.weeks]


def _since(reader: Reader, text: str) -> str:
    if not text:
        return ""
    try:
        return site_clock(reader.ledger_id).start_of(date.fromisoformat(text))
    except ValueError as wrong:
        raise OutOfRange(
            f"since: found {text[:40]!r}, expected a day such as 2026-10-01. Write"
            " year, month and day, or leave the box empty.",
            field="since",
        ) from wrong
