"""Closed periods: each figure as reported, as now known, and what the change is worth.

    change    = as now known - as reported
    u(change) = of the same figure drawn then and drawn now, with the errors they share

so that a weight which was used both times drops out, and what is left is what has
really become better known. A change beyond three of its uncertainties is more than
later assays explain: a wrong bar, a swapped sample, a figure tampered with.

A report can be drawn again as it was known; where that does not give the figures
reported, the report says so. The root of the ledger as it was reported must be the
root of the same number of entries now.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.period import (
    ClosedPeriod,
    Reported,
    ReportedBalance,
    Restatement,
    TrueUp,
)
from goldroom.metal.uncertainty import Measured
from goldroom.reconcile.amounts import NO_SPREAD_G, decimal_text
from goldroom.reconcile.balance import ALARM_Z
from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.production_days import Period, SiteClock
from goldroom.reconcile.restated import Restated
from goldroom.reports import closing, rows
from goldroom.reports.kept import WorkedOut, worked_out
from goldroom.reports.metal import last_known_at, site_clock
from ledger import read
from ledger.core.base64text import to_base64


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One figure of a balance or of the gravity check: as reported, as now known.

    `u_g` is the change's own uncertainty, None where one of the two is missing.
    """

    step: str
    metal: str
    name: str
    reported_g: Decimal | None
    now_g: Decimal | None
    u_g: float | None

    @property
    def change_g(self) -> Decimal | None:
        """Return what has become known since; None where one figure is missing."""
        if self.reported_g is None or self.now_g is None:
            return None
        return self.now_g - self.reported_g

    @property
    def has_changed(self) -> bool:
        """Return whether the figure is no longer what was reported."""
        return self.reported_g != self.now_g

    @property
    def is_alarming(self) -> bool:
        """Return whether the change is more than its uncertainty explains."""
        change = self.change_g
        if not change or self.u_g is None:
            return False
        return self.u_g < NO_SPREAD_G or abs(float(change)) > ALARM_Z * self.u_g

    def to_json(self) -> dict[str, object]:
        """Return the figure with decimals as text; null where nothing tells."""
        return {
            "step": self.step,
            "metal": self.metal,
            "figure": self.name,
            "reported": _text(self.reported_g),
            "now": _text(self.now_g),
            "change": _text(self.change_g),
            "u": None if self.u_g is None else decimal_text(self.u_g),
            "alarm": self.is_alarming,
        }


@dataclass(frozen=True, kw_only=True)
class ClosedReport:
    """A closed period: figures reported and now, restatements, true-ups, and checks.

    `is_root_same` tells whether the ledger still has the entries that the report was
    drawn from, `is_drawn_again` whether they still give the figures reported.
    """

    period: ClosedPeriod
    known_at: str
    figures: tuple[Figure, ...]
    restatements: tuple[Restatement, ...]
    true_ups: tuple[TrueUp, ...]
    is_root_same: bool
    is_drawn_again: bool
    is_digest_same: bool

    def left_to_post(self) -> dict[tuple[str, str], Decimal]:
        """Return by step and metal the change of the unaccounted not yet posted."""
        posted: dict[tuple[str, str], Decimal] = {}
        for each in self.true_ups:
            at = (each.step, each.metal)
            posted[at] = posted.get(at, Decimal(0)) + each.amount_g
        left = {
            (each.step, each.metal): each.change_g
            - posted.get((each.step, each.metal), Decimal(0))
            for each in self.figures
            if each.name == "unaccounted_g" and each.change_g is not None
        }
        return {at: amount for at, amount in left.items() if amount}

    def to_json(self) -> dict[str, object]:
        """Return the report as plain values."""
        return {
            "period": self.period.period,
            "first_day": self.period.first_day,
            "last_day": self.period.last_day,
            "closed_by": self.period.entry,
            "standing": self.period.reported.standing,
            "as_known_at": self.period.reported.as_known_at,
            "now_known_at": self.known_at,
            "figures": [each.to_json() for each in self.figures],
            "restated": [
                {"entry": each.entry, "at": each.at, "reason": each.reason,
                 "standing": each.reported.standing}
                for each in self.restatements
            ],
            "trued_up": [
                {"entry": each.entry, "at": each.at, "step": each.step,
                 "metal": each.metal, "amount": _text(each.amount_g),
                 "cause": each.cause, "reason": each.reason,
                 "by": list(each.entries)}
                for each in self.true_ups
            ],
            "left_to_post": [
                {"step": step, "metal": metal, "amount": _text(amount)}
                for (step, metal), amount in self.left_to_post().items()
            ],
            "root_same": self.is_root_same,
            "drawn_again": self.is_drawn_again,
            "digest_same": self.is_digest_same,
        }  # fmt: skip


