"""Findings about who signs with whom."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import combinations

from goldroom.custody.act import utc_text
from goldroom.findings.found import (
    NOTICE,
    Found,
    Threshold,
    due_text,
    is_overdue,
    moment,
)

SAME_PAIR = "same_pair_percent"
SECOND_WITHIN = "second_signature_late_min"
WINDOW = timedelta(days=30)
FEWEST_ACTS = 20
"""With fewer statements than this in the window a share says nothing.

Common practice, no published source.
"""


@dataclass(frozen=True, kw_only=True)
class SignedAct:
    """A statement under two or more signatures: when taken down, and by whom."""

    at: str
    people: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class WaitingStatement:
    """A statement that somebody signed and that waits for the other signatures."""

    entry: str
    kind: str
    since: str


def second_signatures_late(
    waiting: Iterable[WaitingStatement], *, within: Threshold, now: datetime
) -> list[Found]:
    """Return the statements first signed longer ago than the limit, still waiting.

    `within` is the limit `second_signature_late_min`. Once a statement is an entry,
    the record tells when it was taken down and no longer when it was first signed.
    """
    return [
        Found(
            code="second_signature_late",
            level=NOTICE,
            item=each.entry,
            found=f"{each.kind}, first signed {utc_text(moment(each.since))}",
            expected=f"signed by all within {within}",
            message="a statement waits for a signature; sign it, refuse it or take it"
            " back",
            at=due_text(each.since, within),
        )
        for each in waiting
        if is_overdue(each.since, within, now)
    ]


def pairs_signing_most(
    acts: Iterable[SignedAct], *, at_most: Threshold, now: datetime
) -> list[Found]:
    """Return the pairs who signed more than their share of 30 days' statements.

    `at_most` is the limit `same_pair_percent`. Below `FEWEST_ACTS` statements nothing
    is said.
    """
    since = utc_text(now - WINDOW)
    recent = [act for act in acts if act.at >= since and moment(act.at) <= now]
    if len(recent) < FEWEST_ACTS:
        return []
    together: Counter[tuple[str, str]] = Counter()
    last: dict[tuple[str, str], str] = {}
    for act in recent:
        for first, second in combinations(sorted(set(act.people)), 2):
            together[first, second] += 1
            last[first, second] = max(act.at, last.get((first, second), ""))
    return [
        Found(
            code="same_pair_often",
            level=NOTICE,
            item=" ".join(pair),
            found=f"{pair[0]} and {pair[1]} signed {count} of {len(recent)}"
            f" statements in 30 days ({_percent(count, len(recent)):.0f} %)",
            expected=f"at most {at_most}",
            message="one pair signs a large share of the statements; vary the pairs",
            at=last[pair],
        )
        for pair, count in sorted(together.items())
        if _percent(count, len(recent)) > at_most.value
    ]


def _percent(part: int, whole: int) -> Decimal:
    return Decimal(100 * part) / whole
