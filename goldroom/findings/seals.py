"""Findings about seals: handed out, and never put on anything."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from goldroom.custody.records import Seal
from goldroom.findings.found import NOTICE, Found, Threshold, due_text, is_overdue
from goldroom.findings.runs import counted

USED_WITHIN = "seal_unused_d"


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
