"""Findings about refinery melts: assays to challenge, exchange and settle in time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.act import utc_text
from goldroom.findings.found import EXCEPTION, NOTICE, Found, Threshold, moment

NEAR_WITHIN = "challenge_near_d"


@dataclass(frozen=True, kw_only=True)
class OpenMelt:
    """A refinery melt not settled yet, and the dates its contract sets, as UTC text.

    `challenge_until` and `exchange_until` are "" where the contract sets no such date,
    `exchange_until` also once assays were exchanged.
    """

    melt: str
    refinery: str
    challenge_until: str
    exchange_until: str
    is_challenged: bool
    is_exchanged: bool


def melts_to_challenge(
    melts: Iterable[OpenMelt], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the melts whose refiner's assay can be challenged for a few days more.

    And those for which that time is over: they are to be settled. `within` is the limit
    `challenge_near_d`.
    """
    found = []
    for each in melts:
        if not each.challenge_until or each.is_challenged or each.is_exchanged:
            continue
        until = moment(each.challenge_until)
        if now > until:
            found.append(
                Found(
                    code="settlement_waits",
                    level=NOTICE,
                    item=each.melt,
                    found=f"not challenged by {each.challenge_until}, not settled",
                    expected="settled on the refiner's assay, which stands",
                    message=f"{each.melt} waits for its settlement by {each.refinery}",
                    at=each.challenge_until,
                )
            )
        elif now >= until - within.duration:
            found.append(
                Found(
                    code="challenge_near",
                    level=NOTICE,
                    item=each.melt,
                    found=f"the refiner's assay stands from {each.challenge_until} on",
                    expected="accepted or challenged before",
                    message=f"decide whether to challenge the assay of {each.melt}",
                    at=utc_text(until - within.duration),
                )
            )
    return found


def melts_to_exchange(
    melts: Iterable[OpenMelt], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the melts whose assays are to be exchanged soon, or should have been.

    `within` is the limit `challenge_near_d`.
    """
    found = []
    for each in melts:
        if not each.exchange_until or each.is_exchanged:
            continue
        until = moment(each.exchange_until)
        if now > until:
            found.append(
                Found(
                    code="exchange_overdue",
                    level=EXCEPTION,
                    item=each.melt,
                    found=f"no assays exchanged by {each.exchange_until}",
                    expected=f"exchanged with {each.refinery} by then, by contract",
                    message=f"exchange the assays of {each.melt}; see what the contract"
                    " says of a party that is late",
                    at=each.exchange_until,
                )
            )
        elif now >= until - within.duration:
            found.append(
                Found(
                    code="exchange_near",
                    level=NOTICE,
                    item=each.melt,
                    found="assays not exchanged yet",
                    expected=f"exchanged with {each.refinery} by {each.exchange_until}",
                    message=f"the assays of {each.melt} are to be exchanged soon",
                    at=utc_text(until - within.duration),
                )
            )
    return found
