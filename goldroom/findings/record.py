"""Findings about the record itself: acts that still wait for their second word."""

from collections.abc import Iterable
from datetime import datetime

from goldroom.custody.records import Emergency
from goldroom.custody.room import Incident
from goldroom.findings.found import (
    EXCEPTION,
    NOTICE,
    Found,
    Threshold,
    due_text,
    is_overdue,
)

RATIFIED_WITHIN = "emergency_ratified_h"
CLOSED_WITHIN = "incident_open_d"


def emergencies_unratified(
    emergencies: Iterable[Emergency], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the emergencies that nobody ratified within the limit.

    `within` is the limit `emergency_ratified_h`.
    """
    return [
        Found(
            code="emergency_unratified",
            level=EXCEPTION,
            item=each.entry,
            found=f"declared {each.at} by {each.person}, not ratified",
            expected=f"ratified within {within}",
            message="an emergency stands on one signature; ratify it, or say why not",
            at=due_text(each.at, within),
        )
        for each in emergencies
        if each.status == "open" and is_overdue(each.at, within, now)
    ]


def incidents_open(
    incidents: Iterable[Incident], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the incidents that nobody closed within the limit.

    `within` is the limit `incident_open_d`.
    """
    return [
        Found(
            code="incident_open_long",
            level=NOTICE,
            item=each.incident,
            found=f"reported {each.at}, still open",
            expected=f"closed within {within}",
            message="an incident was reported long ago; say what was found",
            at=due_text(each.at, within),
        )
        for each in incidents
        if each.status == "open" and is_overdue(each.at, within, now)
    ]
