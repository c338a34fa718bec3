"""The steps of the work: cautions, what stands open, what can be recorded there."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from goldroom.faces import reading
from goldroom.faces.offered import may_say
from goldroom.reports.metal import site_clock
from goldroom.reports.steps import BY_KEY, STEPS_OF_WORK
from goldroom.reports.steps_open import Follows, Open
from goldroom.statements.cautions import RESCUE_FIRST, RULES_OVER_US
from goldroom.web.page import page, reader_in, signed_in


@dataclass(frozen=True, kw_only=True)
class Way:
    """An act and the address of its form, with what may be carried over."""

    title: str
    address: str


@dataclass(frozen=True, kw_only=True)
class OpenHere:
    """What stands open, with the site's time and the acts that the reader may begin."""

    open: Open
    since: str
    ways: tuple[Way, ...]


@signed_in
def steps(request: HttpRequest) -> HttpResponse:
    """Show the steps in the order of the work, with how much stands open at each."""
    found = reading.steps(reader_in(request))
    return page(request, "steps", {"title": _("Work"), "steps": found})


@signed_in
def step(request: HttpRequest, step: str) -> HttpResponse:
    """Show one step."""
    if step not in BY_KEY:
        raise Http404
    reader = reader_in(request)
    number = STEPS_OF_WORK.index(BY_KEY[step])
    found = reading.steps(reader)[number]
    mine, clock = may_say(reader), site_clock(reader.ledger_id)
    values = {
        "title": _(found.step.name),
        "now": found,
        "open": [
            OpenHere(
                open=each,
                since=clock.wall_text(each.since) if each.since else "",
                ways=tuple(_way(act) for act in each.follows if act.kind in mine),
            )
            for each in found.open
        ],
        "sayable": [each for each in found.sayable if each.kind in mine],
        "others": [each for each in found.sayable if each.kind not in mine],
        "cautions": found.cautions,
        "rules_over_us": RULES_OVER_US,
        "rescue_first": RESCUE_FIRST,
        "before": STEPS_OF_WORK[number - 1] if number else None,
        "after": STEPS_OF_WORK[number + 1] if number + 1 < len(STEPS_OF_WORK) else None,
    }
    return page(request, "step", values)


def _way(act: Follows) -> Way:
    address = reverse("say_kind", args=[act.kind])
    carried = {name: value for name, value in act.carried.items() if value}
    asked = f"?{urlencode(carried)}" if carried else ""
    return Way(title=_(act.title), address=f"{address}{asked}")
