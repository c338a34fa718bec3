"""How often each rule speaks: findings by rule and week, the noisiest first.

A rule that cries every week is soon not heard. A clean month gives at most five new
findings a week (common practice, no source); a rule that gives more by itself wants
its limit looked at, or its cause.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from goldroom.custody.act import utc_text
from goldroom.findings.found import moment
from goldroom.reports.attention import Concern, attention

MOST_A_WEEK = 5
"""New findings a week that people still look at. Common practice, no source."""

WEEK = timedelta(days=7)


@dataclass(frozen=True, kw_only=True)
class RuleNoise:
    """One rule: how many findings in each week of the span, and how many are open."""

    code: str
    level: str
    weeks: tuple[int, ...]
    still_open: int

    @property
    def rule(self) -> str:
        """Return the rule in words."""
        return self.code.replace("_", " ")

    @property
    def count(self) -> int:
        """Return how many findings the rule gave in the span."""
        return sum(self.weeks)


@dataclass(frozen=True, kw_only=True)
class Noise:
    """Findings by rule, the noisiest first, and all together in each week.

    `weeks` are when each week of the span begins, as UTC text; the last may be short.
    """

    weeks: tuple[str, ...]
    rules: tuple[RuleNoise, ...]
    together: tuple[int, ...]

    @property
    def is_too_much(self) -> bool:
        """Tell whether any week gave more findings than people still look at."""
        return any(each > MOST_A_WEEK for each in self.together)


def noise(ledger_id: int, *, from_at: datetime, to_at: datetime) -> Noise:
    """Return how often each rule spoke in [from_at, to_at), as things stand at its end.

    What rules over several entries no longer find is not counted.
    """
    return noise_of(attention(ledger_id, now=to_at), from_at=from_at, to_at=to_at)


def noise_of(
    concerns: Iterable[Concern], *, from_at: datetime, to_at: datetime
) -> Noise:
    """Return the findings of [from_at, to_at) by rule and week of seven days.

    For whoever has the list of what wants attention at hand already.
    """
    count = max(1, -(-(to_at - from_at) // WEEK))
    weeks: dict[tuple[str, str], list[int]] = {}
    still_open: Counter[tuple[str, str]] = Counter()
    for each in concerns:
        at = moment(each.at)
        if from_at <= at < to_at:
            rule = (each.code, each.level)
            weeks.setdefault(rule, [0] * count)[(at - from_at) // WEEK] += 1
            still_open[rule] += each.is_open
    rules = [
        RuleNoise(
            code=code,
            level=level,
            weeks=tuple(found),
            still_open=still_open[code, level],
        )
        for (code, level), found in weeks.items()
    ]
    return Noise(
        weeks=tuple(utc_text(from_at + n * WEEK) for n in range(count)),
        rules=tuple(sorted(rules, key=lambda each: (-each.count, each.code))),
        together=tuple(sum(each.weeks[n] for each in rules) for n in range(count)),
    )
