"""What the frame of every page shows: who is signed in, where one can go."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from goldroom.faces.clock import now_text
from goldroom.faces.reader import Reader, who_asks
from goldroom.reports.metal import site_clock
from goldroom.web.places import PLACES, Way

WARNED_BEFORE_SECONDS = 60


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link of the frame; `is_here` marks the part of the site one is in."""

    name: str
    address: str
    is_here: bool


def of_every_page(request: HttpRequest) -> dict[str, Any]:
    """Return what the frame needs."""
    reader = who_asks(request)
    values: dict[str, Any] = {"reader": reader, "ways": []}
    if reader is not None:
        clock = site_clock(reader.ledger_id)
        values["ways"] = [
            _link(way, request.path) for way in PLACES if _is_open(way, reader)
        ]
        values["idle_seconds"] = settings.IDLE_SECONDS
        values["warned_before_seconds"] = WARNED_BEFORE_SECONDS
        values["zone"] = clock.zone
        values["wall_now"] = clock.wall_text(now_text(reader.ledger_id))
    return values


def _is_open(way: Way, reader: Reader) -> bool:
    return not way.subject or reader.may_read(way.subject)


def _link(way: Way, path: str) -> Link:
    address = reverse(way.view)
    is_here = path == address or (address != "/" and path.startswith(address))
    return Link(name=_(way.name), address=address, is_here=is_here)
