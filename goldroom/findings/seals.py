"""Findings about seals: never put on anything, or odd and never looked into."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.records import Noticed, Seal
from goldroom.findings.found import (
    EXCEPTION,
    NOTICE,
    Found,
    Threshold,
    due_text,
    is_overdue,
)
from goldroom.findings.runs import counted

USED_WITHIN = "seal_unused_d"
REVIEWED_WITHIN = "seal_finding_open_d"
ODD_SEALS = frozenset({"seal_not_the_one_fitted", "seal_unknown", "seal_tampered"})


@dataclass(frozen=True, kw_only=True)
class IssuedSeal:
    """A seal with the moment it was issued at."""

    seal: Seal
    issued_at: str


def seals_unused(
    issued: Iterable[IssuedSeal], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the seals issued longer ago than the limit and never fitted.

    One finding for each handing-out, not one for each seal. `within` is the limit
    `seal_unused_d`.
    """
    groups: dict[tuple[str, str, str], list[str]] = {}
    for each in issued:
        if each.seal.status == "issued" and is_overdue(each.issued_at, within, now):
            at = (each.issued_at, each.seal.series, each.seal.issued_to)
            groups.setdefault(at, []).append(each.seal.seal)
    return [
        Found(
            code="seal_unused_long",
            level=NOTICE,
            item=min(seals),
            found=f"{counted(seals, 'seal')} issued to {holder} {issued_at}",
            expected=f"fitted, or counted and voided, within {within}",
            message="seals were handed out long ago and never used; count them",
            at=due_text(issued_at, within),
        )
        for (issued_at, _, holder), seals in sorted(groups.items())
    ]


def seal_findings_open(
    noticed: Iterable[Noticed],
    reviewed: Collection[str],
    *,
    within: Threshold,
    now: datetime,
) -> list[Found]:
    """Return a finding if what was odd about seals was not looked into in time.

    `reviewed` are the keys of findings that somebody has explained or acted on. One
    finding for all, named by the oldest. `within` is the limit `seal_finding_open_d`.
    """
    left = [
        each
        for each in noticed
        if each.code in ODD_SEALS
        and each.key not in reviewed
        and is_overdue(each.at, within, now)
    ]
    if not left:
        return []
    oldest = min(left, key=lambda each: (each.at, each.key))
    return [
        Found(
            code="seal_not_followed_up",
            level=EXCEPTION,
            item=oldest.item or oldest.entry,
            found=f"{len(left)} findings about seals that nobody has explained, the"
            f" oldest of {oldest.at}",
            expected=f"reviewed within {within}",
            message="a seal that tells and is not listened to is no seal: look into"
            " each and write down what it was",
            at=due_text(oldest.at, within),
        )
    ]