def closed_periods(ledger_id: int, *, period: str = "") -> tuple[ClosedReport, ...]:
    """Return every closed period, the first day first, or the one of this name.

    Raises UnknownPeriod and NothingRecorded.
    """
    known_at, clock = last_known_at(ledger_id), site_clock(ledger_id)
    if period:
        found = [closing.closed_named(ledger_id, period)]
    else:
        found = rows.every(ledger_id, ClosedPeriod)
    known = worked_out(ledger_id)
    restatements = rows.every(ledger_id, Restatement)
    true_ups = rows.every(ledger_id, TrueUp)
    return tuple(
        _report(
            ledger_id,
            each,
            _drawn(known, each, clock, each.reported.as_known_at),
            _drawn(known, each, clock, known_at),
            tuple(one for one in restatements if one.period == each.period),
            tuple(one for one in true_ups if one.period == each.period),
        )
        for each in sorted(found, key=lambda each: each.from_at)
    )


def _drawn(
    known: WorkedOut, closed: ClosedPeriod, clock: SiteClock, known_at: str
) -> PeriodReport:
    period = Period(closed.from_at, closed.to_at, known_at, clock.zone, clock.day_start)
    return known.reconciled(period)


def _report(
    ledger_id: int,
    closed: ClosedPeriod,
    then: PeriodReport,
    now: PeriodReport,
    restatements: tuple[Restatement, ...],
    true_ups: tuple[TrueUp, ...],
) -> ClosedReport:
    return ClosedReport(
        period=closed,
        known_at=now.period.as_known_at,
        figures=tuple(_figures(closed.reported, then, now)),
        restatements=restatements,
        true_ups=true_ups,
        is_root_same=_is_root_same(ledger_id, closed.reported),
        is_drawn_again=_is_drawn_again(closed.reported, then),
        is_digest_same=closing.digest(then) == closed.reported.digest,
    )


def _figures(
    reported: Reported, then: PeriodReport, now: PeriodReport
) -> Iterator[Figure]:
    """Yield each figure of each balance that was reported, and of the gravity check."""
    for row in reported.balances:
        old, new = _measured(then, row), _measured(now, row)
        for name in closing.FIGURES:
            yield Figure(
                step=row.step,
                metal=row.metal,
                name=name,
                reported_g=getattr(row, name),
                now_g=_posted(new.get(name)),
                u_g=_u_of_change(old.get(name), new.get(name)),
            )
    old, new = _gravity(then), _gravity(now)
    for name in ("estimated_g", "poured_g", "accounted_g"):
        yield Figure(
            step="gravity check",
            metal="gold",
            name=name,
            reported_g=getattr(reported.gravity, name),
            now_g=_posted(new.get(name)),
            u_g=_u_of_change(old.get(name), new.get(name)),
        )


Drawn = tuple[Decimal, Measured]
"""A figure as posted, and with its errors."""


def _measured(report: PeriodReport, row: ReportedBalance) -> Mapping[str, Drawn]:
    """Return the amounts of the balance of a row, where it is drawn."""
    balances = closing.balances_of(report).get(row.step)
    if balances is None or row.metal not in balances:
        return {}
    amounts = closing.amounts_of(balances[row.metal])
    return {
        name: (amount.posted_g, amount.measured)
        for name, amount in amounts.items()
        if amount is not None
    }


def _gravity(report: PeriodReport) -> Mapping[str, Drawn]:
    check = report.gravity
    found: dict[str, Drawn] = {}
    if check.estimate.total_g is not None:
        estimated = check.estimate.total_g
        found["estimated_g"] = (Decimal(decimal_text(estimated.value)), estimated)
    for name, amount in (("poured_g", check.poured), ("accounted_g", check.accounted)):
        if amount is not None:
            found[name] = (amount.posted_g, amount.measured)
    return found


def _posted(drawn: Drawn | None) -> Decimal | None:
    return None if drawn is None else drawn[0]


def _u_of_change(old: Drawn | None, new: Drawn | None) -> float | None:
    """Return the uncertainty of a change: errors that both figures share drop out."""
    if old is None or new is None:
        return None
    return Restated(before=old[1], after=new[1]).change.u


def _is_root_same(ledger_id: int, reported: Reported) -> bool:
    if read.head(ledger_id).size < reported.size:
        return False
    return to_base64(read.root_at(ledger_id, reported.size)) == reported.root


def _is_drawn_again(reported: Reported, then: PeriodReport) -> bool:
    """Return whether the record as it was known gives the figures reported."""
    return all(
        getattr(row, name) == _posted(drawn.get(name))
        for row in reported.balances
        for drawn in [_measured(then, row)]
        for name in closing.FIGURES
    )


def _text(grams: Decimal | None) -> str | None:
    return None if grams is None else format(grams, "f")


def changed(figures: Sequence[Figure]) -> list[Figure]:
    """Return the figures that are no longer what was reported."""
    return [each for each in figures if each.has_changed]
