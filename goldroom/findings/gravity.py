"""Findings about the gravity line: what was accounted for against its estimate.

    apart = (accounted - estimated) / estimated, as the closed periods were reported

for one period, for three and for twelve together, and as a running sum

    high = max(0, high + z - 0.5)      low = max(0, low - z - 0.5)      z = apart / u

(the tabular cumulative sum: Montgomery and Runger, Applied Statistics and Probability
for Engineers, 16-10). Nothing is worked out anew: the figures are those reported. The
errors of several periods are mostly the same error again (the ore's test, the head
sampler), so their uncertainties are added up, not averaged away.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.findings.found import EXCEPTION, NOTICE, Found, Threshold

MONTH_WITHIN = "gravity_month_percent"
QUARTER_WITHIN = "gravity_quarter_percent"
YEAR_WITHIN = "gravity_year_percent"
DRIFT_WITHIN = "gravity_drift_u"
ALLOWANCE = Decimal("0.5")
"""Part of each period's difference that the running sum lets pass, in its u."""

SURE = 2
"""Differences beyond so many uncertainties are looked at now."""


@dataclass(frozen=True, kw_only=True)
class ReportedCheck:
    """The gravity check of a closed period, in grams of gold, as reported."""

    period: str
    at: str
    estimated_g: Decimal
    estimated_u_g: Decimal
    accounted_g: Decimal
    accounted_u_g: Decimal

    @property
    def apart_g(self) -> Decimal:
        """Return what was accounted for beyond the estimate (below: negative)."""
        return self.accounted_g - self.estimated_g

    @property
    def u_g(self) -> Decimal:
        """Return the standard uncertainty of that difference."""
        return _hypot(self.estimated_u_g, self.accounted_u_g)


def gravity_apart(
    checks: Iterable[ReportedCheck],
    *,
    month: Threshold,
    quarter: Threshold,
    year: Threshold,
) -> list[Found]:
    """Return the newest period, three and twelve periods that are too far apart.

    An exception where the difference is beyond twice its uncertainty too, else a
    notice: the estimate is coarse. Limits `gravity_month_percent`,
    `gravity_quarter_percent` and `gravity_year_percent`.
    """
    ordered = sorted(checks, key=lambda each: each.at)
    found = []
    for count, within in ((1, month), (3, quarter), (12, year)):
        last = ordered[-count:]
        if len(last) < count:
            continue
        whole = _together(last)
        percent = 100 * whole.apart_g / whole.estimated_g
        if abs(percent) > within.value:
            found.append(_apart(whole, count, percent, within))
    return found


def gravity_drifting(
    checks: Iterable[ReportedCheck], *, within: Threshold
) -> list[Found]:
    """Return a finding if the differences of the closed periods add up one way.

    `within` is the limit `gravity_drift_u`. It names the period in which the running
    sum went over and has stayed over since.
    """
    ordered = sorted(checks, key=lambda each: each.at)
    runs = running_sums(
        [each.apart_g / each.u_g if each.u_g else Decimal(0) for each in ordered]
    )
    over: tuple[ReportedCheck, Decimal, str] | None = None
    for each, (high, low) in zip(ordered, runs, strict=True):
        if max(high, low) <= within.value:
            over = None
        elif over is None:
            over = (each, max(high, low), "more" if high > low else "less")
    if over is None:
        return []
    check, reached, side = over
    return [
        Found(
            code="gravity_drift",
            level=EXCEPTION,
            item=check.period,
            found=f"running sum {reached:.1f} u, {side} gold than estimated",
            expected=f"at most {within}",
            message=f"period after period the gravity line gives {side} than estimated:"
            " compare the ore's test and the head sampler with what the units and the"
            " hopper show",
            at=check.at,
        )
    ]


def running_sums(
    differences: Iterable[Decimal], *, allowance: Decimal = ALLOWANCE
) -> list[tuple[Decimal, Decimal]]:
    """Return the running sums, high and low, after each difference from target."""
    high = low = Decimal(0)
    sums = []
    for each in differences:
        high = max(Decimal(0), high + each - allowance)
        low = max(Decimal(0), low - each - allowance)
        sums.append((high, low))
    return sums


def _together(checks: Sequence[ReportedCheck]) -> ReportedCheck:
    """Return periods as one; errors shared by all are added up."""
    nothing = Decimal(0)
    first, last = checks[0].period, checks[-1].period
    return ReportedCheck(
        period=last if len(checks) == 1 else f"{first}..{last}",
        at=checks[-1].at,
        estimated_g=sum((each.estimated_g for each in checks), nothing),
        estimated_u_g=sum((each.estimated_u_g for each in checks), nothing),
        accounted_g=sum((each.accounted_g for each in checks), nothing),
        accounted_u_g=sum((each.accounted_u_g for each in checks), nothing),
    )


def _apart(
    whole: ReportedCheck, count: int, percent: Decimal, within: Threshold
) -> Found:
    is_sure = abs(whole.apart_g) > SURE * whole.u_g
    span = "" if count == 1 else f" over {count} closed periods"
    side = "less" if percent < 0 else "more"
    return Found(
        code="gravity_apart",
        level=EXCEPTION if is_sure else NOTICE,
        item=whole.period,
        found=f"{whole.accounted_g:.0f} g of gold accounted for against"
        f" {whole.estimated_g:.0f} g estimated{span}: {percent:+.1f} %",
        expected=f"within {within} of the estimate, itself good to {whole.u_g:.0f} g",
        message=f"{side} gravity gold was accounted for than the circuit should have"
        " caught: look at the estimate's figures, then at what is held and what left",
        at=whole.at,
    )


def _hypot(one: Decimal, other: Decimal) -> Decimal:
    return Decimal(str(math.hypot(float(one), float(other))))
