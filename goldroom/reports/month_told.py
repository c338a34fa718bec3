"""A period's report as pages show it: sentences by part, rows, what may change."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.words import JUDGED, gravity_words, sentences
from goldroom.reports.month_words import rows


@dataclass(frozen=True, kw_only=True)
class BalanceRow:
    """One line of the balances; figures are texts, "" where nothing tells.

    `step` names several that are drawn as one with "and".
    """

    step: str
    metal: str
    opening: str
    came_in: str
    went_out: str
    closing: str
    unaccounted: str
    u: str
    z: str
    is_provisional: bool


@dataclass(frozen=True, kw_only=True)
class MonthTold:
    """A report with its words: first of gravity, then of the whole and the steps.

    `gravity_first` is the sentence that holds poured gold against the estimate.
    `judged` is how the whole's gold is judged, "" where it is not drawn.
    """

    report: PeriodReport
    gravity: Mapping[str, object]
    gravity_first: str
    gravity_rest: tuple[str, ...]
    words: tuple[str, ...]
    judged: str
    balances: tuple[BalanceRow, ...]

    @property
    def first_day(self) -> date:
        """Return the period's first production day."""
        return self.report.period.days()[0]

    @property
    def last_day(self) -> date:
        """Return the period's last production day."""
        return self.report.period.days()[-1]


def month_told(report: PeriodReport) -> MonthTold:
    """Return a report's words and rows."""
    gravity = tuple(gravity_words(report))
    first = next((each for each in gravity if "estimate" in each), gravity[0])
    elsewhere = {*gravity, *report.notes}
    gold = report.overall.get("gold")
    return MonthTold(
        report=report,
        gravity=report.gravity.to_json(),
        gravity_first=first,
        gravity_rest=tuple(each for each in gravity if each != first),
        words=tuple(each for each in sentences(report) if each not in elsewhere),
        judged="" if gold is None else JUDGED.get(gold.level, ""),
        balances=tuple(_balance(each) for each in rows(report)),
    )


def _balance(row: tuple[str, ...]) -> BalanceRow:
    step, metal, opening, came_in, went_out, closing, unaccounted, u, z, mark = row
    return BalanceRow(
        step=step.replace("+", " and "),
        metal=metal,
        opening=opening,
        came_in=came_in,
        went_out=went_out,
        closing=closing,
        unaccounted=unaccounted,
        u=u,
        z=z,
        is_provisional=mark == "p",
    )
